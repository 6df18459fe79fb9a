"""What of a case counts: which answers mean anything, and which checks can be made here and now."""

from typing import TYPE_CHECKING, TypedDict

if TYPE_CHECKING:
    from collections.abc import Mapping
    from typing import Any

    from pwa.engine.evidence.decide import Prices
    from pwa.engine.evidence.network import Evidence, Model

    Finding = dict[str, Any]  # a finding of the compiled model
    # What was answered: an outcome, or `outcome` with the `state` of assembly in which it was seen and, where
    # a number lay near its limit, `weights`: how likely that number is under each outcome.
    Answers = dict[str, str | dict[str, Any]]

DRIVES = ("electric", "pneumatic", "hydraulic")
ASSEMBLED = "assembled"
WORDS = {"cold": "a cold engine", "hot": "a warm engine", "bay": "the bay", "turbo off": "the turbo off"}
# What is seen of the mechanism changes with its state of assembly; what is asked or read as a code does not.
TIMELESS = ("asked", "codes")


class Situation(TypedDict):
    """Where the truck stands: `heat` is "", "cold" or "hot"; `without` are tools not at hand, `opened` the
    openings already made, `skipped` the findings put off.
    """

    drive: str
    place: str
    state: str
    heat: str
    without: "list[str]"
    opened: "list[str]"
    skipped: "list[str]"
    prices: "Prices | None"


def situation(known: "Mapping[str, Any]") -> Situation:
    """A situation from what is known of it; the rest is as it mostly is."""
    return {
        "drive": known.get("drive", "electric"),
        "place": known.get("place", "bay"),
        "state": known.get("state", ASSEMBLED),
        "heat": known.get("heat", ""),
        "without": known.get("without", []),
        "opened": known.get("opened", []),
        "skipped": known.get("skipped", []),
        "prices": known.get("prices"),
    }


def given(model: "Model", drive: str) -> "Evidence":
    """What is known of every job: the complaint, and that causes of another drive are not there.

    Raises:
        ValueError: the model knows no such drive.
    """
    if drive not in DRIVES:
        raise ValueError(f"The model knows no drive {drive!r}.")
    known: Evidence = {}
    for item in model["variables"]:
        if item["kind"] in ("cause", "effect") and drive not in item["drives"]:
            known[item["name"]] = "no"
        if item["kind"] == "finding" and item["given"]:
            known[item["name"]] = item["given"]
    return known


def outcome(said: "str | dict[str, Any]") -> str:
    return said if isinstance(said, str) else str(said.get("outcome", ""))


def counted(findings: "dict[str, Finding]", answers: "Answers", here: Situation) -> "Evidence":
    """The answers that mean anything for this drive and in the state of assembly they were seen in.

    Raises:
        ValueError: a finding or outcome is unknown, or weights are not likelihoods.
    """
    evidence: Evidence = {}
    for name, said in answers.items():
        key = outcome(said)
        if name not in findings or key not in findings[name]["states"]:
            raise ValueError(f"The model knows no finding {name} with the outcome {key}.")
        state = here["state"] if isinstance(said, str) else said.get("state", here["state"])
        if means_something(findings[name], here["drive"], state):
            weights = None if isinstance(said, str) else said.get("weights")
            evidence[name] = weights or key
    return evidence


def means_something(item: "Finding", drive: str, state: str) -> bool:
    """Whether an answer can tell anything: what no cause shows, and what every job has, tells nothing."""
    seen = item["state"] in ("any", state) or item["way"] in TIMELESS
    return bool(seen and item["shown_by"] and not item["given"] and drive in item["drives"])


def open_checks(findings: "dict[str, Finding]", answers: "Answers", here: Situation) -> "list[Finding]":
    """The findings that can still be answered in this state of assembly, each with what it `needs` first."""
    left = []
    for name, item in findings.items():
        if (
            name not in answers
            and name not in here["skipped"]
            and means_something(item, here["drive"], here["state"])
        ):
            copy = item.copy()
            copy["needs"] = _needs(item, here)
            left.append(copy)
    return sorted(left, key=lambda item: str(item["name"]))


def _needs(item: "Finding", here: Situation) -> "list[str]":
    """What it lacks here and now, in words."""
    needs = []
    apart = here["state"] != ASSEMBLED and "turbo off" in item["places"]
    if here["place"] not in item["places"] and not apart:
        needs.append(WORDS[item["places"][0]] if item["places"][0] in WORDS else item["places"][0])
    if here["heat"] and item["heat"] not in ("any", here["heat"]):
        needs.append(WORDS[item["heat"]])
    return needs + [tool for tool in item["tools"] if tool in here["without"]]
