"""Which checks are worth weighing: a quick look before the exact one.

A check can only save what is at stake with the causes that it shows. How far it moves each of them is read
from one pass over the network: for cause v the expected shift of its probability, P(v) * sum |P(o|v) - P(o)|
over the outcomes o, times what leaving v costs. An effect stakes what the causes behind it do, by how
probable they are.
"""

from typing import TYPE_CHECKING

from pwa.engine.evidence.value import QUICK

if TYPE_CHECKING:
    from pwa.engine.evidence.case import Finding
    from pwa.engine.evidence.decide import Stakes
    from pwa.engine.evidence.network import Model, Pass


def promising(
    model: "Model", left: "list[Finding]", whole: "Pass", stakes: "Stakes", opened: "dict[str, float]"
) -> "list[Finding]":
    """The findings, most promising a minute first, each with the minutes that it `moves`.

    `opened` as in `value.checks`.
    """
    chances: dict[str, float] = {}
    losses: dict[str, float] = {}
    for number in range(len(stakes.groups)):
        for cause, (comes_back, _) in stakes.groups[number]["causes"].items():
            losses[cause] = comes_back * (stakes.come_back + stakes.cure[number])
    for item in model["variables"]:  # causes before what they bring about
        if item["kind"] in ("cause", "effect"):
            name = item["name"]
            chances[name] = whole.joint(name)[1] / whole.total
            if name not in losses:
                losses[name] = _behind(item["because_of"], chances, losses)
    scores = {}
    for item in left:
        cost = max(item["minutes"], QUICK) + sum([opened.get(key, 0.0) for key in item["opens"]])
        item["moves"] = _shift(item, whole, chances, losses)
        scores[item["name"]] = item["moves"] / cost
    return sorted(left, key=lambda item: (-round(scores[item["name"]], 9), item["name"]))


def _behind(because_of: "dict[str, float]", chances: "dict[str, float]", losses: "dict[str, float]") -> float:
    """What is at stake behind an effect: the mean over its causes, by how probable each is behind it."""
    weights = {cause: chances[cause] * chance for cause, chance in because_of.items()}
    total = sum([weights[cause] for cause in sorted(weights)])
    if total <= 0:
        return 0.0
    return sum([weights[cause] * losses[cause] for cause in sorted(weights)]) / total


def _shift(item: "Finding", whole: "Pass", chances: "dict[str, float]", losses: "dict[str, float]") -> float:
    """Expected minutes by which knowing the outcome moves what is at stake."""
    each = [p / whole.total for p in whole.joint(item["name"])]
    moved = 0.0
    for cause in sorted(item["shown_by"]):
        shown = item["shown_by"][cause]
        other = 1 - sum(shown)
        there = [other * each[0]] + [shown[k] + other * each[k + 1] for k in range(len(shown))]
        apart = sum([abs(there[k] - each[k]) for k in range(len(each))])
        moved += chances[cause] * apart * losses[cause]
    return moved
