"""How far each answer moved the standing, and whether the answers fit together.

A reason is the change in log odds when one answer is withdrawn from all the others (Good 1950, weight of
evidence). The conflict measure is that of Jensen et al. 1990: answers that fit together are more probable
together than apart.
"""

from math import log
from typing import TYPE_CHECKING, TypedDict

if TYPE_CHECKING:
    from typing import Any

    from pwa.engine.network import Evidence, Pass

TINY = 1e-12
LITTLE = 0.26  # change in log odds, a factor of 1.3, below which nothing is said
CONFLICT_BITS = 1.0  # answers half as probable together as apart; our estimate


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


def reasons(
    findings: "dict[str, dict[str, Any]]", counted: "Evidence", whole: "Pass", sides: "dict[str, Pass]"
) -> "list[Reason]":
    """One reason for each answer. `sides` are passes without any fault of that side."""
    found: list[Reason] = []
    for name in sorted(counted):
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
                "outcome": counted[name],
                "moves": moves,
                "before": before,
                "after": after,
                "sentence": _sentence(findings[name]["label"], moves),
            }
        )
    return found


def conflict(
    findings: "dict[str, dict[str, Any]]", counted: "Evidence", whole: "Pass", usual: "dict[str, Any]"
) -> str:
    """A sentence that names the answer which fits the others least; "" when they fit together.

    Args:
        usual: `marginals` of everything and `probability` of what is given, before any answer.
    """
    apart, misfit, worst = 0.0, 0.0, ""
    for name in sorted(counted):
        alone = _bits(usual["marginals"][name][findings[name]["states"].index(counted[name])])
        apart += alone
        surprise = alone - _bits(whole.total / sum(whole.without(name)))
        if surprise > misfit:
            misfit, worst = surprise, findings[name]["label"]
    together = _bits(whole.total / usual["probability"])
    if not worst or apart - together <= CONFLICT_BITS:
        return ""
    return f"These answers do not fit together well. Check “{worst}” again."


def _sentence(label: str, moves: "dict[str, float]") -> str:
    parts = []
    for side in ("electrical", "mechanical", "upstream"):
        moved = moves[side]
        if abs(moved) >= LITTLE:
            way = "up" if moved > 0 else "down"
            parts.append(f"the odds of {side} go {way} {_factor(abs(moved))}")
    return f"{label}: " + (", ".join(parts) if parts else "moves little") + "."


def _factor(size: float) -> str:
    factor = 2.718281828459045**size
    return f"{factor:.1f} times" if factor < 10 else f"{factor:.0f} times"


def _log_odds(whole: float, none: float) -> float:
    """Log odds of any fault, from the probability of all and of none."""
    share = min(max(none / whole, TINY), 1 - TINY)
    return log((1 - share) / share)


def _bits(chance: float) -> float:
    return log(max(chance, 1e-300)) / log(2)
