"""The state of the truck: what is off, pulled, drained or disconnected, what that forbids, what it spoils.

The state is the set of openings that are made. A check may need some of them made (`opens`) and others closed
again (`closed`); and while one is open, it may forbid the key, a start, a load or the road, which the check
needs (`running`).
"""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping
    from typing import Any

    Finding = dict[str, Any]  # a finding of the compiled model
    Openings = Mapping[str, Any]  # of the compiled model

ASSEMBLED, APART = "assembled", "turbine housing off"  # the states of assembly that older notes know
HOUSING, TURBO = "turbine-housing", "turbo"  # the openings that stand for them
BENCH = "turbo off"  # the place of what is seen of an open turbo alone
RUNNING = ("off", "key on", "idle", "load", "road")  # each takes in what stands before it
FORBIDS = {"key on": 1, "start": 2, "load": 3, "road": 4, "nothing": 5}  # from which of RUNNING on
BACK = "back "  # before an opening's key: the step of putting it back
# What is seen of the truck changes with its state; what is asked or read as a code does not.
TIMELESS = ("asked", "codes")


def opened(known: "Mapping[str, Any]") -> "list[str]":
    """The openings of a case: an older `state` of assembly and the place of an open turbo are some too."""
    found = list(known.get("opened", []))
    if known.get("state", ASSEMBLED) == APART and HOUSING not in found:
        found.append(HOUSING)
    if known.get("place") == BENCH and HOUSING not in found and TURBO not in found:
        found.append(TURBO)
    return found


def state_of(opened: "list[str]") -> str:
    """The state of assembly in the words of older notes."""
    return APART if HOUSING in opened else ASSEMBLED


def opened_with(opened: "list[str]", openings: "Openings") -> "list[str]":
    """What is open while these are: an opening holds those that had to be made before it."""
    found = {key for other in opened if other in openings for key in openings[other]["with"]}
    return sorted(found, key=lambda key: int(openings[key]["order"]))


def forbidden(forbids: str, running: str) -> bool:
    """Whether an opening that forbids this keeps the engine from doing that."""
    return RUNNING.index(running) >= FORBIDS[forbids]


def spoilt(
    item: "Finding", said: "str | dict[str, Any]", now: "list[str]", openings: "Openings"
) -> "list[str]":
    """The openings for which an answer means nothing: open when it was seen although it wants them closed,
    or the turbine housing, if it was on and what lies behind it is said.
    """
    if item["way"] in TIMELESS:
        return []
    seen = _seen(said, now, openings)
    behind = [HOUSING] if HOUSING in item["opens"] and HOUSING not in seen else []
    return [key for key in item["closed"] if key in seen] + behind


def _seen(said: "str | dict[str, Any]", now: "list[str]", openings: "Openings") -> "list[str]":
    """What was open when an answer was seen. A plain one was seen in the state of the truck now; an older
    note knows the turbine housing and nothing else.
    """
    if isinstance(said, str) or (said.get("opened") is None and not said.get("state")):
        return opened_with(now, openings)
    if said.get("opened") is not None:
        return opened_with(said["opened"], openings)
    return [HOUSING] if said["state"] == APART else []


def seen_state(item: "Finding", said: "dict[str, Any]", openings: "Openings") -> str:
    """The state in which an answer was seen, as a case code carries it: in the words of older notes, or the
    first opening that keeps the answer from counting. What else was open then decides nothing.
    """
    seen = said.get("opened")
    if seen is None:
        return str(said.get("state") or ASSEMBLED)
    if HOUSING in seen:
        return APART
    wrong = spoilt(item, said, [], openings)
    return wrong[0] if wrong and wrong[0] != HOUSING else ASSEMBLED


def to_close(item: "Finding", opened: "list[str]", openings: "Openings") -> "list[str]":
    """What is open and must be put back before a check: what it wants closed, what forbids the engine to do
    what it needs, and whatever stands in the way of putting those back.
    """
    if item["way"] == "asked":
        return []
    shut = [
        key for key in opened if key in item["closed"] or forbidden(openings[key]["forbids"], item["running"])
    ]
    return [key for key in opened if any(other in shut for other in openings[key]["with"])]


def steps(item: "Finding", opened: "list[str]", openings: "Openings") -> "list[str]":
    """What must be taken off, and put `BACK`, before a check, in order."""
    off = [key for key in item["opens"] if key not in opened]
    return off + [BACK + key for key in to_close(item, opened, openings)]


def minutes_of_steps(openings: "Openings", opened: "list[str]") -> "dict[str, float]":
    """The minutes of each of `steps`."""
    made = opened_with(opened, openings)
    minutes = {key: openings[key]["minutes"] for key in openings if key not in made}
    for key in made:
        minutes[BACK + key] = openings[key]["back"]
    return minutes
