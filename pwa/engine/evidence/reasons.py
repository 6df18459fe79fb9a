"""How far each answer moved the standing, and what a check speaks for.

A reason is the change in log odds when one answer is withdrawn from all the others (Good 1950, weight of
evidence).
"""

from math import log
from typing import TYPE_CHECKING, TypedDict

from pwa.engine.evidence.sides import CONTROL, MECHANISM, OUTSIDE, SIDES
from pwa.engine.numbers.rounding import percent

if TYPE_CHECKING:
    from pwa.engine.evidence.case import Finding
    from pwa.engine.evidence.network import Pass

FAULT_OF = {
    CONTROL: "a control side fault",
    MECHANISM: "a fault of the mechanism",
    OUTSIDE: "a fault outside the VGT",
}
TINY = 1e-12
LITTLE = 0.26  # change in log odds, a factor of 1.3, below which nothing is said
POINTED = 2  # causes named for a check
FAINT = 0.004  # how often an outcome shows because of a cause, below which the cause is not named for it
SUREST = 99  # whole percent that nothing exceeds in words


class Reason(TypedDict):
    """For a fault on each side: `moves`, the change in log odds (natural logarithm), and its probability
    `before` and `after` the answer.
    """

    finding: str
    outcome: str
    moves: "dict[str, float]"
    before: "dict[str, float]"
    after: "dict[str, float]"
    sentence: str


class Pointer(TypedDict):
    """An outcome (its label) that speaks for a cause, and how probable the cause is now."""

    outcome: str
    cause: str
    p: float


def reasons(
    findings: "dict[str, Finding]", told: "dict[str, str]", whole: "Pass", sides: "dict[str, Pass]"
) -> "list[Reason]":
    """One reason for each answer that was counted. `sides` are passes without any fault of that side."""
    found: list[Reason] = []
    for name in sorted(told):
        others = sum(whole.without(name))
        moves, before, after = {}, {}, {}
        for side, free in sides.items():
            none = sum(free.without(name))
            before[side] = max(1 - none / others, 0.0)
            after[side] = max(1 - free.total / whole.total, 0.0)
            moves[side] = _log_odds(whole.total, free.total) - _log_odds(others, none)
        found.append(
            {
                "finding": name,
                "outcome": told[name],
                "moves": moves,
                "before": before,
                "after": after,
                "sentence": _sentence(findings[name]["label"], moves),
            }
        )
    return found


def pointers(item: "Finding", chances: "dict[str, float]") -> "list[Pointer]":
    """The causes that the check's outcomes speak for most, weighted by how suspected each is now."""
    found = []
    for cause, shown in item["shown_by"].items():
        k = shown.index(max(shown))
        found.append((-round(chances[cause] * shown[k], 9), cause, item["outcomes"][k + 1]["label"]))
    return [
        {"outcome": label, "cause": cause, "p": chances[cause]}
        for weight, cause, label in sorted(found)[:POINTED]
        if -weight >= FAINT
    ]


def pointed(pointers: "list[Pointer]", names: "dict[str, str]") -> str:
    """The same as a sentence."""
    said = [
        f"“{item['outcome']}” speaks for {names[item['cause']]} (now {min(percent(item['p']), SUREST)} %)"
        for item in pointers
    ]
    return "; ".join(said) + "." if said else "It may clear what is left."


def _sentence(label: str, moves: "dict[str, float]") -> str:
    parts = []
    for side in SIDES:
        moved = moves[side]
        if abs(moved) >= LITTLE:
            way = "up" if moved > 0 else "down"
            parts.append(f"the odds of {FAULT_OF[side]} go {way} {_factor(abs(moved))}")
    return f"{label}: " + (", ".join(parts) if parts else "moves little") + "."


def _factor(size: float) -> str:
    factor = 2.718281828459045**size
    return f"{factor:.1f} times" if factor < 10 else f"{factor:.0f} times"


def _log_odds(whole: float, none: float) -> float:
    """Log odds of any fault, from the probability of all and of none."""
    share = min(max(none / whole, TINY), 1 - TINY)
    return log((1 - share) / share)
