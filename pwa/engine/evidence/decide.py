"""What to repair, and in which order: steps of repairs, each proved before the next is made.

If the proof of a step still sees a fault, the next step follows. What no proof sees comes back, and a truck
comes back once, however many causes are left. After Heckerman, Breese and Rommelse 1995, decision-theoretic
troubleshooting: sequences of repairs and observations; here with several faults at once and with repairs that
may fail.

Of each cause that is there and left, the proof sees it with one chance, and it brings the truck back later
with another. So the chance that nothing is seen after some repairs, or comes back, is a product over the
causes, which the network answers exactly. Let A be the chance that the proof of a step sees nothing, B that
nothing comes back either, and D the same where the proof of the step before saw nothing already: then the
truck is well with the chance B1 + (B2 - D2) + (B3 - D3) + ... Whatever is left is cured in the end by its
cheapest repair: what a proof sees if it outlasts all steps, what no proof sees if it outlasts the first,
which alone is always made.

All costs are in minutes of labour. Parts count as the minutes that cost as much.
"""

from typing import TYPE_CHECKING, TypedDict

from pwa.engine.evidence.case import of_type

if TYPE_CHECKING:
    from collections.abc import Callable
    from typing import Any

    from pwa.engine.evidence.network import Model, Weights

    Steps = list[list[str]]  # repairs that are made together before each proof
    # The chance under the factors of `weights`, whose arguments it takes, joint with each outcome.
    Chance = Callable[[list[float], list[float]], list[float]]

HOUR = 60.0
COME_BACK = 1200.0  # minutes: recovery, a lost day, goodwill; our estimate, until the shop enters its own
PROOF = 30.0  # minutes: codes cleared, swept, driven and read again; our estimate
STEPS = 2  # after so many failed steps everything is thought over anew
FIRSTS = 5  # repairs that are tried as the first step
BESIDES = 2  # repairs that are tried beside it, for what no proof sees
LEAST = 0.02  # chance of a cure below which a repair is not tried first
CONFIDENT = 0.5  # chance that the first step cures something, below which it is no advice
EVEN = 9  # decimals in which two values must differ to be ranked; then the key decides


class Prices(TypedDict):
    """What the shop entered. `rate` is money an hour, 0 if none; parts and come-back in money. `off` are
    repairs that are not sold or not allowed.
    """

    rate: float
    minutes: "dict[str, float]"
    parts: "dict[str, float]"
    come_back: float
    off: "list[str]"


class Step(TypedDict):
    """Repairs that are made together, and then proved. `cost` is all of that in minutes, `search` what of it
    goes into finding the place of the fault, and `needed` the chance that it comes to this step.
    """

    repairs: "list[str]"
    cost: float
    search: float
    needed: float


class Plan(TypedDict):
    """Steps of repairs; the next one is made only if the proof of the last still sees a fault.

    `cost` are the minutes that this takes on average, `expected` the same with what a truck costs that is not
    well or comes back. `unsolved` is the chance that the last proof still sees a fault, `comes_back` that no
    proof saw it and the truck is back. `confident` says that the first step is more likely than not to cure
    something; below that it is no advice.
    """

    steps: "list[Step]"
    repairs: "list[str]"  # of all steps
    cost: float
    expected: float
    unsolved: float
    comes_back: float
    confident: bool


