"""Joints that are about to be opened without a photo from before."""

from typing import TYPE_CHECKING

from pwa.app.record import jobs

if TYPE_CHECKING:
    from pwa.app.record.jobs import Job
    from pwa.app.shapes import Content, Joint


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
