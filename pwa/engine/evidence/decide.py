"""What to repair: the set of repairs whose own cost and come-backs cost least in expectation.

Causes that the same repairs cure form a group. A group that is left as it is costs, by the chance that one of
its causes is there and brings the truck back, a come-back: recovery and lost time, and then its own cheapest
repair. A plan is a set of repairs; plans of repairs that no group ties together are chosen apart, each within
its component. After Heckerman, Breese and Rommelse 1995, decision-theoretic troubleshooting.

All costs are in minutes of labour. Parts count as the minutes that cost as much.
"""

from math import exp, log
from typing import TYPE_CHECKING, TypedDict

from pwa.engine.evidence.case import of_type

if TYPE_CHECKING:
    from pwa.engine.evidence.network import Model, Pass, Weights

HOUR = 60.0
COME_BACK = 1200.0  # minutes: recovery, a lost day, goodwill; our estimate, until the shop enters its own


class Prices(TypedDict):
    """What the shop entered. `rate` is money an hour, 0 if none; parts and come-back in money."""

    rate: float
    minutes: "dict[str, float]"
    parts: "dict[str, float]"
    come_back: float


class Plan(TypedDict):
    """Repairs, what they cost and what their leaving the rest costs in expectation, in minutes; `comes_back`
    is the chance of a come-back.
    """

    repairs: "list[str]"
    cost: float
    expected: float
    comes_back: float


def costs(model: "Model", prices: "Prices | None") -> "dict[str, float]":
    """Each repair's cost; a price the shop entered goes before the content's estimate."""
    found = {}
    for repair in model["repairs"]:
        key = repair["key"]
        minutes, parts = repair["minutes"], repair["parts"] * HOUR
        if prices:
            minutes = prices["minutes"].get(key, minutes)
            if prices["rate"] > 0 and key in prices["parts"]:
                parts = prices["parts"][key] / prices["rate"] * HOUR
        found[key] = minutes + parts
    return found


class Stakes:
    """What is at stake: the plans with their costs, and each group's loss if it is left and comes back."""

    def __init__(self, model: "Model", drive: str, prices: "Prices | None" = None) -> None:
        self.cost = cost = costs(model, prices)
        come_back = COME_BACK
        if prices and prices["rate"] > 0 and prices["come_back"] > 0:
            come_back = prices["come_back"] / prices["rate"] * HOUR
        self.groups = model["groups"]
        offered = [item["key"] for item in model["repairs"] if of_type(item["drives"], drive)]
        # What the cheapest cure of each group costs, and what its come-back costs with that cure.
        self.cures = [
            min([cost[key] for key in group["repairs"] if key in offered] or [0.0]) for group in self.groups
        ]
        self.losses = [come_back + cure for cure in self.cures]
        self.components: list[list[tuple[float, list[int], list[str]]]] = []
        for plans in model["plans"]:
            possible = [plan for plan in plans if all(key in offered for key in plan["repairs"])]
            self.components.append(
                [
                    (sum([cost[key] for key in plan["repairs"]]), plan["leaves"], plan["repairs"])
                    for plan in possible
                ]
            )

    def weights(self, group: int) -> "Weights":
        """Factors under which the total is the chance that no cause of this group brings the truck back."""
        causes = self.groups[group]["causes"]
        return {cause: [1.0, 1 - chance] for cause, chance in causes.items()}

    def bound(self, group: int, whole: "Pass") -> float:
        """At most what leaving this group costs in expectation: the causes' own chances, added up."""
        causes = self.groups[group]["causes"]
        chance = sum([whole.joint(cause)[1] * causes[cause] for cause in causes]) / whole.total
        return float(chance * self.losses[group])

    def least(self, chances: "list[float]", p: float = 1.0) -> float:
        """Cost of the cheapest plan. `p` and `chances` of each group's come-back are joint with it."""
        return sum([min(self._expected(plans, chances, p)) for plans in self.components])

    def soft(self, component: int, chances: "list[float]", p: float, spread: float) -> float:
        """As `least` of one component, as if each plan's cost were only known to `spread` minutes."""
        if p <= 0:
            return 0.0
        expected = self._expected(self.components[component], chances, p)
        best, scale = min(expected), spread * p
        return best - scale * log(sum([exp((best - cost) / scale) for cost in expected]))

    def best(self, chances: "list[float]", p: float = 1.0) -> "list[str]":
        """The repairs of the cheapest plan, in the order of the content."""
        found: list[str] = []
        for plans in self.components:
            expected = self._expected(plans, chances, p)
            found += plans[expected.index(min(expected))][2]
        return found

    def _expected(
        self, plans: "list[tuple[float, list[int], list[str]]]", chances: "list[float]", p: float
    ) -> "list[float]":
        losses = self.losses
        return [
            p * cost + sum([chances[group] * losses[group] for group in leaves]) for cost, leaves, _ in plans
        ]
