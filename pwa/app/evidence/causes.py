"""The upstream causes and what was decided on each: the turbo is usually the victim."""

from typing import TYPE_CHECKING

from pwa.app.record import jobs
from pwa.engine.evidence.case import of_type

if TYPE_CHECKING:
    from pwa.app.record.jobs import Job
    from pwa.app.shapes import Cause, Content


def undecided(job: "Job", content: "Content") -> "list[Cause]":
    """The upstream causes that nobody has named, excluded or left open, unless one is already named.

    Naming the cause answers the question; the others then need no word of their own.
    """
    decisions = {
        record["data"]["cause"]: record["data"]["decision"]
        for record in jobs.of_kind(job["settled"], "cause")
    }
    if "named" in decisions.values():
        return []
    return [cause for cause in upstream(job, content) if cause["key"] not in decisions]


def upstream(job: "Job", content: "Content") -> "list[Cause]":
    """The upstream causes that a truck with this drive can have."""
    return [
        cause
        for cause in content["causes"]
        if cause["upstream"] and of_type(cause["drives"], job["opened"]["drive"])
    ]
