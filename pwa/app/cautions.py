"""Which cautions apply to a job here and now, and which of them nobody has accepted yet."""

from typing import TYPE_CHECKING

from pwa.app.evidence.situation import here
from pwa.engine.evidence.case import of_type

if TYPE_CHECKING:
    from pwa.app.record.jobs import Job
    from pwa.app.shapes import Caution, Content


def applying(job: "Job", content: "Content", step: str = "") -> "list[Caution]":
    """The cautions for this job's place and drive, before one step or before any."""
    opened, place = job["opened"], here(job)["place"]
    return [
        caution
        for caution in content["cautions"]
        if of_type(caution["drives"], opened["drive"])
        and place in caution["places"]
        and (not step or step in caution["steps"])
    ]


def missing(job: "Job", content: "Content", step: str = "") -> "list[Caution]":
    """Those of `applying` that are not accepted."""
    return [caution for caution in applying(job, content, step) if caution["key"] not in job["cautions"]]
