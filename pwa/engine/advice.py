"""What the evidence says, and which check tells most for the minutes it costs.

The worth of a check is the mutual information (Shannon 1948), in bits, between its outcome and the standing
and between its outcome and each leading suspect, divided by its minutes. It comes from one propagation for
each state of the standing and each leading suspect, whatever the number of checks. Reasons are changes in
log odds when one answer is withdrawn (Good 1950, weight of evidence). The conflict measure is that of Jensen
et al. 1990: answers that fit together are more probable together than apart.
"""

from math import log
from typing import TYPE_CHECKING, TypedDict

from pwa.engine.network import Tree

if TYPE_CHECKING:
    from typing import Any

    Model = dict[str, Any]
    Evidence = dict[str, str]

LEADING = 3  # suspects that the checks are asked to tell apart
STANDING = ("electrical", "mechanical", "both", "neither")
NAMES = ("electrical only", "mechanical only", "both", "neither")
# How sure, in words with a stated meaning.
SURE = (
    (0.95, "nearly certain (over 95 %)"),
    (0.80, "likely (80 to 95 %)"),
    (0.60, "more likely than not (60 to 80 %)"),
    (0.0, "open (no more than 60 % for any)"),
)
CONFLICT_BITS = 1.0  # answers half as probable together as apart; our estimate
TINY = 1e-12
EVEN = 9  # decimals in which two values must differ to be ranked; then the key decides, everywhere alike


class Suspect(TypedDict):
    cause: str
    name: str
    fault: str
    p: float


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


class Reason(TypedDict):
    """`moves` are changes in log odds (natural logarithm) of each side having a fault."""

    finding: str
    outcome: str
    moves: "dict[str, float]"
    sentence: str


class Isolation(TypedDict):
    standing: "dict[str, float]"
    upstream: float
    suspects: "list[Suspect]"
    checks: "list[Check]"
    reasons: "list[Reason]"
    sure: str
    conflict: str  # "" when the answers fit together


def isolate(model: "Model", evidence: "Evidence", situation: "dict[str, Any]") -> Isolation:
    """Where the evidence stands and what to do next.

    Args:
        evidence: finding -> outcome.
        situation: `drive`, `place`, `state` of assembly, `skipped` findings.

    Raises:
        ValueError: a finding or outcome is unknown, or the answers cannot all be true.
    """
    findings = {item["name"]: item for item in model["variables"] if item["kind"] == "finding"}
    for name, outcome in evidence.items():
        if name not in findings or outcome not in findings[name]["states"]:
            raise ValueError(f"The model knows no finding {name} with the outcome {outcome}.")
    given = _absent_causes(model, situation["drive"])
    counted = {
        name: outcome
        for name, outcome in evidence.items()
        if findings[name]["state"] == situation["state"] and situation["drive"] in findings[name]["drives"]
    }
    tree, total = _collected(model, given, counted)
    standing = [p / total for p in tree.at_root("standing")]
    tree.distribute()
    suspects = _suspects(model, tree, total, situation["drive"])
    upstream = tree.joint("any-upstream")[1] / total
    left = [item for item in findings.values() if _possible(item, counted, situation)]
    checks = _checks(model, tree, total, standing, left, suspects[:LEADING], given, counted)
    reasons, fit = _reasons(model, given, counted, standing, total, findings)
    return {
        "standing": {STANDING[n]: standing[n] for n in range(len(STANDING))},
        "upstream": upstream,
        "suspects": suspects,
        "checks": checks,
        "reasons": reasons,
        "sure": _sure(standing),
        "conflict": fit,
    }


def _absent_causes(model: "Model", drive: str) -> "Evidence":
    """Causes that a truck with this drive does not have."""
    return {
        item["name"]: "no"
        for item in model["variables"]
        if item["kind"] == "cause" and drive not in item["drives"]
    }


def _collected(model: "Model", given: "Evidence", counted: "Evidence") -> "tuple[Tree, float]":
    tree = Tree(model)
    tree.enter(given)
    tree.enter(counted)
    total = tree.collect()
    if total <= 0:
        raise ValueError("These answers contradict each other: no cause explains them. Check one again.")
    return tree, total


def _suspects(model: "Model", tree: Tree, total: float, drive: str) -> "list[Suspect]":
    found: list[Suspect] = []
    for item in model["variables"]:
        if item["kind"] == "cause" and drive in item["drives"]:
            p = tree.joint(item["name"])[1] / total
            found.append({"cause": item["name"], "name": item["label"], "fault": item["fault"], "p": p})
    return sorted(found, key=lambda suspect: (-round(suspect["p"], EVEN), suspect["cause"]))


def _possible(item: "dict[str, Any]", counted: "Evidence", situation: "dict[str, Any]") -> bool:
    return (
        item["name"] not in counted
        and item["name"] not in situation["skipped"]
        and item["state"] == situation["state"]
        and situation["place"] in item["places"]
        and situation["drive"] in item["drives"]
    )


