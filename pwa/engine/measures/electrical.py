"""Electrical measurements at the actuator: voltage drops, the reference, the position signal, the hand sweep.

Limits are common practice unless the shop enters the maker's; the comparisons are Ohm's law and ratios.
"""

from typing import TYPE_CHECKING

from pwa.engine.electrical import circuits
from pwa.engine.measures.declared import Calculation, maybe, number
from pwa.engine.measures.verdict import detail, verdict
from pwa.engine.sweep import hand

if TYPE_CHECKING:
    from pwa.engine.measures.verdict import Values, Verdict
    from pwa.engine.sweep.hand import Sweep

STOPS = ("stop_a", "quarter", "half", "three_quarters", "stop_b")  # where a sweep is read, evenly spaced


def supply_drop(values: "Values", limits: "Values") -> "Verdict":
    """Battery positive to the actuator's supply pin, under load: V_battery − V_pin."""
    battery, pin = values["battery"], values["pin"]
    if battery <= 0:
        raise ValueError("The battery must show more than 0 V; check the meter and its probes first.")
    if pin < -circuits.NOISE:
        raise ValueError(f"{pin:g} V at the pin is below zero: the probes are swapped.")
    return _drop(battery - pin, limits["drop"], "supply")


def ground_drop(values: "Values", limits: "Values") -> "Verdict":
    """The actuator's ground pin to battery negative, under load, read directly."""
    return _drop(values["drop"], limits["drop"], "ground")


def reference(values: "Values", limits: "Values") -> "Verdict":
    """The sensor's reference against its nominal voltage: within nominal · (1 ± tolerance)."""
    volts, nominal, share = values["reference"], limits["nominal"], limits["tolerance"] / 100
    outcome = circuits.reference_check(volts, nominal, limits["tolerance"])
    words = {
        "ok": "The reference is within its limits.",
        "low": "The reference is low: something on the same circuit may pull it down.",
        "high": "The reference is high: it may touch a supply wire.",
    }
    low, high = nominal * (1 - share), nominal * (1 + share)
    details = [detail("Measured", volts, "V"), detail("From", low, "V"), detail("to", high, "V")]
    return verdict(volts, "V", outcome, words[outcome], details)


def position(values: "Values", limits: "Values") -> "Verdict":
    """Position feedback against the commanded percentage, both at once, the sensor between its two stops.

    With command and signal before a change it also sees a signal that does not move.
    """
    volts, source, command = (
        values["signal"],
        circuits.working_reference(values["reference"], limits["nominal"]),
        values["command"],
    )
    if not 0 <= command <= 100:
        raise ValueError("The command is from 0 to 100 %.")
    working, fault = (limits["low"], limits["high"]), (limits["fault_low"], limits["fault_high"])
    actual = circuits.ratiometric(volts, source, working)
    expected = circuits.expected_volts(command, source, working)
    details = [
        detail("Expected", expected, "V"),
        detail("Measured", volts, "V"),
        detail("That is", actual, "% of travel"),
    ]
    where = circuits.band(volts, source, fault)
    if where != "in-range":
        side = "above" if where == "high-fault" else "below"
        outcome = "out-of-band"
        sentence = f"The signal is {side} anything the sensor can send: look for a broken or touching wire."
    elif _frozen(values, limits, source):
        outcome, sentence = "frozen", "The signal did not move when the command did: frozen."
    else:
        outcome = "follows" if abs(actual - command) <= limits["error"] else "short"
        sentence = f"Commanded {command:g} %, the signal says {actual:.1f} %: " + (
            "the position is reached." if outcome == "follows" else "the position is not reached."
        )
    return verdict(actual, "%", outcome, sentence, details)


