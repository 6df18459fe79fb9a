"""Writing a finding so that it replaces the answers it corrects, and never says the same thing twice."""

from typing import TYPE_CHECKING

from pwa.app import job as jobs
from pwa.app.records import draft

if TYPE_CHECKING:
    from pwa.app.job import Job
    from pwa.app.records import Draft


def answer(job: "Job", finding: str, outcome: str, by: str, note: str = "") -> "list[Draft]":
    """The draft for one answer: none if it is what already stands, else one replacing all earlier heads."""
    earlier = jobs.of_kind(job["heads"], "finding", finding=finding)
    if earlier and all(record["data"]["outcome"] == outcome for record in earlier):
        return []
    data = {"finding": finding, "outcome": outcome, "by": by, "note": note}
    return [draft(job["id"], "finding", data, jobs.ids(earlier))]