class Followed(TypedDict):
    """The chance that each step is made, and that the truck is well in the end, for each outcome."""

    made: "list[tuple[list[str], list[float]]]"
    well: "list[float]"


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
    """What is at stake: what repairs cost and cure, and what a truck costs that is not well."""

    def __init__(
        self, model: "Model", drive: str, prices: "Prices | None" = None, located: "list[str] | None" = None
    ) -> None:
        """`located` are the causes whose place is known."""
        off = prices.get("off", []) if prices else []
        self.cost = costs(model, prices)
        self.search: dict[str, float] = {item["key"]: item["search"] for item in model["repairs"]}
        self.offered: list[str] = [
            item["key"]
            for item in model["repairs"]
            if of_type(item["drives"], drive) and item["key"] not in off
        ]
        self.groups = model["groups"]
        self.cures: dict[str, list[tuple[int, float]]] = {key: [] for key in self.offered}
        for number in range(len(self.groups)):
            for key, chance in self.groups[number]["cures"].items():
                if key in self.cures:
                    self.cures[key].append((number, chance))
        # What the cheapest cure of each group costs in the end.
        self.cure: list[float] = [
            min([self.cost[key] for key in group["cures"] if key in self.cures] or [0.0])
            for group in self.groups
        ]
        # Which part of the causes of each group a proof sees, of those that are seen or come back.
        self.share: list[float] = [_share(group) for group in self.groups]
        self.come_back = COME_BACK
        if prices and prices["rate"] > 0 and prices["come_back"] > 0:
            self.come_back = prices["come_back"] / prices["rate"] * HOUR
        self.found = self.places(located or [])

    def places(self, causes: "list[str]") -> "list[str]":
        """The repairs that need no search once the places of these causes are known."""
        found: list[str] = []
        for group in self.groups:
            if any(cause in group["causes"] for cause in causes):
                found += [key for key in group["cures"] if key in self.cures]
        return found

    def minutes(self, step: "list[str]", found: "list[str]") -> float:
        """Cost of a step with its proof. `found` are the repairs that need no search."""
        searched = sum([self.search[key] for key in step if key not in found])
        return PROOF + searched + sum([self.cost[key] for key in step])

    def searched(self, step: "list[str]") -> float:
        """Minutes of a step that go into finding the place of the fault, as things stand."""
        return sum([self.search[key] for key in step if key not in self.found], 0.0)

    def left(self, repairs: "list[str]") -> "list[float]":
        """For each group the chance that a cause of it is still there after these repairs."""
        left = [1.0] * len(self.groups)
        for key in sorted(repairs):
            for group, chance in self.cures[key]:
                left[group] *= 1 - chance
        return left

    def weights(self, seen: "list[float]", later: "list[float]") -> "Weights":
        """Factors under which the total is the chance that nothing left is seen by a proof, or comes back.

        Args:
            seen, later: for each group the chance that it is still there when it would be seen, or come back.
        """
        found: Weights = {}
        for number in range(len(self.groups)):
            now, then = seen[number], later[number]
            for cause, (back, proved) in self.groups[number]["causes"].items():
                found[cause] = [1.0, 1 - proved * now - (back - proved) * then]
        return found

    def back(self, group: int) -> "Weights":
        """Factors under which the total is the chance that no cause of this group is seen, or comes back."""
        return {cause: [1.0, 1 - back] for cause, (back, _) in self.groups[group]["causes"].items()}

    def expected(
        self,
        steps: "Steps",
        each: "list[float]",
        chance: "Chance",
        there: "list[list[float]]",
        found: "list[list[str]]",
    ) -> "list[float]":
        """Expected cost of these steps, joint with each outcome.

        Args:
            each: the chance of each outcome.
            chance: see `Chance`.
            there: for each group and outcome the chance that a cause of it would be seen, or come back.
            found: for each outcome the repairs that need no search.
        """
        told = self.follow(steps, each, chance)
        end = self.left([key for step in steps for key in step])
        first = self.left(steps[0] if steps else [])
        rest = [
            self.cure[n] * (self.share[n] * end[n] + (1 - self.share[n]) * first[n]) for n in range(len(end))
        ]
        return [
            sum([needed[k] * self.minutes(step, found[k]) for step, needed in told["made"]])
            + self.come_back * max(each[k] - told["well"][k], 0.0)
            + sum([rest[n] * there[n][k] for n in range(len(rest))])
            for k in range(len(each))
        ]

    def follow(self, steps: "Steps", each: "list[float]", chance: "Chance") -> Followed:
        """What becomes of these steps; arguments as `expected`."""
        count, never = range(len(each)), [0.0] * len(self.groups)
        done: list[str] = []
        before, needed = self.left(done), each
        well = [0.0 for _ in count] if steps else chance(before, before)
        made: list[tuple[list[str], list[float]]] = []
        for step in steps:
            if made:
                passed = chance(before, never)
                needed = [max(each[k] - passed[k], 0.0) for k in count]
            done = done + step
            after = self.left(done)
            now = chance(after, after)
            already = chance(before, after) if made else [0.0 for _ in count]
            well = [well[k] + max(now[k] - already[k], 0.0) for k in count]
            made.append((step, needed))
            before = after
        return {"made": made, "well": well}

    def candidates(self, chances: "dict[str, float]") -> "list[Steps]":
        """The sequences that are weighed: the best by chance over cost, the same with each likely repair
        first, with each that helps against what no proof sees, and no repair at all.

        Args:
            chances: of every cause, as things stand.
        """
        seen, later = self._there(chances)
        plain = self._sequence(seen, [])
        found: list[Steps] = [[], plain] + [self._sequence(seen, [first]) for first in self._firsts(seen)]
        beside = self._besides(later)
        wanted = [key for key, spared in beside if spared > self.cost[key]]
        for first in [steps[0] if steps else [] for steps in found[1:3]]:
            found.append(self._sequence(seen, _joined(first, wanted)))
        for key, _ in beside[:BESIDES]:
            found.append(self._sequence(seen, _joined(plain[0] if plain else [], [key])))
        different: list[Steps] = []
        for steps in found:
            if steps not in different:
                different.append(steps)
        return different

    def _there(self, chances: "dict[str, float]") -> "tuple[list[float], list[float]]":
        """For each group, how many causes of it are there on average that a proof sees, or only later."""
        seen, later = [], []
        for group in self.groups:
            here = [(chances[cause], group["causes"][cause]) for cause in sorted(group["causes"])]
            seen.append(sum([chance * proved for chance, (_, proved) in here]))
            later.append(sum([chance * (back - proved) for chance, (back, proved) in here]))
        return seen, later

    def _gain(self, key: str, there: "list[float]") -> float:
        """The chance that the repair cures what is there."""
        return sum([there[group] * chance for group, chance in self.cures[key]], 0.0)

    def _spares(self, key: str, there: "list[float]") -> float:
        """Minutes that the repair spares later: of a come-back, and of the cure then."""
        back, cure = self.come_back, self.cure
        return sum([there[group] * chance * (back + cure[group]) for group, chance in self.cures[key]], 0.0)

    def _firsts(self, seen: "list[float]") -> "list[str]":
        gains = {key: self._gain(key, seen) for key in self.offered}
        likely = [key for key in self.offered if gains[key] >= LEAST]
        ratio = {key: gains[key] / self.minutes([key], self.found) for key in likely}
        return sorted(likely, key=lambda key: (-round(ratio[key], EVEN), key))[:FIRSTS]

    def _besides(self, later: "list[float]") -> "list[tuple[str, float]]":
        """Repairs with the minutes that they spare of what no proof sees, the best for its cost first."""
        spared = [(key, self._spares(key, later)) for key in self.offered]
        likely = [(key, minutes) for key, minutes in spared if minutes >= LEAST * self.come_back]
        ratio = {key: minutes / self.minutes([key], self.found) for key, minutes in likely}
        return sorted(likely, key=lambda item: (-round(ratio[item[0]], EVEN), item[0]))

    def _sequence(self, seen: "list[float]", first: "list[str]") -> "Steps":
        """Each time the repair that cures most for its cost, as long as that is worth it; none is made twice.

        Args:
            first: repairs of the first step, where they are given.
        """
        steps: Steps = []
        there = seen
        best = first or self._next(there, 1.0, [])
        while best:
            steps.append(best)
            left = self.left(best)
            there = [there[k] * left[k] for k in range(len(left))]
            failed = min(sum(there), 1.0)
            done = [key for step in steps for key in step]
            best = self._next(there, failed, done) if len(steps) < STEPS else []
        return steps

    def _next(self, there: "list[float]", failed: float, done: "list[str]") -> "list[str]":
        best: list[str] = []
        most = 0.0
        for key in self.offered:
            cost = self.minutes([key], self.found)
            ratio = round(self._gain(key, there) / cost, EVEN)
            if key not in done and ratio > most and self._spares(key, there) > cost * failed:
                best, most = [key], ratio
        return best


def _share(group: "dict[str, Any]") -> float:
    causes = group["causes"]
    total = sum([causes[key][0] for key in sorted(causes)])
    return sum([causes[key][1] for key in sorted(causes)]) / total if total else 1.0


def _joined(first: "list[str]", more: "list[str]") -> "list[str]":
    return first + [key for key in more if key not in first]
