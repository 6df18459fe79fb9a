"""Measurements at the truck: typed numbers and limits to a verdict that answers a finding.

Each calculation takes values in SI and limits in the unit content writes them in. The limits are common
practice unless the shop enters the maker's; the comparisons are Ohm's law and ratios.
"""

from typing import TYPE_CHECKING, TypedDict

from pwa.engine import circuits

if TYPE_CHECKING:
    from collections.abc import Callable

    Numbers = dict[str, float]

IMPOSSIBLE = 1.5  # a signal this many times its reference is a slipped probe, not a signal


class Detail(TypedDict):
    label: str
    value: float
    unit: str


class Verdict(TypedDict):
    """`outcome` is an outcome of the finding that the measurement answers."""

    value: float
    unit: str
    outcome: str
    sentence: str
    details: "list[Detail]"


def calculate(name: str, values: "Numbers", limits: "Numbers") -> Verdict:
    """The verdict of the calculation that content names.

    Raises:
        ValueError: no such calculation, a missing number, or readings that cannot be.
    """
    if name not in CALCULATIONS:
        raise ValueError(f"There is no calculation called {name}.")
    try:
        return CALCULATIONS[name](values, limits)
    except KeyError as missing:
        raise ValueError(f"The value {missing.args[0]} is missing.") from None


def supply_drop(values: "Numbers", limits: "Numbers") -> Verdict:
    """Battery positive to the actuator's supply pin, under load: V_battery − V_pin."""
    return _drop(values["battery"] - values["pin"], limits["drop"], "supply", values["battery"])


def ground_drop(values: "Numbers", limits: "Numbers") -> Verdict:
    """The actuator's ground pin to battery negative, under load, read directly."""
    return _drop(values["drop"], limits["drop"], "ground", 0.0)


def reference(values: "Numbers", limits: "Numbers") -> Verdict:
    """The sensor's reference against its nominal voltage."""
    volts, nominal, share = values["reference"], limits["nominal"], limits["tolerance"] / 100
    _possible(volts, nominal)
    low, high = nominal * (1 - share), nominal * (1 + share)
    outcome = "low" if volts < low else "high" if volts > high else "ok"
    words = {
        "ok": "The reference is within its limits.",
        "low": "The reference is low: something on the same circuit may pull it down.",
        "high": "The reference is high: it may touch a supply wire.",
    }
    details = [_detail("Measured", volts, "V"), _detail("From", low, "V"), _detail("to", high, "V")]
    return _verdict(volts, "V", outcome, words[outcome], details)


def position(values: "Numbers", limits: "Numbers") -> Verdict:
    """Position feedback against the commanded percentage, both at once, sensor 10 to 90 % of reference.

    With a command before and after a change it also sees a signal that does not move.
    """
    volts, source, command = values["signal"], values["reference"], values["command"]
    _possible(volts, source)
    if not 0 <= command <= 100:
        raise ValueError("The command is from 0 to 100 %.")
    actual, expected = circuits.position_percent(volts, source), circuits.position_volts(command, source)
    details = [
        _detail("Expected", expected, "V"),
        _detail("Measured", volts, "V"),
        _detail("That is", actual, "% of travel"),
    ]
    where = circuits.band(volts, source)
    if where.startswith("fault"):
        high = where == "fault high"
        words = "above" if high else "below"
        sentence = f"The signal is {words} anything the sensor can send: look for a broken or touching wire."
        return _verdict(actual, "%", "out-of-band", sentence, details)
    before = values.get("signal_before")
    if before is not None and abs(volts - before) < 0.01 * source:
        sentence = "The signal did not move when the command did: frozen."
        return _verdict(actual, "%", "frozen", sentence, details)
    if abs(actual - command) > limits["error"]:
        sentence = f"Commanded {command:.0f} %, reached {actual:.0f} %: the position is not reached."
        return _verdict(actual, "%", "short", sentence, details)
    return _verdict(actual, "%", "follows", f"Commanded {command:.0f} %, reached {actual:.0f} %.", details)


def hand_sweep(values: "Numbers", limits: "Numbers") -> Verdict:
    """The lever swept by hand from stop to stop: the signal at both stops, its worst jump, its worst stick.

    A jump is electrical (the track or a connector), a hard spot or a short travel is mechanical.
    """
    source, first, last = values["reference"], values["first"], values["last"]
    for volts in (first, last):
        _possible(volts, source)
    travel = abs(circuits.position_percent(last, source) - circuits.position_percent(first, source))
    jump = 100 * abs(values.get("jump", 0.0)) / source
    details = [
        _detail("Travel", travel, "% of the sensor's"),
        _detail("Worst jump", jump, "% of the reference"),
    ]
    if jump > limits["jump"]:
        sentence = "The signal jumps while the lever moves evenly: an electrical pattern."
        return _verdict(travel, "%", "jumps", sentence, details)
    if travel < limits["travel"]:
        sentence = f"The lever stops after {travel:.0f} % of the travel: a mechanical pattern."
        return _verdict(travel, "%", "stops-short", sentence, details)
    if values.get("hard_spots", 0.0) >= 1:
        sentence = "The lever reaches both stops but has hard spots: a mechanical pattern."
        return _verdict(travel, "%", "rough", sentence, details)
    return _verdict(
        travel, "%", "smooth", "The lever moves evenly from stop to stop and the signal follows.", details
    )


def _drop(drop: float, limit: float, side: str, battery: float) -> Verdict:
    if battery and drop > battery:
        raise ValueError("The drop is larger than the battery's voltage; check the two probe points.")
    if drop < -limit:
        raise ValueError(f"The {side} drop is negative: the probes are swapped, or a point is wrong.")
    high = drop > limit
    sentence = (
        f"{drop:.2f} V are lost on the {side} side, more than {limit:.2f} V: find the joint that eats them."
        if high
        else f"{drop:.2f} V on the {side} side, not more than {limit:.2f} V: good under this load."
    )
    details = [_detail("Drop", drop, "V"), _detail("Limit", limit, "V")]
    return _verdict(drop, "V", "high" if high else "ok", sentence, details)


def _possible(volts: float, source: float) -> None:
    if source <= 0:
        raise ValueError("The reference must be above 0 V; measure and mend the reference first.")
    if volts < -0.1 or volts > IMPOSSIBLE * source:
        raise ValueError(
            f"{volts:.1f} V cannot come from a line of {source:.1f} V: "
            "check the probe and the meter's range. If it is true, a supply wire touches this line."
        )


def _detail(label: str, value: float, unit: str) -> Detail:
    return {"label": label, "value": value, "unit": unit}


def _verdict(value: float, unit: str, outcome: str, sentence: str, details: "list[Detail]") -> Verdict:
    return {"value": value, "unit": unit, "outcome": outcome, "sentence": sentence, "details": details}


CALCULATIONS: "dict[str, Callable[[Numbers, Numbers], Verdict]]" = {
    "supply_drop": supply_drop,
    "ground_drop": ground_drop,
    "reference": reference,
    "position": position,
    "hand_sweep": hand_sweep,
}
