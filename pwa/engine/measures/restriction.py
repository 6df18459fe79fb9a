"""What stands in the way of the air: the filter before the turbo, the exhaust after it."""

from typing import TYPE_CHECKING

from pwa.engine.air import charge
from pwa.engine.measures.declared import Calculation, maybe, number
from pwa.engine.measures.outside import as_text
from pwa.engine.measures.verdict import detail, verdict

if TYPE_CHECKING:
    from pwa.engine.measures.verdict import Values, Verdict

ROUNDING = 1.0  # Pa
MOST = 40e3  # Pa: more suction than any filter's element bears


def air_filter(values: "Values", limits: "Values") -> "Verdict":
    """Suction between filter and compressor against a limit at full air flow.

    Read at less than full flow, it is read ahead as a range, and if the limit lies in it nothing is answered.
    """
    drop, share = values["drop"], values.get("flow", 100.0) / 100
    least, most = charge.at_full_flow(drop, share)
    if drop > MOST:
        raise ValueError(f"{as_text(drop)} of suction cannot be. Check the number and its unit.")
    limit = 1e3 * limits["most"]
    details = [
        detail("Read", drop / 1e3, "kPa"),
        detail("Limit at full flow", limits["most"], "kPa"),
        detail("At full flow at least", least / 1e3, "kPa"),
        detail("at most", most / 1e3, "kPa"),
    ]
    warnings = []
    if share < 1:
        warnings.append("Read ahead from part of the air flow. A reading at full flow is better.")
    if least > limit + ROUNDING:
        outcome, sentence = (
            "high",
            f"The intake pulls {as_text(drop)}, more than allowed: filter, duct or snorkel.",
        )
    elif most <= limit + ROUNDING:
        outcome, sentence = "ok", f"The intake pulls {as_text(drop)}, not more than allowed."
    else:
        outcome, sentence = "", "Between the two ways to read it ahead lies the limit: read it at full flow."
    return verdict(drop / 1e3, "kPa", outcome, sentence, details, warnings)


def back_pressure(values: "Values", _limits: "Values") -> "Verdict":
    """Exhaust pressure after the turbine against the maker's limit at the same speed and load."""
    found, allowed = values["reading"], values["allowed"]
    if found < 0:
        raise ValueError(
            "Exhaust pressure with the engine running is not below the air outside. Zero the gauge."
        )
    if allowed <= 0:
        raise ValueError("The maker's limit is above zero.")
    high = found > allowed + ROUNDING
    sentence = f"{as_text(found)} behind the turbine, " + (
        f"more than {as_text(allowed)}: look for what blocks the exhaust before you blame the turbo."
        if high
        else f"not more than {as_text(allowed)}."
    )
    details = [
        detail("Read", found / 1e3, "kPa"),
        detail("The maker allows", allowed / 1e3, "kPa"),
        detail("Of that", 100 * found / allowed, "%"),
    ]
    return verdict(found / 1e3, "kPa", "high" if high else "ok", sentence, details)


CALCULATIONS: "dict[str, Calculation]" = {
    "air_filter": Calculation(
        air_filter, (number("drop", "pressure"), maybe("flow", "percent")), {"most": "kPa"}, ("ok", "high")
    ),
    "back_pressure": Calculation(
        back_pressure,
        (number("reading", "gauge pressure"), number("allowed", "gauge pressure")),
        {},
        ("ok", "high"),
    ),
}
