"""Which cautions apply to a job here and now, and which of them nobody has accepted yet."""

from typing import TYPE_CHECKING

from pwa.app.evidence.situation import here
from pwa.app.joints import unphotographed
from pwa.app.visit import page

if TYPE_CHECKING:
    from pwa.app.record.jobs import Job
    from pwa.app.shapes import Caution, Content
    from pwa.app.visit import Reply, Visit


def applying(job: "Job", content: "Content", step: str = "") -> "list[Caution]":
    """The cautions for this job's place and drive, before one step or before any."""
    opened, place = job["opened"], here(job)["place"]
    return [
        caution
        for caution in content["cautions"]
        if opened["drive"] in caution["drives"]
        and place in caution["places"]
        and (not step or step in caution["steps"])
    ]


def missing(job: "Job", content: "Content", step: str = "") -> "list[Caution]":
    """Those of `applying` that are not accepted."""
    return [caution for caution in applying(job, content, step) if caution["key"] not in job["cautions"]]


def gate(visit: "Visit", step: str) -> "Reply | None":
    """The page that stands before a hands-on step until its cautions are accepted, or what it opens has been
    photographed; None when nothing stands in the way.
    """
    waiting = missing(visit.job, visit.content, step)
    if not waiting:
        return unphotographed.gate(visit, step)
    return page("frame/gate.html", {"cautions": waiting, "step": step})
