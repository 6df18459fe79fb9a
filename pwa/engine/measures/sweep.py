"""Command against position: a table taken step by step, or a trace of samples, to an outcome.

Outcomes: "follows", "slow", "sticks", "jumps", "short"; "" where the sweep cannot tell. Jumps, dropouts and
values out of band are an electrical pattern; standing still at a place, friction and an end that is not
reached are a mechanical one. The first spoils the rest, so it is looked for first.
"""

from typing import TYPE_CHECKING

from pwa.engine.measures.declared import Calculation, rows
from pwa.engine.measures.verdict import detail, verdict
from pwa.engine.sweep import stepped, trace

if TYPE_CHECKING:
    from pwa.engine.measures.verdict import Detail, Values, Verdict
    from pwa.engine.sweep.step_response import Step
    from pwa.engine.sweep.stepped import Stepped
    from pwa.engine.sweep.trace import Trace

    Finding = tuple[str, str]

WIDE = 80.0  # % of command, below which a sweep says little about the ends
SHOWN = 3  # places that a sentence names
FOLLOWS = "The position follows the command from end to end: neither an electrical nor a mechanical pattern."
FOLLOWS_PARTLY = "The position follows the command as far as it was driven; the ends were not tried."
NEVER_HELD = (
    "Nothing sticks or jumps, but the command was never held: how fast and how far the position follows "
    "stays unknown. Record steps that are held for some seconds."
)
STILL = (
    "The position never moved. A seized mechanism, an actuator without drive and a frozen signal look the "
    "same here: sweep the lever by hand, and measure supply and signal."
)


def table(values: "Values", limits: "Values") -> "Verdict":
    """Position at rest at each command, up and down: travel, dead band, hysteresis, linearity and more."""
    found = stepped.analyse(values["rows"], limits["still"], limits["jump"], limits["low"], limits["high"])
    outcome, sentence = _of_table(found, limits)
    warnings: list[str] = []
    if found["hysteresis"] is None:
        warnings.append("There is no way back in the table: dead band and hysteresis stay unknown.")
    if found["asked"] < WIDE:
        warnings.append(f"The command covers {found['asked']:.0f} % only: the ends stay unknown.")
    return verdict(found["travel"], "%", outcome, sentence, _told(found), warnings)


def samples(values: "Values", limits: "Values") -> "Verdict":
    """Time, command and position, sampled: how fast, where it stands, what leaps, where it comes to rest."""
    found = trace.analyse(
        values["rows"], limits["still"], limits["jump"], limits["low"], limits["high"], limits["hold"]
    )
    rests = found["rests"]
    commands = [row[1] for row in values["rows"]]
    positions = [row[2] for row in values["rows"] if limits["low"] <= row[2] <= limits["high"]]
    travel, asked = max(positions) - min(positions), max(commands) - min(commands)
    curve = _curve(rests, limits)
    outcome, sentence = _of_trace(found, curve, travel, asked, limits)
    details = [
        detail("Travel", travel, "%"),
        detail("Command covers", asked, "%"),
        detail("Samples", found["samples"], ""),
        detail("Usual time between samples", found["interval"], "s"),
    ]
    details += _times(found["steps"])
    details += _told(curve)[2:] if curve else []
    details.append(detail("Samples out of range", found["outside"], ""))
    details.append(detail("Times standing away from the command", len(found["stops"]), ""))
    return verdict(travel, "%", outcome, sentence, details, _doubts(found, asked, limits))


def _of_table(found: "Stepped", limits: "Values") -> "Finding":
    for finding in (
        _stray(found["outside"], [f"{jump['command']:.0f} %" for jump in found["jumps"]]),
        ("", STILL) if found["travel"] < limits["still"] else None,
        _short(found["low_gap"], found["high_gap"], found["asked"], limits),
        _held(
            [
                f"{stop['position']:.0f} %"
                for stop in found["stuck"]
                if abs(stop["end"] - stop["start"]) >= limits["stuck"]
            ]
        ),
        _friction(found, limits),
    ):
        if finding:
            return finding
    return "follows", FOLLOWS if found["asked"] >= WIDE else FOLLOWS_PARTLY


def _of_trace(
    found: "Trace", curve: "Stepped | None", travel: float, asked: float, limits: "Values"
) -> "Finding":
    leaps = [f"{leap['time']:.2f} s" for leap in found["leaps"]]
    if asked < trace.APART:
        finding = _stray(found["outside"], leaps)
        return finding or (
            "",
            "The command hardly changed: drive it from end to end while recording, and give it in per cent.",
        )
    for finding in (
        _stray(found["outside"], leaps),
        ("", STILL) if travel < limits["still"] else None,
        _short_of_rests(found["rests"], limits),
        _held([f"{stop['position']:.0f} %" for stop in found["stops"]]),
        _friction(curve, limits) if curve else None,
        _slow(found["steps"], limits),
    ):
        if finding:
            return finding
    if len(found["rests"]) < 2 and not any(step["t63"] is not None for step in found["steps"]):
        return "", NEVER_HELD
    return "follows", FOLLOWS if asked >= WIDE else FOLLOWS_PARTLY


def _stray(outside: int, leaps: "list[str]") -> "Finding | None":
    if outside:
        return "jumps", (
            f"The position is out of its range {outside} times, where no mechanism can be: an electrical "
            "pattern. Look at wires, pins and the sensor first."
        )
    if leaps:
        return "jumps", (
            f"The position jumps away from the command (at {_list(leaps)}): an electrical pattern, the "
            "sensor or a connector. The mechanism can only follow or stay behind."
        )
    return None


