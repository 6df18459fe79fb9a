"""What the evidence says: where it stands, who is suspected, what to check next, what to repair, and why.

All of it comes from a few propagations, however many answers and checks there are: one of the whole, and
from it one without any fault of each side and some for each sequence of repairs that can be the best.
"""

from typing import TYPE_CHECKING, TypedDict

from pwa.engine.evidence import case, conflict, reasons, scan, shortlist, sides, truck, value
from pwa.engine.evidence.decide import CONFIDENT, Stakes
from pwa.engine.evidence.mixture import Mixture
from pwa.engine.evidence.network import Tree, none
from pwa.engine.evidence.value import Weighing

if TYPE_CHECKING:
    from collections.abc import Mapping
    from typing import Any

    from pwa.engine.evidence.case import Answers, Finding, Situation
    from pwa.engine.evidence.decide import Plan, Step
    from pwa.engine.evidence.network import Evidence, Model, Pass, Weights
    from pwa.engine.evidence.reasons import Reason
    from pwa.engine.evidence.sides import System
    from pwa.engine.evidence.stops import Stop
    from pwa.engine.evidence.value import Check

WEIGHED = 14  # checks that are weighed exactly; the rest are less promising
ASKED = 6  # of those that are only asked, so that they keep no measurement from being weighed
LATER = 6  # of those that lack something here and now
STOP = 0.5  # a check is worth it while it promises this much of its minutes; see tests/bench
TOLD = 8  # checks for which it is worked out what they would change
USEFUL = 0.01  # chance of curing anything below which a repair is no option
ASSUMED = 0.1  # an upstream cause more probable than this is named beside a repair that needs it fixed
EVEN = 9  # decimals in which two values must differ to be ranked; then the key decides, everywhere alike


class Suspect(TypedDict):
    cause: str
    name: str
    system: str
    upstream: bool
    p: float


class Option(TypedDict):
    """One repair alone: its cost in minutes, of which `search` for the place of the fault, the chance that it
    cures anything, and that the truck is not well or comes back all the same, as things are and with what is
    upstream put right too. `assumes` are upstream causes.
    """

    repair: str
    name: str
    cost: float
    search: float
    cures: float
    comes_back: float
    with_upstream: float
    assumes: "list[Suspect]"


class Isolation(TypedDict):
    """`stops` are the rules that stand above all else here. `standing` adds up to 1; `outside` says which
    systems "not the VGT" means, and `upstream` is the probability of any upstream cause beside all that.
    `later` are checks that lack something here and now. `enough` says that no check is worth its minutes any
    more.
    """

    stops: "list[Stop]"
    standing: "dict[str, float]"
    outside: "list[System]"  # most probable first
    upstream: float
    suspects: "list[Suspect]"  # most probable first
    chances: "dict[str, float]"  # of every cause and effect
    checks: "list[Check]"  # best first
    later: "list[Check]"  # best first
    plan: "Plan"
    enough: bool
    reasons: "list[Reason]"
    sure: str
    conflict: str  # "" when the answers fit together
    uncounted: "list[str]"  # findings that prove nothing in this state of assembly or with this drive


def isolate(model: "Model", answers: "Answers", known: "Mapping[str, Any]") -> Isolation:
    """Where the evidence stands and what to do next.

    Args:
        answers: finding -> outcome; see `case.Answers`.
        known: of the situation; see `case.Situation`.

    Raises:
        ValueError: a finding, outcome or drive is unknown, or the answers cannot all be true.
    """
    here = case.situation(known)
    findings = _findings(model)
    evidence = case.counted(findings, answers, here, model["openings"])
    whole = _propagated(model, evidence, here, answers)
    any_of = {question["name"]: question["any_of"] for question in model["questions"]}
    free = {side: whole.vary(none(any_of["any-" + side]), list(evidence)) for side in sides.SIDES}
    neither = whole.vary(none(any_of["any-control"] + any_of["any-mechanism"]), [])
    standing = sides.standing(whole, free, neither)
    told = {name: case.outcome(answers[name]) for name in evidence}
    stakes = Stakes(model, here["drive"], here["prices"], _located(findings, told))
    chances = _chances(model, whole)
    stops = here["stops"] = case.stopped(model, answers, here)
    left = case.open_checks(findings, answers, here, model["openings"])
    to_open = truck.minutes_of_steps(model["openings"], here["opened"])
    left = shortlist.promising(model, left, whole, stakes, to_open)
    left, reads = scan.apart(left, model["scans"], here["skipped"])
    # What cannot be made here and now must not keep what can from being weighed, nor from ending the search.
    able = [item for item in left if not item["needs"]]
    asked = [item for item in able if value.is_free(item)]
    weighed = asked[:ASKED] + [item for item in able if item not in asked][:WEIGHED]
    weighed += [item for item in left if item["needs"]][:LATER]
    weighing = Weighing(stakes, whole, chances, weighed + scan.weighed(reads))
    rest = [item for item in able if item not in weighed]
    ranked = value.checks(weighed, weighing, to_open) + value.unweighed(rest, to_open)
    ranked = scan.among(ranked, weighed, reads, weighing, to_open)
    now = [check for check in ranked if not check["needs"]]
    later = [check for check in ranked if check["needs"] and _is_worth_it(check)]
    _explain(model, now[:TOLD] + later[:TOLD], findings, weighing, whole)
    return {
        "stops": stops,
        "standing": standing,
        "outside": sides.outside(model, whole, neither),
        "upstream": max(1 - whole.probability(none(any_of["any-upstream"])) / whole.total, 0.0),
        "suspects": _suspects(model, whole, here["drive"]),
        "chances": chances,
        "checks": now,
        "later": later,
        "plan": _plan(weighing),
        # What would be worth putting something back for leaves the case open too.
        "enough": not any(_is_worth_it(check) for check in now + only_closed(later)),
        "reasons": reasons.reasons(findings, told, whole, free),
        "sure": sides.as_text(standing),
        "conflict": _conflict(model, findings, evidence, told, whole, here, answers),
        "uncounted": _uncounted(findings, answers, evidence),
    }


