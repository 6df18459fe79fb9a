"""How far each answer moved the standing, and whether the answers fit together.

A reason is the change in log odds when one answer is withdrawn from all the others (Good 1950, weight of
evidence). The conflict measure is that of Jensen et al. 1990: answers that fit together are more probable
together than apart.
"""

from math import log
from typing import TYPE_CHECKING, TypedDict

from pwa.engine.evidence.sides import CONTROL, MECHANISM, OUTSIDE, SIDES
from pwa.engine.numbers.rounding import percent

if TYPE_CHECKING:
    from typing import Any

    from pwa.engine.evidence.case import Finding
    from pwa.engine.evidence.network import Evidence, Pass

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


def misfit(
    evidence: "Evidence", whole: "Pass", usual: "dict[str, Any]", findings: "dict[str, Finding]"
) -> str:
    """The answer that fits the others least; "" when all fit together.

    Args:
        usual: `marginals` of everything and `probability` of what is given, before any answer.
    """
    apart, worst_bits, worst = 0.0, 0.0, ""
    for name in sorted(evidence):
        alone = _bits(_chance(usual["marginals"][name], evidence[name], findings[name]["states"]))
        apart += alone
        surprise = alone - _bits(whole.total / sum(whole.without(name)))
        if surprise > worst_bits:
            worst_bits, worst = surprise, name
    together = _bits(whole.total / usual["probability"])
    return worst if apart - together > CONFLICT_BITS else ""


def partner(
    misfit: str,
    evidence: "Evidence",
    alone: "Pass",
    usual: "dict[str, Any]",
    findings: "dict[str, Finding]",
) -> str:
    """The answer that the misfit speaks against most; `alone` is a pass in which only the misfit is known."""
    worst_bits, worst = 0.0, ""
    for name in sorted(evidence):
        if name != misfit:
            states = findings[name]["states"]
            beside = [p / alone.total for p in alone.joint(name)]
            here = _bits(_chance(beside, evidence[name], states))
            against = _bits(_chance(usual["marginals"][name], evidence[name], states)) - here
            if against > worst_bits:
                worst_bits, worst = against, name
    return worst


def do_not_fit(names: "list[str]", told: "dict[str, str]", findings: "dict[str, Finding]") -> str:
    """Says which two do not fit together, or which one does not fit the rest."""
    said = []
    for name in names:
        labels = {item["key"]: item["label"] for item in findings[name]["outcomes"]}
        said.append(f"“{findings[name]['label']}: {labels[told[name]]}”")
    if len(said) == 1:
        return f"{said[0]} does not fit the other answers: check it again."
    return f"{said[0]} and {said[1]} do not fit together: check one of them again."


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


def _chance(marginal: "list[float]", said: "str | dict[str, float]", states: "list[str]") -> float:
    """Probability of an answer, sure or not, from those of its states."""
    if isinstance(said, str):
        return marginal[states.index(said)]
    return sum([marginal[k] * said.get(states[k], 0.0) for k in range(len(states))])


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


def _bits(chance: float) -> float:
    return log(max(chance, 1e-300)) / log(2)
