"""What the evidence says: where it stands, who is suspected, what to check next, and why.

All of it comes from a handful of propagations, however many answers and checks there are: one of the whole,
one without any fault of each side, one without each leading suspect. What a side's faults do is the whole
less what is left without them.
"""

from typing import TYPE_CHECKING, TypedDict

from pwa.engine import reasons, worth
from pwa.engine.network import Tree

if TYPE_CHECKING:
    from typing import Any

    from pwa.engine.network import Evidence, Model, Pass
    from pwa.engine.reasons import Reason
    from pwa.engine.worth import Check

LEADING = 3  # suspects that the checks are asked to tell apart
SETTLED = 0.95  # a suspect that is more probable needs no further check
RAISED = 1.25  # an upstream cause is looked for once the answers have raised it by this factor
STANDING = ("electrical", "mechanical", "both", "neither")
NAMES = ("Electrical only", "Mechanical only", "Both", "Neither")
# How sure, in words with a stated meaning.
SURE = (
    (0.95, "nearly certain (over 95 %)"),
    (0.80, "likely (80 to 95 %)"),
    (0.60, "more likely than not (60 to 80 %)"),
    (0.0, "open (no more than 60 % for any)"),
)
EVEN = 9  # decimals in which two values must differ to be ranked; then the key decides, everywhere alike


class Suspect(TypedDict):
    cause: str
    name: str
    fault: str
    p: float


class Isolation(TypedDict):
    """`standing` adds up to 1; `upstream` is the probability of any upstream cause beside it."""

    standing: "dict[str, float]"
    upstream: float
    suspects: "list[Suspect]"  # most probable first
    checks: "list[Check]"  # best first
    reasons: "list[Reason]"
    sure: str
    conflict: str  # "" when the answers fit together
    uncounted: "list[str]"  # findings that prove nothing in this state of assembly or with this drive


def isolate(model: "Model", evidence: "Evidence", situation: "dict[str, Any]") -> Isolation:
    """Where the evidence stands and what to do next.

    Args:
        evidence: finding -> outcome.
        situation: `drive`, `place`, `state` of assembly, `skipped` findings.

    Raises:
        ValueError: a finding, outcome or drive is unknown, or the answers cannot all be true.
    """
    findings = {item["name"]: item for item in model["variables"] if item["kind"] == "finding"}
    counted = _counted(model, findings, evidence, situation)
    tree, whole = _propagated(model, counted, situation)
    causes = {question["name"]: question["any_of"] for question in model["questions"]}
    electrical, mechanical = causes["any-electrical"], causes["any-mechanical"]
    left = [item for item in findings.values() if _possible(item, counted, situation)]
    answered, open_ones = list(counted), [item["name"] for item in left]
    free = {
        "electrical": tree.propagate(electrical, answered + open_ones),
        "mechanical": tree.propagate(mechanical, answered + open_ones),
        "upstream": tree.propagate(causes["any-upstream"], answered),
    }
    standing = _standing(whole, free, tree.probability(electrical + mechanical))
    usual = model["usual"][situation["drive"]]
    found = _suspects(model, whole, situation["drive"])
    leading = _leading(found, usual["marginals"])
    names = [item["name"] for item in leading]
    cleared = [tree.propagate([item["cause"]], open_ones) for item in leading]
    return {
        "standing": {STANDING[n]: standing[n] for n in range(len(STANDING))},
        "upstream": max(1 - free["upstream"].total / whole.total, 0.0),
        "suspects": found,
        "checks": worth.checks(left, whole, [free["electrical"], free["mechanical"]], names, cleared),
        "reasons": reasons.reasons(findings, counted, whole, free),
        "sure": _sure(standing),
        "conflict": reasons.conflict(findings, counted, whole, usual),
        "uncounted": sorted([name for name in evidence if name not in counted]),
    }


