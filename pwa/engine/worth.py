"""Which check tells most for the minutes it costs.

The worth of a check is the mutual information (Shannon 1948), in bits, between its outcome and what is asked:
has the electrical side a fault, has the mechanical side one, is it this leading suspect. It is added up over
these questions and divided by the minutes.
"""

from math import log
from typing import TYPE_CHECKING, TypedDict

if TYPE_CHECKING:
    from typing import Any

    from pwa.engine.network import Pass

TINY = 1e-12
EVEN = 9  # decimals in which two values must differ to be ranked; then the key decides, everywhere alike
QUICK = 1.0  # minutes that anything takes at least
TELLING = 0.1  # difference in how often an outcome shows that is worth a sentence


class Check(TypedDict):
    """`worth` is in bits a minute."""

    finding: str
    name: str
    question: str
    outcomes: "list[dict[str, str]]"
    worth: float
    minutes: float
    tools: "list[str]"
    caution: "list[str]"
    why: str


def checks(
    left: "list[dict[str, Any]]",
    whole: "Pass",
    free: "list[Pass]",
    names: "list[str]",
    cleared: "list[Pass]",
) -> "list[Check]":
    """The findings `left`, most bits a minute first.

    Args:
        free: a pass without electrical faults, and one without mechanical ones.
        names: the leading suspects.
        cleared: for each of them, a pass without it.
    """
    found: list[Check] = []
    for item in left:
        outcomes = whole.joint(item["name"])
        sides = [_with_and_without(outcomes, side.joint(item["name"])) for side in free]
        pairs = [_with_and_without(outcomes, other.joint(item["name"])) for other in cleared]
        bits = sum([_information(outcomes, pair) for pair in sides + pairs])
        found.append(
            {
                "finding": item["name"],
                "name": item["label"],
                "question": item["question"],
                "outcomes": item["outcomes"],
                "worth": max(bits, 0.0) / max(item["minutes"], QUICK),
                "minutes": item["minutes"],
                "tools": item["tools"],
                "caution": item["caution"],
                "why": _why(item, names, [[_shares(part) for part in pair] for pair in pairs]),
            }
        )
    return sorted(found, key=lambda check: (-round(check["worth"], EVEN), check["finding"]))


def _with_and_without(whole: "list[float]", without: "list[float]") -> "tuple[list[float], list[float]]":
    return [max(whole[k] - without[k], 0.0) for k in range(len(whole))], without


def _information(outcomes: "list[float]", pair: "tuple[list[float], list[float]]") -> float:
    """Bits that an outcome tells on average about which of the pair it is from; `outcomes` is their sum."""
    return (_spread(outcomes) - _spread(pair[0]) - _spread(pair[1])) / (sum(outcomes) * log(2))


def _spread(chances: "list[float]") -> float:
    """Entropy of chances that add up to something else than 1, times that sum."""
    total = sum(chances)
    return -sum([p * log(p / total) for p in chances if p > TINY * total])


def _shares(numbers: "list[float]") -> "list[float]":
    total = sum(numbers)
    return [number / total for number in numbers] if total > 0 else numbers


def percent(chance: float) -> int:
    """Whole percent, halves up. Rounded before, so that a half is one on every machine."""
    return int(round(100 * chance, 6) + 0.5)


def _why(item: "dict[str, Any]", names: "list[str]", shown: "list[list[list[float]]]") -> str:
    """The outcome whose frequency differs most: between two leading suspects, or with and without one."""
    most, words = TELLING, ""
    for n in range(len(names)):
        others = [(f"with “{names[m]}”", shown[m][0]) for m in range(len(names)) if m != n]
        for against, frequencies in others + [("without", shown[n][1])]:
            for k in range(1, len(frequencies)):
                here, there = shown[n][0][k], frequencies[k]
                if round(here - there, EVEN) > most:
                    most = round(here - there, EVEN)
                    words = (
                        f"“{item['outcomes'][k]['label']}” shows in {percent(here)} % "
                        f"with “{names[n]}”, in {percent(there)} % {against}."
                    )
    return words or "It says little of the leading suspects, but it may clear the rest."