def hand_sweep(values: "Values", limits: "Values") -> "Verdict":
    """The lever moved by hand: the signal at both stops and each quarter, and the extremes on the way.

    A jump or a dropout is an electrical pattern; a short travel or a drag that the hand feels, a mechanical
    one. A signal that never moved answers nothing, so its outcome is empty.
    """
    source = circuits.working_reference(values["reference"], limits["nominal"])
    points = [[25.0 * index, values[key]] for index, key in enumerate(STOPS)]
    found = hand.hand_sweep(points, source, limits["jump"])
    stray = 100 * _beyond([volts for _, volts in points], values["smallest"], values["largest"]) / source
    drags = values.get("drags", 0.0)
    if drags < 0:
        raise ValueError("The number of places where the lever drags is 0 or more.")
    outcome, sentence = _swept(found, stray, drags, limits)
    details = [
        detail("Travel", found["travel"], "% of the sensor's"),
        detail("Beyond the stops", stray, "% of the reference"),
        detail("Signal still over", found["stuck"], "% of the way"),
    ]
    return verdict(found["travel"], "%", outcome, sentence, details)


def _swept(found: "Sweep", stray: float, drags: float, limits: "Values") -> "tuple[str, str]":
    """Outcome and sentence of a sweep; the electrical patterns first, for they spoil the rest."""
    if found["pattern"] == "electrical":
        return "jumps", found["sentence"]
    if stray > limits["stray"]:
        sentence = "On the way the signal left the range between the stops: an electrical pattern, a dropout."
        return "jumps", sentence
    if found["pattern"] == "no signal":
        return "", found["sentence"]
    if found["travel"] < limits["travel"]:
        sentence = (
            f"The signal spans {found['travel']:.0f} % of its travel, less than {limits['travel']:.0f} %: "
            "a mechanical pattern, if the lever stops there too."
        )
        return "stops-short", sentence
    if drags >= 1:
        return "rough", "The lever reaches both stops but drags on the way: a mechanical pattern."
    if found["pattern"] == "either":
        return "rough", found["sentence"]
    return "smooth", "The lever moves evenly from stop to stop and the signal follows."


def _beyond(stops: "list[float]", smallest: float, largest: float) -> float:
    """V by which the extremes on the way lie outside all that was read standing still."""
    if smallest > largest:
        raise ValueError("The smallest signal is above the largest: swap the two.")
    return max(0.0, min(stops) - smallest, largest - max(stops))


def _frozen(values: "Values", limits: "Values", source: float) -> bool:
    """Whether the signal stood still although the command changed by more than the error allowed."""
    if "signal_before" not in values and "command_before" not in values:
        return False
    moved = abs(values["signal"] - values["signal_before"])
    change = abs(values["command"] - values["command_before"])
    return bool(change > limits["error"] and 100 * moved / source < hand.STILL)


def _drop(drop: float, limit: float, side: str) -> "Verdict":
    if drop < -limit:
        raise ValueError(f"The {side} drop is negative: the probes are swapped, or a point is wrong.")
    high = drop > limit + circuits.ROUNDING
    sentence = (
        f"{drop:.2f} V are lost on the {side} side, more than {limit:.2f} V: find the joint that eats them."
        if high
        else f"{drop:.2f} V on the {side} side, not more than {limit:.2f} V: good under this load."
    )
    details = [detail("Drop", drop, "V"), detail("Limit", limit, "V")]
    return verdict(drop, "V", "high" if high else "ok", sentence, details)


CALCULATIONS: "dict[str, Calculation]" = {
    "supply_drop": Calculation(
        supply_drop, (number("battery", "voltage"), number("pin", "voltage")), {"drop": "V"}, ("ok", "high")
    ),
    "ground_drop": Calculation(ground_drop, (number("drop", "voltage"),), {"drop": "V"}, ("ok", "high")),
    "reference": Calculation(
        reference,
        (number("reference", "voltage"),),
        {"nominal": "V", "tolerance": "%"},
        ("ok", "low", "high"),
    ),
    "position": Calculation(
        position,
        (
            number("command", "percent"),
            number("reference", "voltage"),
            number("signal", "voltage"),
            maybe("command_before", "percent"),
            maybe("signal_before", "voltage"),
        ),
        {"nominal": "V", "low": "%", "high": "%", "fault_low": "%", "fault_high": "%", "error": "%"},
        ("follows", "short", "frozen", "out-of-band"),
    ),
    "hand_sweep": Calculation(
        hand_sweep,
        tuple([number(key, "voltage") for key in ("reference", "smallest", "largest") + STOPS])
        + (maybe("drags", "places"),),
        {"nominal": "V", "travel": "%", "jump": "%", "stray": "%"},
        ("smooth", "jumps", "rough", "stops-short"),
    ),
}