def suspects(model: "Model", evidence: "Evidence", situation: "dict[str, Any]") -> "list[Suspect]":
    """The suspects of `isolate` alone, at a fifth of its time; arguments and errors are the same."""
    findings = {item["name"]: item for item in model["variables"] if item["kind"] == "finding"}
    counted = _counted(model, findings, evidence, situation)
    return _suspects(model, _propagated(model, counted, situation)[1], situation["drive"])


def _propagated(model: "Model", counted: "Evidence", situation: "dict[str, Any]") -> "tuple[Tree, Pass]":
    tree = Tree(model)
    tree.enter(given(model, situation["drive"]))
    tree.enter(counted)
    whole = tree.propagate()
    if whole.total <= 0:
        raise ValueError("These answers contradict each other: no cause explains them. Check one again.")
    return tree, whole


def _standing(whole: "Pass", free: "dict[str, Pass]", neither: float) -> "list[float]":
    """The four standings by inclusion and exclusion, in the order of `STANDING`."""
    no_electrical, no_mechanical = free["electrical"].total, free["mechanical"].total
    parts = [
        no_mechanical - neither,
        no_electrical - neither,
        whole.total - no_electrical - no_mechanical + neither,
        neither,
    ]
    return [max(part / whole.total, 0.0) for part in parts]


def _counted(
    model: "Model",
    findings: "dict[str, dict[str, Any]]",
    evidence: "Evidence",
    situation: "dict[str, Any]",
) -> "Evidence":
    """The answers that mean anything for this drive and in this state of assembly."""
    if situation["drive"] not in model["usual"]:
        raise ValueError(f"The model knows no drive {situation['drive']!r}.")
    counted = {}
    for name, outcome in evidence.items():
        if name not in findings or outcome not in findings[name]["states"]:
            raise ValueError(f"The model knows no finding {name} with the outcome {outcome}.")
        if _means_something(findings[name], situation):
            counted[name] = outcome
    return counted


def given(model: "Model", drive: str) -> "Evidence":
    """What is known of every job: the complaint, and that causes of another drive are not there."""
    known = {}
    for item in model["variables"]:
        if item["kind"] == "cause" and drive not in item["drives"]:
            known[item["name"]] = "no"
        if item["kind"] == "finding" and item["given"]:
            known[item["name"]] = item["given"]
    return known


def _suspects(model: "Model", whole: "Pass", drive: str) -> "list[Suspect]":
    found: list[Suspect] = []
    for item in model["variables"]:
        if item["kind"] == "cause" and drive in item["drives"]:
            p = whole.joint(item["name"])[1] / whole.total
            found.append({"cause": item["name"], "name": item["label"], "fault": item["fault"], "p": p})
    return sorted(found, key=lambda suspect: (-round(suspect["p"], EVEN), suspect["cause"]))


def _leading(suspects: "list[Suspect]", usual: "dict[str, list[float]]") -> "list[Suspect]":
    """The suspects worth telling apart: open ones, and of what is upstream only what the answers point to."""
    pool = [
        item
        for item in suspects
        if item["p"] < SETTLED
        and (item["fault"] != "upstream" or item["p"] > RAISED * usual[item["cause"]][1])
    ]
    return pool[:LEADING]


def _possible(item: "dict[str, Any]", counted: "Evidence", situation: "dict[str, Any]") -> bool:
    return (
        _means_something(item, situation)
        and item["name"] not in counted
        and item["name"] not in situation["skipped"]
        and situation["place"] in item["places"]
    )


def _means_something(item: "dict[str, Any]", situation: "dict[str, Any]") -> bool:
    """Whether an answer to this finding can tell anything: what is given of every job tells nothing new."""
    return not item["given"] and item["state"] == situation["state"] and situation["drive"] in item["drives"]


def _sure(standing: "list[float]") -> str:
    best = standing.index(max(standing))
    for least, words in SURE:
        if standing[best] >= least:
            return f"{NAMES[best]}: {words}."
    return ""
