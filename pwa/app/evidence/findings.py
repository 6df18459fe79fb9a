"""Writing a finding so that it replaces the answers it corrects, and never says the same thing twice."""

from typing import TYPE_CHECKING

from pwa.app.content import find
from pwa.app.evidence.situation import here, restated
from pwa.app.kinds.evidence import seen_open
from pwa.app.kinds.names import NOT_CHECKED
from pwa.app.record import jobs
from pwa.app.record.chain import draft
from pwa.engine.evidence.truck import opened_with, state_of

if TYPE_CHECKING:
    from pwa.app.kinds.data import Finding
    from pwa.app.protocol import Draft
    from pwa.app.shapes import Content
    from pwa.app.visit import Visit


def answer(
    visit: "Visit", finding: str, outcome: str, by: str, weights: "dict[str, float] | None" = None
) -> "list[Draft]":
    """The draft for one answer: none if it is what already stands, else one replacing all earlier heads.

    A new answer to a check that needs something off says that it is off now, and the truck's state with it.

    Args:
        weights: how likely the number behind it is under each outcome, where it lies near its limit.

    Raises:
        ValueError: as `insist`.
    """
    insist(visit.content, finding, outcome)
    job, now = visit.job, here(visit.job)["opened"]
    earlier = jobs.of_kind(job["heads"], "finding", finding=finding)
    opened = seen_with(visit.content, finding, now)
    data: Finding = {
        "finding": finding,
        "outcome": outcome,
        "by": by,
        "state": state_of(opened),
        "opened": opened,
    }
    if weights:
        data["weights"] = weights
    if earlier and all(_same(record["data"], data) for record in earlier):
        return []
    drafts = [draft(job["id"], "finding", data, jobs.ids(earlier))]
    if outcome != NOT_CHECKED and not earlier:
        drafts += restated(job, opened)
    return drafts


def seen_with(content: "Content", finding: str, opened: "list[str]") -> "list[str]":
    """What is open when a check is answered: what is open now, and what it cannot be made without."""
    known = find(content["findings"], finding)
    return opened_with(opened + (known["opens"] if known else []), content["model"]["openings"])


def insist(content: "Content", finding: str, outcome: str) -> None:
    """Refuses an outcome that the finding does not have: it would stand in the job and count for nothing.

    Raises:
        ValueError: a sentence that names the answers there are.
    """
    known = find(content["findings"], finding)
    if known is None:
        raise ValueError(f"This version knows no check called “{finding}”.")
    if outcome == NOT_CHECKED or find(known["outcomes"], outcome):
        return
    labels = ", ".join([f"“{item['label']}”" for item in known["outcomes"]])
    raise ValueError(f"“{outcome}” is no answer to “{known['name']}”. Its answers are {labels}.")


def _same(earlier: "Finding", now: "Finding") -> bool:
    return seen_open(earlier) == now.get("opened") and all(
        earlier.get(name) == now.get(name) for name in ("outcome", "weights")
    )
