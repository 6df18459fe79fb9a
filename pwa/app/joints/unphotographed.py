"""Joints that are about to be opened without a photo from before: a warning, and going on with a reason."""

from typing import TYPE_CHECKING

from pwa.app.record import jobs
from pwa.app.visit import page

if TYPE_CHECKING:
    from pwa.app.record.jobs import Job
    from pwa.app.shapes import Content, Joint
    from pwa.app.visit import Reply, Visit

REASONS = ["The turbo stays closed", "It was open when I came"]


def joints(job: "Job", content: "Content", step: str = "") -> "list[Joint]":
    """The joints that this step opens (any step, if none is given) of which nothing shows how they were."""
    excused = [
        key for record in jobs.of_kind(job["heads"], "unphotographed") for key in record["data"]["joints"]
    ]
    return [
        joint
        for joint in content["joints"]
        if joint["opens"]
        and (not step or joint["opens"] == step)
        and joint["key"] not in excused
        and not jobs.of_kind(job["heads"], "photo", joint=joint["key"], moment="before")
    ]


def gate(visit: "Visit", step: str, error: str = "") -> "Reply | None":
    """The page before a step that opens; None when every joint has its photo, or what is done is done.

    Records of a step have the step's name for their kind.
    """
    bare = joints(visit.job, visit.content, step)
    if not bare or (not error and jobs.of_kind(visit.job["heads"], step)):
        return None
    typed = visit.field("other")
    context = {"joints": bare, "step": step, "reasons": REASONS, "error": error, "typed": typed}
    return page("joints/unphotographed.html", context, 422 if error else 200)
