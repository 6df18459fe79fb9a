"""The answers so far as a page shows them: what each was, how far it moved each side, and why."""

from typing import TYPE_CHECKING, TypedDict

from pwa.app.content import find, name_of
from pwa.app.evidence import isolation
from pwa.app.kinds.names import NOT_CHECKED, outcome_label
from pwa.app.record import jobs
from pwa.engine.evidence import truck
from pwa.engine.evidence.case import NOT_FITTED
from pwa.engine.evidence.reasons import LITTLE
from pwa.engine.evidence.sides import SIDE_NAMES, SIDES

if TYPE_CHECKING:
    from typing import Any

    from pwa.app.kinds.data import Finding
    from pwa.app.protocol import Record
    from pwa.app.visit import Visit
    from pwa.engine.evidence.advice import Isolation
    from pwa.engine.evidence.reasons import Reason

CAUSES_NAMED = 3
TELLING = 0.1  # how often a cause must show an outcome to be named for it
STRONGEST = 3.0  # change in log odds (a factor of 20) that fills the bar


class Bar(TypedDict):
    side: str
    x: str
    width: str
    words: str


class Answered(TypedDict):
    """An answer; `little` when it says little, `idle` says why it counts for nothing."""

    finding: str
    name: str
    answer: str
    bars: "list[Bar]"
    little: bool
    idle: str  # why it counts for nothing, "" if it counts
    partly: str


class Side(TypedDict):
    side: str
    before: str
    after: str


class Moved(TypedDict):
    """What one answer has moved, and why."""

    name: str
    answer: str
    why: str
    sides: "list[Side]"


def answered(visit: "Visit", found: "Isolation") -> "list[Answered]":
    """The answers, newest first, each with what it moved."""
    reasons = {reason["finding"]: reason for reason in found["reasons"]}
    rows = []
    for record in reversed(_standing(visit)):
        row = _row(visit, record["data"])
        reason = reasons.get(row["finding"])
        if reason:
            row["bars"], row["little"] = _bars(reason), not _moves(reason)
        row["idle"] = _idle(visit, record["data"]) if row["finding"] in found["uncounted"] else ""
        rows.append(row)
    return rows


def unjudged(visit: "Visit") -> "list[Answered]":
    """The answers when they cannot all be true: so that one of them can be taken back."""
    return [_row(visit, record["data"]) for record in _standing(visit)]


def _standing(visit: "Visit") -> "list[Record]":
    return [
        record
        for record in jobs.of_kind(visit.job["settled"], "finding")
        if record["data"]["outcome"] != NOT_CHECKED
    ]


def _row(visit: "Visit", data: "Finding") -> Answered:
    return {
        "finding": data["finding"],
        "name": name_of(visit.content["findings"], data["finding"]),
        "answer": outcome_label(visit.content, data["finding"], data["outcome"]),
        "bars": [],
        "little": False,
        "idle": "",
        "partly": _partly(visit, data),
    }


def _idle(visit: "Visit", data: "Finding") -> str:
    """Why an answer counts for nothing: what was off or on when it was seen, or what it is."""
    known: Any = find(visit.content["findings"], data["finding"])
    said: Any = data
    wrong = truck.spoilt(known, said, [], visit.content["model"]["openings"]) if known else []
    names = ", ".join([name_of(visit.content["openings"], key) for key in wrong if key in known["closed"]])
    if names:
        return f"Proves nothing, for it was seen with: {names}."
    if wrong:
        return "Proves nothing, for the turbine housing was on."
    if known and not known["shown_by"]:
        return "Proves nothing about the cause."
    return "Proves nothing with this actuator type or on this truck."


def _partly(visit: "Visit", data: "Finding") -> str:
    """A reading near its limit counts partly for either outcome."""
    shares = data.get("weights") or {}
    known = find(visit.content["findings"], data["finding"])
    if not shares or known is None:
        return ""
    parts = [
        f"{isolation.percent(shares[item['key']])} “{item['label']}”"
        for item in known["outcomes"]
        if shares.get(item["key"], 0) > 0
    ]
    why = "Stored, not active" if data.get("by") == "code" else "Near its limit"
    return f"{why}, so it counts " + ", ".join(parts) + "."


def _bars(reason: "Reason") -> "list[Bar]":
    """How far a finding moved each side, as a bar from the middle: right for, left against."""
    if not _moves(reason):
        return []
    bars: list[Bar] = []
    for side in SIDES:
        moved = reason["moves"][side]
        length = min(abs(moved) / STRONGEST, 1.0) * 50
        bars.append(
            {
                "side": SIDE_NAMES[side],
                "x": f"{50 - length if moved < 0 else 50:.1f}",
                "width": f"{length:.1f}",
                "words": _strength(moved),
            }
        )
    return bars


def _moves(reason: "Reason") -> bool:
    return any(abs(reason["moves"][side]) >= LITTLE for side in SIDES)


def _strength(moved: float) -> str:
    """A change in log odds in words: a factor of 1.3, 3 and 10 are the steps."""
    size = abs(moved)
    if size < LITTLE:
        return "says little"
    how = "slightly" if size < 1.1 else "clearly" if size < 2.3 else "strongly"
    return f"{how} {'for' if moved > 0 else 'against'}"


def moved(visit: "Visit", found: "Isolation", finding: str) -> "Moved | None":
    """What the answer just given has moved: each side's probability before and after, and why."""
    for reason in found["reasons"]:
        if reason["finding"] == finding:
            return {
                "name": name_of(visit.content["findings"], finding),
                "answer": outcome_label(visit.content, finding, reason["outcome"]),
                "why": _why(visit, finding, reason["outcome"]),
                "sides": [
                    {
                        "side": SIDE_NAMES[side],
                        "before": isolation.percent(reason["before"][side]),
                        "after": isolation.percent(reason["after"][side]),
                    }
                    for side in SIDES
                ],
            }
    return None


def _why(visit: "Visit", finding: str, outcome: str) -> str:
    """Which causes show this outcome most, or what the normal outcome speaks against."""
    known = find(visit.content["findings"], finding)
    if known is None:
        return ""
    if outcome == NOT_FITTED:
        return "Nothing is asked about such a part any more."
    state = [item["key"] for item in known["outcomes"]].index(outcome)
    shown = [
        (sum(chances) if state == 0 else chances[state - 1], cause)
        for cause, chances in known["shown_by"].items()
    ]
    strongest = sorted([(-chance, cause) for chance, cause in shown if chance >= TELLING])[:CAUSES_NAMED]
    names = ", ".join([name_of(visit.content["causes"], cause) for _, cause in strongest])
    if not names:
        return "No cause shows this often."
    return f"It speaks {'for' if state else 'against'}: {names}."
