"""Which check saves most for the minutes it costs.

What a check saves is its value of information (Howard 1966) over the repair decision, exactly: what the
cheapest sequence of repairs costs now, less what it is expected to cost once the outcome is known (Heckerman,
Breese and Rommelse 1995). One check alone often changes no decision although two would. So checks are ranked,
and it is decided whether to go on, by what they promise: the same, with each cost known to some minutes only,
which makes the least of them smooth (log-sum-exp).

A check costs its own minutes and what must be opened for it. An opening is paid for once, so checks behind
the same one share its minutes by what they promise.
"""

from math import exp, log
from typing import TYPE_CHECKING, TypedDict

from pwa.engine.evidence.truck import BACK

if TYPE_CHECKING:
    from pwa.engine.evidence.case import Finding
    from pwa.engine.evidence.decide import Stakes, Steps
    from pwa.engine.evidence.network import Pass, Weights
    from pwa.engine.evidence.reasons import Pointer

SPREAD = 45.0  # minutes to which a plan's cost counts as known; chosen by simulation, see tests/bench
EVEN = 9  # decimals in which two values must differ to be ranked; then the key decides, everywhere alike
ALIKE = 6  # decimals of minutes in which two sequences must differ; then the first one counts
QUICK = (
    0.5  # minutes that a check counts as at least when it is ranked: what is asked is free, and is shown so
)
NOTHING = 0.01  # minutes; less is a difference of rounding
LITTLE = 15.0  # minutes of cure at stake below which no outcome is asked how it moves them
NOW = ""  # in place of a finding's name: nothing further is known
LIKELY = 0.05  # chance of an outcome below which it is not said what it would change


class Outcome(TypedDict):
    key: str
    label: str


class Change(TypedDict):
    """How probable an outcome is, and the repairs that it would bring to the first step and take from it."""

    outcome: str
    chance: float
    more: "list[str]"
    less: "list[str]"


class Check(TypedDict):
    """`saves`, `promises` and `minutes` are minutes, openings included; `worth` is what it promises a minute.
    `opens` must come off first and `closes` must be put back; `needs` says what it lacks here and now.
    `speaks`, in words `why`, is what outcomes speak for; `changes` are the outcomes that would change the
    first step; they are worked out for the best checks only.
    """

    finding: str
    answers: "list[str]"  # itself, or all that it answers at one go
    name: str
    question: str
    outcomes: "list[Outcome]"
    worth: float
    saves: float
    promises: float
    minutes: float
    opens: "list[str]"
    closes: "list[str]"
    needs: "list[str]"
    tools: "list[str]"
    caution: "list[str]"
    speaks: "list[Pointer]"
    why: str
    changes: "list[Change]"


class Weighing:
    """The sequences of repairs that can be best, with what each costs now and after every outcome."""

    def __init__(
        self, stakes: "Stakes", whole: "Pass", chances: "dict[str, float]", open_ones: "list[Finding]"
    ) -> None:
        self.stakes, self.whole = stakes, whole
        self._findings = {item["name"]: item for item in open_ones}
        self._names = [item["name"] for item in open_ones]
        self._known: dict[tuple[tuple[float, ...], tuple[float, ...]], dict[str, list[float]]] = {}
        self._bases: dict[bool, tuple[Pass, Weights]] = {}
        self._costs: dict[str, tuple[list[float], list[list[float]]]] = {}
        self._alone = [self._group(number, chances) for number in range(len(stakes.groups))]
        self.plans = stakes.candidates(chances)
        there = self._there(NOW, [1.0])
        self.now = [
            stakes.expected(steps, [1.0], self.chance, there, [stakes.found])[0] for steps in self.plans
        ]

    def best(self) -> "tuple[Steps, float]":
        """The sequence that costs least as things stand, and its expected cost."""
        number = _least(self.now)
        return self.plans[number], self.now[number]

    def chance(self, seen: "list[float]", later: "list[float]") -> "list[float]":
        """As things stand; see `decide.Chance`."""
        return self._told(seen, later)[NOW]

    def outcomes(self, finding: str) -> "tuple[list[float], list[list[float]]]":
        """The chance of each outcome, and what each sequence costs, joint with each outcome."""
        if finding not in self._costs:
            stakes, item = self.stakes, self._findings[finding]
            each = [p / self.whole.total for p in self.whole.joint(finding)]
            places, there = item["locates"], self._there(finding, each)
            found = [stakes.found + stakes.places(places.get(state, [])) for state in item["states"]]

            def chance(seen: "list[float]", later: "list[float]") -> "list[float]":
                return self._told(seen, later)[finding]

            costs = [stakes.expected(steps, each, chance, there, found) for steps in self.plans]
            self._costs[finding] = each, costs
        return self._costs[finding]

    def saves(self, finding: str) -> float:
        """Expected minutes that knowing the outcome saves: what the best sequence costs now and will then."""
        each, costs = self.outcomes(finding)
        saved = min(self.now) - sum([min([cost[k] for cost in costs]) for k in range(len(each))])
        return saved if saved > NOTHING else 0.0

    def promises(self, finding: str) -> float:
        """As `saves`, as if each cost were known to some minutes only: other checks may follow this one."""
        each, costs = self.outcomes(finding)
        now = _soft(self.now, SPREAD)
        saved = now - sum([_soft([cost[k] for cost in costs], SPREAD * each[k]) for k in range(len(each))])
        return saved if saved > NOTHING else 0.0

    def changes(self, finding: str, labels: "list[Outcome]") -> "list[Change]":
        """The outcomes not rare after which another step comes first; none if it was not weighed."""
        if finding not in self._findings:
            return []
        first = _first(self.best()[0])
        found: list[Change] = []
        each, costs = self.outcomes(finding)
        for k in range(len(each)):
            then = _first(self.plans[_least([cost[k] for cost in costs])])
            if each[k] >= LIKELY and then != first:
                more = [key for key in then if key not in first]
                less = [key for key in first if key not in then]
                found.append({"outcome": labels[k]["key"], "chance": each[k], "more": more, "less": less})
        return found

    def _group(self, number: int, chances: "dict[str, float]") -> "Pass | float":
        """What is left without the causes of a group; or, where little is at stake, how many there are."""
        causes = self.stakes.groups[number]["causes"]
        there: float = sum([chances[cause] * causes[cause][0] for cause in sorted(causes)], 0.0)
        if there * self.stakes.cure[number] < LITTLE:
            return there
        return self.whole.vary(self.stakes.back(number), self._names)

    def _there(self, finding: str, each: "list[float]") -> "list[list[float]]":
        """For each group and outcome the chance that a cause of it would be seen, or come back."""
        found = []
        for alone in self._alone:
            if isinstance(alone, float):
                found.append([alone * p for p in each])
            else:
                without = self._joint(alone, finding)
                found.append([max(each[k] - without[k], 0.0) for k in range(len(each))])
        return found

    def _told(self, seen: "list[float]", later: "list[float]") -> "dict[str, list[float]]":
        """The chance under these weights, now and with each outcome of each open check."""
        key = (tuple(seen), tuple(later))
        if key not in self._known:
            there = self._pass(seen, later)
            self._known[key] = {name: self._joint(there, name) for name in self._names + [NOW]}
        return self._known[key]

    def _joint(self, there: "Pass", finding: str) -> "list[float]":
        joint = [there.total] if finding == NOW else there.joint(finding)
        return [p / self.whole.total for p in joint]

    def _pass(self, seen: "list[float]", later: "list[float]") -> "Pass":
        """Most causes weigh the same each time, so only the others are told to the network anew."""
        ever, stakes = any(later), self.stakes
        if ever not in self._bases:
            there = [1.0] * len(seen)
            weights = stakes.weights(there, there if ever else [0.0] * len(seen))
            self._bases[ever] = self.whole.vary(weights, None), weights
        base, before = self._bases[ever]
        now = stakes.weights(seen, later)
        changed = {
            cause: [1.0, now[cause][1] / before[cause][1]]
            for cause in sorted(now)
            if now[cause][1] != before[cause][1]
        }
        return base.vary(changed, self._names)