def _short_of_rests(rests: "list[list[float]]", limits: "Values") -> "Finding | None":
    if not rests:
        return None
    low, high = min([row[0] for row in rests]), max([row[0] for row in rests])
    return _short(stepped.gap_at(rests, low), stepped.gap_at(rests, high), high - low, limits)


def _short(low_gap: float, high_gap: float, asked: float, limits: "Values") -> "Finding | None":
    """An end that is not reached, if the command went there."""
    if asked < WIDE:
        return None
    ends = [("low", low_gap), ("high", high_gap)]
    missed = [f"the {name} end by {gap:.0f} %" for name, gap in ends if gap > limits["end"]]
    if not missed:
        return None
    return "short", (
        f"The position misses {' and '.join(missed)}: a mechanical pattern if it moves evenly up to there, "
        "or stops that were never learned."
    )


def _held(places: "list[str]") -> "Finding | None":
    if not places:
        return None
    return "sticks", (
        f"The position stands still at {_list(places)} while the command goes on: a mechanical pattern, "
        "something binds there."
    )


def _friction(found: "Stepped", limits: "Values") -> "Finding | None":
    if found["hysteresis"] is None or found["hysteresis"] <= limits["hysteresis"]:
        return None
    return "sticks", (
        f"Up and down differ by {found['hysteresis']:.1f} %, more than {limits['hysteresis']:g} %: a "
        "mechanical pattern, friction or play in the linkage."
    )


def _slow(steps: "list[Step]", limits: "Values") -> "Finding | None":
    times = [step["t63"] for step in steps if step["t63"] is not None]
    if not times or max(times) - max([step["interval"] for step in steps]) <= limits["slow"]:
        return None
    return "slow", (
        f"The position takes {max(times):.2f} s for 63 % of a step, more than {limits['slow']:g} s, and gets "
        "there: a mechanical pattern such as friction, or a weak drive. Compare cold and warm."
    )


def _curve(rests: "list[list[float]]", limits: "Values") -> "Stepped | None":
    """What the places of rest say as a stepped table, if they are enough for one."""
    try:
        return stepped.analyse(rests, limits["still"], limits["jump"], limits["low"], limits["high"])
    except ValueError:
        return None


def _told(found: "Stepped") -> "list[Detail]":
    """What is known of a table, the travel and the command first."""
    bound = f" ({found['resolution_is']})" if found["resolution_is"] else ""
    told = [
        ("Travel", found["travel"]),
        ("Command covers", found["asked"]),
        ("Greatest departure from the command", found["error"]),
        ("that is at a command of", found["error_at"]),
        ("Dead band", found["dead_band"]),
        ("Hysteresis with dead band", found["hysteresis"]),
        ("Departure from a straight line", found["linearity"]),
        ("Resolution" + bound, found["resolution"]),
        ("Repeatability", found["repeatability"]),
    ]
    return [detail(label, value, "%") for label, value in told if value is not None]


def _times(steps: "list[Step]") -> "list[Detail]":
    """The slowest of each time, and the greatest overshoot."""
    told: list[Detail] = [detail("Steps of the command", len(steps), "")] if steps else []
    for label, times in (
        ("Dead time, longest", [step["dead_time"] for step in steps]),
        ("T63, longest", [step["t63"] for step in steps]),
        ("T86, longest", [step["t86"] for step in steps]),
    ):
        known = [time for time in times if time is not None]
        if known:
            told.append(detail(label, max(known), "s"))
    if steps:
        told.append(detail("Overshoot, greatest", max([step["overshoot"] for step in steps]), "%"))
    return told


def _doubts(found: "Trace", asked: float, limits: "Values") -> "list[str]":
    moved = [step for step in found["steps"] if step["t63"] is not None]
    coarse = moved and max([step["interval"] for step in moved]) > limits["slow"] / 4
    said = [
        (not moved, "There is no held step of the command: times cannot be read."),
        (coarse, "The samples are far apart: the times are no surer than one sample."),
        (
            not all(step["settled"] for step in moved),
            "Not every step was held until the position came to rest.",
        ),
        (
            found["holes"],
            f"{found['holes']} times no samples came: the network or the recorder, look there too.",
        ),
        (asked < WIDE, f"The command covers {asked:.0f} % only: the ends stay unknown."),
    ]
    return [sentence for holds, sentence in said if holds]


def _list(places: "list[str]") -> str:
    shown, seen = [], set()  # a noisy signal has ten thousands of places
    for place in places:
        if place not in seen:
            seen.add(place)
            shown.append(place)
    return ", ".join(shown[:SHOWN]) + (f" and {len(shown) - SHOWN} more" if len(shown) > SHOWN else "")


RANGE = {"end": "%", "hysteresis": "%", "jump": "%", "still": "%", "low": "%", "high": "%"}
COMMANDED = (("command", "percent"), ("position", "percent"))
CALCULATIONS: "dict[str, Calculation]" = {
    "table": Calculation(
        table, (rows("rows", *COMMANDED),), dict(RANGE, stuck="%"), ("follows", "sticks", "jumps", "short")
    ),
    "samples": Calculation(
        samples,
        (rows("rows", ("time", "time"), *COMMANDED),),
        dict(RANGE, slow="s", hold="s"),
        ("follows", "slow", "sticks", "jumps", "short"),
    ),
}
