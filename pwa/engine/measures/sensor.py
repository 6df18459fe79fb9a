"""Ratiometric sensors: what a position should read, and what a reading means.

The usual band (10 to 90 % of the reference at work, a fault below 5 and above 95 %) is common practice; the
maker's goes first. Formulas in `circuits`.
"""

from typing import TYPE_CHECKING

from pwa.engine.electrical import circuits
from pwa.engine.measures.declared import Calculation, maybe, number
from pwa.engine.measures.verdict import detail, verdict

if TYPE_CHECKING:
    from pwa.engine.measures.verdict import Detail, Values, Verdict

SIDES = {"low-fault": "below", "high-fault": "above"}


def ratiometric(values: "Values", limits: "Values") -> "Verdict":
    """Volts of a commanded percentage or angle, or percentage and angle of a measured signal, or both."""
    source = circuits.working_reference(values["reference"], limits["nominal"])
    working, fault = (limits["low"], limits["high"]), (limits["fault_low"], limits["fault_high"])
    wanted, full = _wanted(values), values.get("full_angle", 0.0)
    details = [
        detail("First stop", circuits.expected_volts(0, source, working), "V"),
        detail("Other stop", circuits.expected_volts(100, source, working), "V"),
        detail("A fault below", source * fault[0] / 100, "V"),
        detail("A fault above", source * fault[1] / 100, "V"),
    ]
    expected = circuits.expected_volts(wanted, source, working)
    if "signal" not in values:
        if wanted < 0:
            raise ValueError("Type the commanded percentage or angle, or the signal.")
        return verdict(
            expected, "V", "", f"At {wanted:.4g} % the signal should read {expected:.2f} V.", details
        )
    signal = values["signal"]
    actual = circuits.ratiometric(signal, source, working)
    details += _stands(actual, full)
    where = circuits.band(signal, source, fault)
    if where != "in-range":
        sentence = f"{signal:g} V is {SIDES[where]} anything the sensor sends: a broken or touching wire."
        return verdict(actual, "%", "out-of-band", sentence, details)
    warnings = []
    if not 0 <= actual <= 100:
        warnings.append(
            "Beyond a stop, yet no fault: the stops were learned elsewhere, or the limits are others."
        )
    sentence = f"{signal:g} V stands for {actual:.1f} % of travel."
    if wanted >= 0:
        details.append(detail("Expected", expected, "V"))
        sentence += f" At {wanted:.4g} % it should read {expected:.2f} V."
    return verdict(actual, "%", "ok", sentence, details, warnings)


def _wanted(values: "Values") -> float:
    """The commanded percentage, -1 when none is typed."""
    if "percent" in values and "angle" in values:
        raise ValueError("Type either the percentage or the angle, not both.")
    if "angle" in values:
        return circuits.percent_of_angle(values["angle"], values["full_angle"])
    if not 0 <= values.get("percent", 0.0) <= 100:
        raise ValueError("The command is from 0 to 100 %.")
    return float(values.get("percent", -1.0))


def _stands(percent: float, full: float) -> "list[Detail]":
    found = [detail("That is", percent, "% of travel")]
    return found + [detail("That is", percent * full / 100, "°")] if full > 0 else found


CALCULATIONS: "dict[str, Calculation]" = {
    "ratiometric": Calculation(
        ratiometric,
        (
            number("reference", "voltage"),
            maybe("percent", "percent"),
            maybe("angle", "angle"),
            maybe("full_angle", "angle"),
            maybe("signal", "voltage"),
        ),
        {"nominal": "V", "low": "%", "high": "%", "fault_low": "%", "fault_high": "%"},
        ("ok", "out-of-band"),
    ),
}
