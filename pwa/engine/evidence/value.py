"""Which check saves most for the minutes it costs.

The worth of a check is the value of information (Howard 1966) over the repair decision: what the cheapest
plan costs now, less what it is expected to cost once the outcome is known (Heckerman, Breese and Rommelse
1995). One check alone often changes no decision although two would; so the costs of plans count as known only
to some minutes, which makes the least of them smooth (log-sum-exp).

A check costs its own minutes and what must be opened for it. An opening is paid for once, so checks behind
the same one share its minutes by what they are worth.
"""

from typing import TYPE_CHECKING, TypedDict

from pwa.engine.evidence.truck import BACK

if TYPE_CHECKING:
    from pwa.engine.evidence.case import Finding
    from pwa.engine.evidence.decide import Stakes
    from pwa.engine.evidence.network import Pass
    from pwa.engine.evidence.reasons import Pointer

SPREAD = 45.0  # minutes to which a plan's cost counts as known; chosen by simulation, see tests/bench
LITTLE = 25.0  # minutes at stake below which a group of causes is not weighed for checks
EVEN = 9  # decimals in which two values must differ to be ranked; then the key decides, everywhere alike
QUICK = (
    0.5  # minutes that a check counts as at least when it is ranked: what is asked is free, and is shown so
)
NOTHING = 0.01  # minutes; less is a difference of rounding
STILL = 2e-4  # change in a chance that is worth less than half a minute
LIKELY = 0.05  # chance of an outcome below which it is not said what it would change


class Outcome(TypedDict):
    key: str
    label: str


class Change(TypedDict):
    """How probable an outcome is, and the repairs that it would add to the plan and take from it."""

    outcome: str
    chance: float
    more: "list[str]"
    less: "list[str]"


class Check(TypedDict):
    """`saves` and `minutes` are minutes, openings included; `worth` is what it saves a minute. `opens` must
    come off first and `closes` must be put back; `needs` says what it lacks here and now. `speaks`, in words
    `why`, is what outcomes speak for; `changes` are the outcomes that would change the plan; they are worked
    out for the best checks only.
    """

    finding: str
    answers: "list[str]"  # itself, or all that it answers at one go
    name: str
    question: str
    outcomes: "list[Outcome]"
    worth: float
    saves: float
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
    """The chance of each group's come-back, alone and together with every outcome of every open check."""

    def __init__(self, stakes: "Stakes", whole: "Pass", open_ones: "list[str]") -> None:
        self.stakes, self.whole = stakes, whole
        self._clear: list[Pass | None] = []
        self.chances: list[float] = []
        for group in range(len(stakes.groups)):
            bound = stakes.bound(group, whole)
            at_stake = min(bound, stakes.cures[group])
            clear = whole.vary(stakes.weights(group), open_ones) if at_stake > LITTLE else None
            self._clear.append(clear)
            rare = bound / stakes.losses[group]
            self.chances.append(rare if clear is None else max(1 - clear.total / whole.total, 0.0))
        members = [plans[0][1] for plans in stakes.components]  # the plan of no repair leaves them all
        self._members = [
            groups if any(self._clear[group] is not None for group in groups) else [] for groups in members
        ]
        self._now = [
            stakes.soft(number, self.chances, 1.0, SPREAD) if self._members[number] else 0.0
            for number in range(len(members))
        ]

    def outcomes(self, finding: str) -> "tuple[list[float], list[list[float]]]":
        """The chance of each outcome, and for each group that of its come-back joint with each outcome."""
        total = self.whole.total
        each = [p / total for p in self.whole.joint(finding)]
        groups = []
        for number in range(len(self._clear)):
            clear = self._clear[number]
            if clear is None:
                groups.append([self.chances[number] * p for p in each])
            else:
                without = clear.joint(finding)
                groups.append([max(each[k] - without[k] / total, 0.0) for k in range(len(each))])
        return each, groups

    def saves(self, finding: str) -> float:
        """Expected minutes that knowing the outcome saves."""
        each, groups = self.outcomes(finding)
        saved = 0.0
        for number in range(len(self._members)):
            if self._moved(self._members[number], each, groups):
                later = [
                    self.stakes.soft(number, [group[k] for group in groups], each[k], SPREAD)
                    for k in range(len(each))
                ]
                saved += self._now[number] - sum(later)
        return saved if saved > NOTHING else 0.0

    def _moved(self, members: "list[int]", each: "list[float]", groups: "list[list[float]]") -> bool:
        """Whether any outcome moves any of these groups; what none moves is worth nothing and takes time."""
        for group in members:
            joint, chance = groups[group], self.chances[group]
            for k in range(len(each)):
                if abs(joint[k] - chance * each[k]) > STILL:
                    return True
        return False

    def changes(self, finding: str, labels: "list[Outcome]") -> "list[Change]":
        """The outcomes that are not rare and after which another plan is best."""
        now = self.stakes.best(self.chances)
        found: list[Change] = []
        each, groups = self.outcomes(finding)
        for k in range(len(each)):
            p = each[k]
            plan = self.stakes.best([group[k] for group in groups], p)
            if p >= LIKELY and plan != now:
                more = [key for key in plan if key not in now]
                less = [key for key in now if key not in plan]
                found.append({"outcome": labels[k]["key"], "chance": p, "more": more, "less": less})
        return found


def checks(left: "list[Finding]", weighing: Weighing, opened: "dict[str, float]") -> "list[Check]":
    """The findings `left`, with `needs` among their fields, most minutes saved a minute first.

    Args:
        opened: minutes of each step in the `opens` of a finding, see `case.minutes_of_steps`.
    """
    saves = {item["name"]: weighing.saves(item["name"]) for item in left}
    behind: dict[str, float] = {}
    for item in left:
        for opening in item["opens"]:
            behind[opening] = behind.get(opening, 0.0) + saves[item["name"]]
    found: list[Check] = []
    for item in left:
        saved = saves[item["name"]]
        shared = [opened[key] * saved / behind[key] for key in item["opens"] if key in opened and behind[key]]
        worth = saved / (max(item["minutes"], QUICK) + sum(shared))
        found.append(_check(item, saved, worth, opened))
    return sorted(found, key=lambda check: (-round(check["worth"], EVEN), check["finding"]))


def is_free(item: "Finding") -> bool:
    """Whether it takes neither minutes nor an opening: it is only asked."""
    return not item["minutes"] and not item["opens"]


def unweighed(left: "list[Finding]", opened: "dict[str, float]") -> "list[Check]":
    """Checks that are not worth weighing, in their order."""
    return [_check(item, 0.0, 0.0, opened) for item in left]


def _check(item: "Finding", saves: float, worth: float, opened: "dict[str, float]") -> Check:
    to_open = [opening for opening in item["opens"] if opening in opened]
    return {
        "finding": item["name"],
        "answers": [item["name"]],
        "name": item["label"],
        "question": item["question"],
        "outcomes": item["outcomes"],
        "worth": worth,
        "saves": saves,
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
