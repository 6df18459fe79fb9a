"""What of a case counts: which answers mean anything, and which checks can be made here and now."""

from typing import TYPE_CHECKING, TypedDict

from pwa.engine.evidence import stops, truck

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from typing import Any

    from pwa.engine.evidence.decide import Prices
    from pwa.engine.evidence.network import Evidence, Model
    from pwa.engine.evidence.stops import Stop
    from pwa.engine.evidence.truck import Openings

    Finding = dict[str, Any]  # a finding of the compiled model
    # What was answered: an outcome, or `outcome` with what was `opened` when it was seen (older notes say the
    # `state` of assembly alone) and, where a number lay near its limit, `weights`: how likely that number is
    # under each outcome.
    Answers = dict[str, str | dict[str, Any]]

NOT_KNOWN = "not known"
DRIVES = ("electric", "pneumatic", "hydraulic", NOT_KNOWN)
COMPLAINT = "power-lost"  # the finding that is the complaint of a job that names none
# How likely it is that power is lost where only complaints that stand alone were named; our estimate.
UNNAMED = 0.15
NOT_FITTED = "not-fitted"  # the outcome by which a truck does not have what a check looks at
WORDS = {"cold": "a cold engine", "hot": "a warm engine", "bay": "the bay", truck.BENCH: "the turbo open"}
TYPE = "to know the actuator type"


class Situation(TypedDict):
    """Where the truck stands: `heat` is "", "cold" or "hot"; `without` are tools not at hand, `opened` the
    openings already made, `skipped` the findings put off; `lifted` are stop rules that were put right, and
    `stops` those that stand, None where they are still to be worked out. `complaints` are findings that the
    job began with.
    """

    drive: str
    complaints: "list[str]"
    place: str
    heat: str
    without: "list[str]"
    opened: "list[str]"
    skipped: "list[str]"
    lifted: "list[str]"
    stops: "list[Stop] | None"
    prices: "Prices | None"


def situation(known: "Mapping[str, Any]") -> Situation:
    """A situation from what is known of it; the rest is as it mostly is."""
    return {
        "drive": known.get("drive", "electric"),
        "complaints": known.get("complaints") or [COMPLAINT],
        "place": known.get("place", "bay"),
        "heat": known.get("heat", ""),
        "without": known.get("without", []),
        "opened": truck.opened(known),
        "skipped": known.get("skipped", []),
        "lifted": known.get("lifted", []),
        "stops": known.get("stops"),
        "prices": known.get("prices"),
    }


def of_type(drives: "Sequence[str]", drive: str) -> bool:
    """Whether what belongs to these types of actuator can be on this truck."""
    return drive == NOT_KNOWN or drive in drives


def absent(model: "Model", drive: str, lacking: "list[str] | None" = None) -> "Evidence":
    """The causes that a truck with this type of actuator and without these parts cannot have.

    Raises:
        ValueError: the model knows no such type.
    """
    if drive not in DRIVES:
        raise ValueError(f"The model knows no actuator type {drive!r}.")
    return {
        item["name"]: "no"
        for item in model["variables"]
        if item["kind"] in ("cause", "effect")
        and not (of_type(item["drives"], drive) and item.get("part") not in (lacking or []))
    }


def given(
    model: "Model", drive: str, complaints: "list[str] | None" = None, lacking: "list[str] | None" = None
) -> "Evidence":
    """What is known of a job before any answer: its complaints, and what is absent; errors as `absent`.

    Raises:
        ValueError: the model knows no such complaint.
    """
    known, said = absent(model, drive, lacking), complaints or [COMPLAINT]
    possible = {item["name"]: item for item in model["variables"] if item.get("given")}
    for name in said:
        if name not in possible:
            raise ValueError(f"The model knows no complaint {name!r}.")
        known[name] = possible[name]["given"]
    power = possible.get(COMPLAINT)
    if power and COMPLAINT not in said and all(possible[name].get("alone") for name in said):
        known[COMPLAINT] = {state: UNNAMED if state == power["given"] else 1.0 for state in power["states"]}
    return known


def lacking(findings: "dict[str, Finding]", answers: "Answers") -> "list[str]":
    """The parts that the truck does not have, by these answers."""
    found: list[str] = []
    for name in sorted(answers):
        if name in findings:
            found += findings[name].get("lacks", {}).get(outcome(answers[name]), [])
    return found