def only_closed(later: "list[Check]") -> "list[Check]":
    """Those for which nothing else is wanted than that something is put back."""
    return [check for check in later if len(check["needs"]) == len(check["closes"])]


def suspects(model: "Model", answers: "Answers", known: "Mapping[str, Any]") -> "list[Suspect]":
    """The suspects of `isolate` alone, at a tenth of its time; arguments and errors are the same."""
    here = case.situation(known)
    evidence = case.counted(_findings(model), answers, here, model["openings"])
    return _suspects(model, _propagated(model, evidence, here, answers), here["drive"])


def options(model: "Model", answers: "Answers", known: "Mapping[str, Any]") -> "tuple[Plan, list[Option]]":
    """The best plan, and every repair alone that cures something, the one that leaves least first.

    Arguments and errors as `isolate`.
    """
    here = case.situation(known)
    findings = _findings(model)
    evidence = case.counted(findings, answers, here, model["openings"])
    whole = _propagated(model, evidence, here, answers)
    told = {name: case.outcome(answers[name]) for name in evidence}
    stakes = Stakes(model, here["drive"], here["prices"], _located(findings, told))
    found: list[Option] = []
    for item in model["repairs"]:
        cures = _cures([item["key"]], stakes, whole)
        if cures >= USEFUL:
            found.append(_option(item, cures, model, stakes, whole))
    return (
        _plan(Weighing(stakes, whole, _chances(model, whole), [])),
        sorted(found, key=lambda option: (-round(option["cures"], EVEN), option["repair"])),
    )


def _is_worth_it(check: "Check") -> bool:
    return check["promises"] > STOP * max(check["minutes"], value.QUICK)


def _findings(model: "Model") -> "dict[str, Finding]":
    return {item["name"]: item for item in model["variables"] if item["kind"] == "finding"}


def _propagated(
    model: "Model", evidence: "Evidence", here: "Situation", answers: "Answers", complained: bool = True
) -> "Pass":
    """Beliefs under this evidence; of all `answers` it takes what the truck is and has.

    Args:
        complained: whether the complaint is known.
    """
    findings = _findings(model)
    missing, kinds = case.lacking(findings, answers), case.types(findings, answers, here)
    passes = []
    for drive in kinds:
        tree = Tree(model)
        tree.enter(
            case.given(model, drive, here["complaints"], missing)
            if complained
            else case.absent(model, drive, missing)
        )
        tree.enter(evidence)
        passes.append(tree.propagate())
    factors = {item["key"]: item["factor"] for item in model["actuators"]} if len(kinds) > 1 else {}
    whole = Mixture([(factors[kinds[n]], passes[n]) for n in range(len(kinds))]) if factors else passes[0]
    if whole.total <= 0:
        raise ValueError("These answers contradict each other: no cause explains them. Check one again.")
    return whole


def _suspects(model: "Model", whole: "Pass", drive: str) -> "list[Suspect]":
    found = [
        _suspect(item, whole)
        for item in model["variables"]
        if item["kind"] == "cause" and case.of_type(item["drives"], drive)
    ]
    return sorted(found, key=lambda suspect: (-round(suspect["p"], EVEN), suspect["cause"]))


def _uncounted(findings: "dict[str, Finding]", answers: "Answers", evidence: "Evidence") -> "list[str]":
    """The answers that tell nothing. What asks which parts a truck has tells that, whatever the answer."""
    return sorted(
        [
            name
            for name in answers
            if name not in evidence
            and (findings[name]["shown_by"] or not findings[name].get("lacks"))
            and not case.lacking(findings, {name: answers[name]})
        ]
    )


