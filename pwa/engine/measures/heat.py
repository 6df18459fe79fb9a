"""When hot metal may be touched, from readings of one spot: an estimate when to measure again."""

import math
from typing import TYPE_CHECKING

from pwa.engine.heat import touch
from pwa.engine.measures.declared import Calculation, choice, maybe, rows
from pwa.engine.measures.outside import ZERO, warm
from pwa.engine.measures.verdict import detail, verdict

if TYPE_CHECKING:
    from pwa.engine.measures.verdict import Values, Verdict

# How it will be touched -> s of contact, on the safe side.
CONTACTS = {"work": 28800.0, "hold": 600.0, "touch": 60.0}
# How it was read -> the surface's emissivity for an infrared thermometer set to 0.95, from memory; a contact
# probe needs no correction, as a dull surface.
SURFACES = {"probe": 0.95, "dull": 0.95, "rusty": 0.8, "bright": 0.3}
LEAST = 10.0  # min: the floor under every answer, which the shop's own may only raise
AIR_U = 2.0  # K, of a typed air temperature
FAR = 3.0  # times the span of the readings: reading further ahead than that is a guess


def touch_safe(values: "Values", limits: "Values") -> "Verdict":
    """Minutes from the last reading until bare metal is below the threshold for the contact meant.

    Never less than the floor; the late end of the uncertainty, rounded up.
    """
    warnings: list[str] = []
    target = touch.burn_threshold(_one_of(CONTACTS, values["contact"], "contact"))
    air, air_u, typed = _air(values, limits)
    emissivity = _one_of(SURFACES, values["surface"], "way of reading")
    readings = values["readings"]
    readings = [[at, touch.infrared(shown, emissivity, air)] for at, shown in readings]
    fitted = len(readings) >= 3 and not typed
    found = touch.until(readings, target, limits["thermometer"], None if fitted else air, air_u)
    floor, last = limits["floor"], readings[-1]
    minutes = max(LEAST, floor, float(math.ceil(found["late"] / 60)))
    if values["surface"] == "bright":
        warnings.append(
            "Bright metal reads far too low, and the correction is rough: read a dull or painted spot."
        )
    if not typed:
        warnings.append(
            "The air around the part is "
            + ("fitted from the readings" if fitted else f"taken as {warm(air)}")
            + ": measure and type it, it decides the end of the cooling."
        )
    if found["late"] > FAR * (last[0] - readings[0][0]):
        warnings.append("That is far ahead of so short a row of readings: read once more on the way.")
    warnings.append("Heat soaks out from inside, and other spots are hotter: measure again before you touch.")
    details = [
        detail("Threshold for this contact, bare metal", target - ZERO, "°C"),
        detail("Last reading", last[1] - ZERO, "°C"),
        detail("Likely", found["likely"] / 60, "min"),
        detail("Its standard uncertainty", found["u"] / 60, "min"),
        detail("Air around", found["fit"]["ambient"] - ZERO, "°C"),
        detail("Time constant", found["fit"]["tau"] / 60, "min"),
    ]
    sentence = (
        f"Measure again in {minutes:.0f} min or later, counted from the last reading; bare hands only below "
        f"{warm(target)}."
    )
    return verdict(minutes, "min", "", sentence, details, warnings)


def _air(values: "Values", limits: "Values") -> "tuple[float, float, bool]":
    """K of the air around, its uncertainty, and whether somebody measured it."""
    if "ambient" in values:
        return values["ambient"], AIR_U, True
    return ZERO + limits["assumed"], limits["assumed_off"], False


def _one_of(table: "dict[str, float]", key: str, what: str) -> float:
    if key not in table:
        raise ValueError(f"There is no {what} called {key}. Choose one of {', '.join(sorted(table))}.")
    return table[key]


CALCULATIONS: "dict[str, Calculation]" = {
    "touch_safe": Calculation(
        touch_safe,
        (
            rows("readings", ("time", "time"), ("temperature", "temperature")),
            maybe("ambient", "temperature"),
            choice("surface", SURFACES),
            choice("contact", CONTACTS),
        ),
        {"floor": "min", "thermometer": "K", "assumed": "°C", "assumed_off": "K"},
        (),
    ),
}
