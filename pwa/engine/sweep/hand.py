"""The hand sweep: does the position signal follow the lever, from stop to stop?

Terms: ANSI/ISA-51.1 and ANSI/ISA-75.25.01 (travel, span, dead band); their wording is from memory. The sensor
works from 10 to 90 % of its reference (common practice). The thresholds are our estimates.
"""

from typing import TYPE_CHECKING, TypedDict

from pwa.engine.electrical import circuits

if TYPE_CHECKING:
    from collections.abc import Callable

JUMP = 10.0  # % of the reference by which one step may differ from its even share of the change
STILL = 0.5  # % of the reference: less is no movement of the signal
STUCK = 20.0  # % of the lever's way without a movement of the signal that calls it lost motion
END = 7.5  # % of the sensor's travel at either end that counts as reaching it
FEWEST = 3  # points, without which there is nothing between the stops


class Jump(TypedDict):
    """One step that is no even share of the whole change. `change` is in % of the reference."""

    start: float  # position before it
    end: float  # position after it
    change: float


class Sweep(TypedDict):
    """`pattern` is "none", "electrical", "mechanical", "either" or "no signal"."""

    travel: float  # % of the sensor's
    reaches_low: bool
    reaches_high: bool
    monotonic: bool
    jumps: "list[Jump]"
    stuck: float  # longest part of the lever's way on which the signal stands still, %
    dropouts: int  # points below 5 or above 95 % of the reference
    pattern: str
    sentence: str


def hand_sweep(points: "list[list[float]]", reference: float, jump: float = JUMP) -> Sweep:
    """What points [lever position, volts] of one slow sweep in one direction say.

    The position has any unit, but is even; `jump` is in % of the reference.

    Raises:
        ValueError: fewer than three points, two at one position, or volts that the line cannot give.
    """
    swept = sorted(points, key=lambda point: point[0])
    if len(swept) < FEWEST:
        raise ValueError(f"A sweep needs at least {FEWEST} points: both stops and one between them.")
    if any(swept[index][0] == swept[index + 1][0] for index in range(len(swept) - 1)):
        raise ValueError("Two points stand at the same position; write each position once.")
    live = [point for point in swept if circuits.band(point[1], reference) == "in-range"]
    percents = [circuits.ratiometric(volts, reference) for _, volts in live] or [0.0]
    found: Sweep = {
        "travel": max(percents) - min(percents),
        "reaches_low": bool(live) and min(percents) <= END,
        "reaches_high": max(percents) >= 100 - END,
        "monotonic": _monotonic(swept, reference),
        "jumps": _jumps(swept, reference, jump),
        "stuck": _stuck(swept, reference),
        "dropouts": len(swept) - len(live),
        "pattern": "",
        "sentence": "",
    }
    found["pattern"], found["sentence"] = _judge(found)
    return found


def _changes(swept: "list[list[float]]", reference: float) -> "list[float]":
    """Change of the signal from point to point, in % of the reference."""
    return [100 * (swept[index + 1][1] - swept[index][1]) / reference for index in range(len(swept) - 1)]


def _monotonic(swept: "list[list[float]]", reference: float) -> bool:
    changes = _changes(swept, reference)
    return all(change > -STILL for change in changes) or all(change < STILL for change in changes)


def _jumps(swept: "list[list[float]]", reference: float, limit: float) -> "list[Jump]":
    """Steps that differ by more than `limit` from what an even signal would do over the same way."""
    way = swept[-1][0] - swept[0][0]
    whole = 100 * (swept[-1][1] - swept[0][1]) / reference
    jumps: list[Jump] = []
    for index, change in enumerate(_changes(swept, reference)):
        start, end = swept[index][0], swept[index + 1][0]
        # A step too small is lost motion, not a jump; one too large or the wrong way is.
        even = whole * (end - start) / way
        backward = change * whole < 0
        if (backward or abs(change) > abs(even)) and abs(change - even) > limit:
            jumps.append({"start": start, "end": end, "change": change})
    return jumps


def _stuck(swept: "list[list[float]]", reference: float) -> float:
    """The longest part of the way, in %, over which the signal stays where it was when the part began."""
    longest, first = 0.0, 0
    for index in range(1, len(swept)):
        while 100 * abs(swept[index][1] - swept[first][1]) / reference >= STILL:
            first += 1
        longest = max(longest, swept[index][0] - swept[first][0])
    return 100 * longest / (swept[-1][0] - swept[0][0])


def _judge(found: Sweep) -> "tuple[str, str]":
    """Pattern and sentence: the first rule that holds, the surest first."""
    for holds, pattern, sentence in RULES:
        if holds(found):
            return pattern, sentence
    return "none", "The signal follows the lever evenly over the sensor's whole travel."


RULES: "list[tuple[Callable[[Sweep], bool], str, str]]" = [
    (
        lambda found: found["dropouts"] > 0,
        "electrical",
        "The signal drops out of its range on the way: an electrical pattern. Look at wires and pins first.",
    ),
    (
        lambda found: found["stuck"] > 100 - STILL,
        "no signal",
        "The signal never moved. See that the lever moves the sensor, then measure reference and ground.",
    ),
    (
        lambda found: bool(found["jumps"]) or not found["monotonic"],
        "electrical",
        "The signal jumps while the lever moves evenly: an electrical pattern, the sensor or a connector.",
    ),
    (
        lambda found: found["stuck"] >= STUCK,
        "either",
        "The lever moves and the signal stands still for a while: lost motion in the link, or a worn sensor.",
    ),
    (
        lambda found: not (found["reaches_low"] and found["reaches_high"]),
        "mechanical",
        "The signal is even but stops short of an end: a mechanical pattern, if the lever stops there too.",
    ),
]