def _checks(
    model: "Model",
    tree: Tree,
    total: float,
    standing: "list[float]",
    left: "list[dict[str, Any]]",
    suspects: "list[Suspect]",
    given: "Evidence",
    counted: "Evidence",
) -> "list[Check]":
    """All checks that are left, most bits a minute first."""
    names = [item["name"] for item in left]
    plain = {name: [p / total for p in tree.joint(name)] for name in names}
    bits = {name: _entropy(plain[name]) * (1 + len(suspects)) for name in names}
    for n in range(len(STANDING)):
        if standing[n] > TINY:
            tree.distribute("standing", STANDING[n])
            for name in names:
                bits[name] -= standing[n] * _entropy(_shares(tree.joint(name)))
    shown: list[dict[str, list[float]]] = []
    for suspect in suspects:
        with_it, without = _given_suspect(model, names, plain, suspect, given, counted)
        shown.append(with_it)
        for name in names:
            bits[name] -= suspect["p"] * _entropy(with_it[name])
            bits[name] -= (1 - suspect["p"]) * _entropy(without[name])
    checks: list[Check] = []
    for item in left:
        name = item["name"]
        checks.append(
            {
                "finding": name,
                "name": item["label"],
                "question": item["question"],
                "outcomes": item["outcomes"],
                "worth": max(bits[name], 0.0) / max(item["minutes"], 1.0),
                "minutes": item["minutes"],
                "tools": item["tools"],
                "caution": item["caution"],
                "why": _why([1 - seen[name][0] for seen in shown], suspects),
            }
        )
    return sorted(checks, key=lambda check: (-round(check["worth"], EVEN), check["finding"]))


def _given_suspect(
    model: "Model",
    names: "list[str]",
    plain: "dict[str, list[float]]",
    suspect: Suspect,
    given: "Evidence",
    counted: "Evidence",
) -> "tuple[dict[str, list[float]], dict[str, list[float]]]":
    """P(outcomes) of each finding if the suspect is there, and if it is not (what remains of the whole)."""
    assumed = dict(counted)
    assumed[suspect["cause"]] = "yes"
    tree, total = _collected(model, given, assumed)
    tree.distribute()
    with_it = {name: [p / total for p in tree.joint(name)] for name in names}
    rest = max(1 - suspect["p"], TINY)
    without = {}
    for name in names:
        remains = [max(p - suspect["p"] * q, 0.0) / rest for p, q in zip(plain[name], with_it[name])]
        without[name] = _shares(remains)
    return with_it, without


def _why(seen: "list[float]", suspects: "list[Suspect]") -> str:
    """Which two of the leading suspects the check tells apart."""
    if len(seen) < 2:
        return "It bears on what is most suspected."
    rounded = [round(p, EVEN) for p in seen]
    most, least = rounded.index(max(rounded)), rounded.index(min(rounded))
    if seen[most] - seen[least] < 0.1:
        return "It tells whether the leading suspects are in it at all."
    return (
        f"{suspects[most]['name']} would show it in {100 * seen[most]:.0f} %, "
        f"{suspects[least]['name'].lower()} in {100 * seen[least]:.0f} %."
    )


def _reasons(
    model: "Model",
    given: "Evidence",
    counted: "Evidence",
    standing: "list[float]",
    total: float,
    findings: "dict[str, dict[str, Any]]",
) -> "tuple[list[Reason], str]":
    """How far each answer moved the two sides, and whether one of them does not fit the others."""
    reasons: list[Reason] = []
    misfit, worst = 0.0, ""
    prior, prior_total = _collected(model, given, {})
    prior.distribute()
    apart = 0.0
    for name in sorted(counted):
        outcome = counted[name]
        others = {key: value for key, value in counted.items() if key != name}
        tree, without = _collected(model, given, others)
        before = [p / without for p in tree.at_root("standing")]
        moves = {
            "electrical": _log_odds(standing[0] + standing[2]) - _log_odds(before[0] + before[2]),
            "mechanical": _log_odds(standing[1] + standing[2]) - _log_odds(before[1] + before[2]),
        }
        item = findings[name]
        reasons.append({"finding": name, "outcome": outcome, "moves": moves, "sentence": _moved(item, moves)})
        alone = prior.joint(name)[item["states"].index(outcome)] / prior_total
        apart += _bits(alone)
        surprise = _bits(alone) - _bits(total / without)  # bits that the others speak against this answer
        if surprise > misfit:
            misfit, worst = surprise, item["label"]
    together = _bits(total / prior_total)
    fits = apart - together <= CONFLICT_BITS or not worst
    return reasons, "" if fits else f"These answers do not fit together well. Check “{worst}” again."


def _moved(item: "dict[str, Any]", moves: "dict[str, float]") -> str:
    parts = []
    for side in ("electrical", "mechanical"):
        if abs(moves[side]) >= 0.26:
            way = "up" if moves[side] > 0 else "down"
            parts.append(f"the odds of {side} go {way} {_times(abs(moves[side]))}")
    return f"{item['label']}: " + (", ".join(parts) if parts else "moves little") + "."


def _times(size: float) -> str:
    factor = 2.718281828459045**size
    return f"{factor:.1f} times" if factor < 10 else f"{factor:.0f} times"


def _sure(standing: "list[float]") -> str:
    best = standing.index(max(standing))
    for least, words in SURE:
        if standing[best] >= least:
            return f"{NAMES[best][0].upper()}{NAMES[best][1:]}: {words}."
    return ""


def _shares(numbers: "list[float]") -> "list[float]":
    total = sum(numbers)
    return [number / total for number in numbers] if total > 0 else numbers


def _entropy(chances: "list[float]") -> float:
    return -sum([p * log(p) for p in chances if p > TINY]) / log(2)


def _bits(chance: float) -> float:
    return log(max(chance, TINY)) / log(2)


def _log_odds(chance: float) -> float:
    bounded = min(max(chance, TINY), 1 - TINY)
    return log(bounded / (1 - bounded))