def _suspect(item: "dict[str, Any]", whole: "Pass") -> Suspect:
    p = whole.joint(item["name"])[1] / whole.total
    return {
        "cause": item["name"],
        "name": item["label"],
        "system": item["system"],
        "upstream": item["upstream"],
        "p": p,
    }


def _explain(
    model: "Model", told: "list[Check]", findings: "dict[str, Finding]", weighing: Weighing, whole: "Pass"
) -> None:
    """Adds to these checks what their outcomes speak for and what they would change."""
    names = {item["name"]: item["label"] for item in model["variables"] if item["kind"] != "helper"}
    for check in told:
        if check["finding"] not in findings:
            check["speaks"] = scan.speaks(check, findings, whole)
            check["why"] = reasons.pointed(check["speaks"], names)
            continue
        item = findings[check["finding"]]
        chances = {cause: whole.joint(cause)[1] / whole.total for cause in item["shown_by"]}
        check["speaks"] = reasons.pointers(item, chances)
        check["why"] = reasons.pointed(check["speaks"], names)
        check["changes"] = weighing.changes(check["finding"], check["outcomes"])


def _plan(weighing: Weighing) -> "Plan":
    """The sequence that costs least, and what becomes of it."""
    stakes = weighing.stakes
    steps, expected = weighing.best()
    told = stakes.follow(steps, [1.0], weighing.chance)
    made: list[Step] = [
        {
            "repairs": step,
            "cost": stakes.minutes(step, stakes.found),
            "search": stakes.searched(step),
            "needed": needed[0],
        }
        for step, needed in told["made"]
    ]
    everything = [key for step in steps for key in step]
    unsolved = 1 - weighing.chance(stakes.left(everything), [0.0] * len(stakes.groups))[0]
    cures = _cures(steps[0], stakes, weighing.whole) if steps else 0.0
    return {
        "steps": made,
        "repairs": everything,
        "cost": sum([step["needed"] * step["cost"] for step in made]),
        "expected": expected,
        "unsolved": max(unsolved, 0.0),
        "comes_back": max(1 - told["well"][0] - unsolved, 0.0),
        "confident": cures >= CONFIDENT,
    }


def _chances(model: "Model", whole: "Pass") -> "dict[str, float]":
    """Of every cause and effect."""
    return {
        item["name"]: whole.joint(item["name"])[1] / whole.total
        for item in model["variables"]
        if item["kind"] in ("cause", "effect")
    }


def _located(findings: "dict[str, Finding]", told: "dict[str, str]") -> "list[str]":
    """The causes whose place the answers show."""
    found: list[str] = []
    for name, outcome in told.items():
        found += findings[name].get("locates", {}).get(outcome, [])
    return found


def _cures(repairs: "list[str]", stakes: Stakes, whole: "Pass") -> float:
    """The chance that anything is there that these repairs cure, and do cure."""
    left = stakes.left([key for key in repairs if key in stakes.cures])
    weights: Weights = {}
    for number in range(len(left)):
        if left[number] < 1:
            for cause in stakes.groups[number]["causes"]:
                weights[cause] = [1.0, left[number]]
    return max(1 - whole.probability(weights) / whole.total, 0.0)


def _option(item: "dict[str, Any]", cures: float, model: "Model", stakes: Stakes, whole: "Pass") -> Option:
    left = stakes.left([item["key"]])
    everything = stakes.weights(left, left)
    with_upstream = {cause: everything[cause] for cause in everything if cause not in item["upstream"]}
    faults = {fault["name"]: fault for fault in model["variables"] if fault["kind"] == "cause"}
    assumed = [_suspect(faults[cause], whole) for cause in item["upstream"]]
    return {
        "repair": item["key"],
        "name": item["name"],
        "cost": stakes.minutes([item["key"]], stakes.found),
        "search": stakes.searched([item["key"]]),
        "cures": cures,
        "comes_back": max(1 - whole.probability(everything) / whole.total, 0.0),
        "with_upstream": max(1 - whole.probability(with_upstream) / whole.total, 0.0),
        "assumes": sorted(
            [suspect for suspect in assumed if suspect["p"] >= ASSUMED],
            key=lambda suspect: (-round(suspect["p"], EVEN), suspect["cause"]),
        ),
    }


def _conflict(
    model: "Model",
    findings: "dict[str, Finding]",
    evidence: "Evidence",
    told: "dict[str, str]",
    whole: "Pass",
    here: "Situation",
    answers: "Answers",
) -> str:
    if not evidence:
        return ""
    before = _propagated(model, {}, here, answers)
    names = conflict.find(
        model, evidence, before, whole, lambda known: _propagated(model, known, here, answers, False)
    )
    return conflict.as_text(names, told, findings)