def _least(costs: "list[float]") -> int:
    """Which is the least, the first of equal ones."""
    even = [round(cost, ALIKE) for cost in costs]
    return even.index(min(even))


def _soft(costs: "list[float]", spread: float) -> float:
    """The least of these costs, as if each were known to `spread` only; 0 for an outcome that cannot be."""
    if spread <= 0:
        return 0.0
    best = min(costs)
    return best - spread * log(sum([exp((best - cost) / spread) for cost in costs]))


def _first(steps: "Steps") -> "list[str]":
    return steps[0] if steps else []


def checks(left: "list[Finding]", weighing: Weighing, opened: "dict[str, float]") -> "list[Check]":
    """The findings `left`, with `needs` among their fields, most minutes saved a minute first.

    Args:
        opened: minutes of each step in the `opens` of a finding, see `case.minutes_of_steps`.
    """
    promises = {item["name"]: weighing.promises(item["name"]) for item in left}
    behind: dict[str, float] = {}
    for item in left:
        for opening in item["opens"]:
            behind[opening] = behind.get(opening, 0.0) + promises[item["name"]]
    found: list[Check] = []
    for item in left:
        promise = promises[item["name"]]
        shared = [
            opened[key] * promise / behind[key] for key in item["opens"] if key in opened and behind[key]
        ]
        worth = promise / (max(item["minutes"], QUICK) + sum(shared))
        found.append(_check(item, weighing.saves(item["name"]), promise, worth, opened))
    return sorted(found, key=lambda check: (-round(check["worth"], EVEN), check["finding"]))


def is_free(item: "Finding") -> bool:
    """Whether it takes neither minutes nor an opening: it is only asked."""
    return not item["minutes"] and not item["opens"]


def unweighed(left: "list[Finding]", opened: "dict[str, float]") -> "list[Check]":
    """Checks that are not worth weighing, in their order."""
    return [_check(item, 0.0, 0.0, 0.0, opened) for item in left]


def _check(item: "Finding", saves: float, promises: float, worth: float, opened: "dict[str, float]") -> Check:
    to_open = [opening for opening in item["opens"] if opening in opened]
    return {
        "finding": item["name"],
        "answers": [item["name"]],
        "name": item["label"],
        "question": item["question"],
        "outcomes": item["outcomes"],
        "worth": worth,
        "saves": saves,
        "promises": promises,
        "minutes": item["minutes"] + sum([opened[key] for key in to_open]),
        "opens": [key for key in to_open if not key.startswith(BACK)],
        "closes": [key[len(BACK) :] for key in to_open if key.startswith(BACK)],
        "needs": item["needs"],
        "tools": item["tools"],
        "caution": item["caution"],
        "speaks": [],
        "why": "",
        "changes": [],
    }