def types(findings: "dict[str, Finding]", answers: "Answers", here: Situation) -> "list[str]":
    """The types of actuator that the truck can have: who has checked an air line has seen one."""
    if here["drive"] != NOT_KNOWN:
        return [here["drive"]]
    left = [drive for drive in DRIVES if drive != NOT_KNOWN]
    for name in sorted(answers):
        if name in findings:
            missing = outcome(answers[name]) == NOT_FITTED
            fits = [drive for drive in left if missing or drive in findings[name]["drives"]]
            left = fits or left
    return left


def outcome(said: "str | dict[str, Any]") -> str:
    return said if isinstance(said, str) else str(said.get("outcome", ""))


def counted(
    findings: "dict[str, Finding]", answers: "Answers", here: Situation, openings: "Openings"
) -> "Evidence":
    """The answers that mean anything for this drive and in the state of the truck they were seen in.

    Raises:
        ValueError: a finding or outcome is unknown, or weights are not likelihoods.
    """
    evidence: Evidence = {}
    missing = lacking(findings, answers)
    for name, said in answers.items():
        key = outcome(said)
        if name in findings and key == NOT_FITTED and key in findings[name].get("lacks", {}):
            continue
        if name not in findings or key not in findings[name]["states"]:
            raise ValueError(f"The model knows no finding {name} with the outcome {key}.")
        item, fitted = findings[name], findings[name].get("part") not in missing
        counts = fitted and means_something(item, here["drive"], here["complaints"])
        if counts and not truck.spoilt(item, said, here["opened"], openings):
            weights = None if isinstance(said, str) else said.get("weights")
            evidence[name] = weights or key
    return evidence


def means_something(item: "Finding", drive: str, complaints: "list[str] | None" = None) -> bool:
    """Whether an answer can tell anything: what no cause shows and what the job began with tells nothing."""
    new = item["name"] not in (complaints or [COMPLAINT])
    return bool(new and item["shown_by"] and of_type(item["drives"], drive))


def stopped(model: "Model", answers: "Answers", here: Situation) -> "list[Stop]":
    """The stop rules that stand for these answers and for what is off the truck."""
    if here["stops"] is not None:
        return here["stops"]
    said = {name: [outcome(answers[name])] for name in answers}
    opened = truck.opened_with(here["opened"], model["openings"])
    return stops.standing(model["stops"], said, opened, here["lifted"])


def open_checks(
    findings: "dict[str, Finding]", answers: "Answers", here: Situation, openings: "Openings"
) -> "list[Finding]":
    """The findings that can still be answered, each with what it `needs` first, and in `opens` the steps that
    take something off or put it back for it.
    """
    left = []
    opened = truck.opened_with(here["opened"], openings)
    missing, kinds = lacking(findings, answers), types(findings, answers, here)
    for name, item in findings.items():
        if (
            name not in answers
            and name not in here["skipped"]
            and item.get("part") not in missing
            and means_something(item, here["drive"], here["complaints"])
        ):
            copy = item.copy()
            copy["needs"] = (
                stops.against(item, here["stops"] or [])
                + _needs(item, here, kinds, opened)
                + [
                    f"{openings[key]['name']}: put back ({openings[key]['back']:g} min)"
                    for key in truck.to_close(item, opened, openings)
                ]
            )
            copy["opens"] = truck.steps(item, opened, openings)
            left.append(copy)
    return sorted(left, key=lambda item: str(item["name"]))


def _needs(item: "Finding", here: Situation, kinds: "list[str]", opened: "list[str]") -> "list[str]":
    """What it lacks here and now, in words. A check of one type of actuator waits for that type."""
    needs = [] if all(kind in item["drives"] for kind in kinds) else [TYPE]
    apart = truck.BENCH in item["places"] and (truck.HOUSING in opened or truck.TURBO in opened)
    if here["place"] not in item["places"] and not apart:
        needs.append(WORDS[item["places"][0]] if item["places"][0] in WORDS else item["places"][0])
    if here["heat"] and item["heat"] not in ("any", here["heat"]):
        needs.append(WORDS[item["heat"]])
    return needs + [tool for tool in item["tools"] if tool in here["without"]]
