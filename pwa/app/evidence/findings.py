"""Writing a finding so that it replaces the answers it corrects, and never says the same thing twice."""

from typing import TYPE_CHECKING

from pwa.app.evidence.situation import here
from pwa.app.record import jobs
from pwa.app.record.chain import draft

if TYPE_CHECKING:
    from pwa.app.kinds.data import Finding
    from pwa.app.protocol import Draft
    from pwa.app.record.jobs import Job


def answer(
    job: "Job", finding: str, outcome: str, by: str, weights: "dict[str, float] | None" = None
) -> "list[Draft]":
    """The draft for one answer: none if it is what already stands, else one replacing all earlier heads.

    Args:
        weights: how likely the number behind it is under each outcome, where it lies near its limit.
    """
    earlier = jobs.of_kind(job["heads"], "finding", finding=finding)
    state = here(job)["state"]
    data: Finding = {"finding": finding, "outcome": outcome, "by": by, "state": state}
    if weights:
        data["weights"] = weights
    if earlier and all(_same(record["data"], data) for record in earlier):
        return []
    return [draft(job["id"], "finding", data, jobs.ids(earlier))]


def _same(earlier: "Finding", now: "Finding") -> bool:
    return all(earlier.get(name) == now.get(name) for name in ("outcome", "state", "weights"))
