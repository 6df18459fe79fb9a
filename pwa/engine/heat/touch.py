"""When hot metal can be touched: burn thresholds, an infrared reading's error, and cooling read ahead.

Newton cooling T(t) = Ta + D·e^(−t/τ) is fitted by least squares. Real metal cools more slowly towards the
end, because still air carries off heat with the 5/4 power of the difference (laminar free convection,
Incropera, Fundamentals of Heat and Mass Transfer, ch. 9), and because heat soaks out from inside. So the time
told is the later of both laws, each with twice its standard uncertainty: an estimate when to measure again,
never a leave to touch.
"""

import math
from typing import TYPE_CHECKING, TypedDict

from pwa.engine.heat import cooling

if TYPE_CHECKING:
    from pwa.engine.heat.cooling import Fit, Readings

ZERO = 273.15  # K
# Contact in s, and the bare metal's temperature in °C from which it may burn skin: the lower ends of the
# bands of ISO 13732-1, from memory. Coated metal, plastic and wood burn later.
THRESHOLDS = ((1.0, 65.0), (4.0, 58.0), (10.0, 55.0), (60.0, 51.0), (600.0, 48.0), (28800.0, 43.0))
SURE = 2.0  # standard uncertainties on the safe side, about 97 % one-sided


class Cooling(TypedDict):
    """When a surface is down at a temperature, in s after the last reading.

    `likely` by the fitted law, `late` on the safe side, `u` its standard uncertainty; `fit` what was fitted.
    """

    likely: float
    u: float
    late: float
    fit: "Fit"


def burn_threshold(seconds: float) -> float:
    """K from which bare metal may burn skin that touches it for so long: the next longer contact's value.

    ISO 13732-1, lower ends of its bands, from memory. It knows no contact shorter than 0.5 s, and no age or
    illness of the skin; people burn below it too.

    Raises:
        ValueError: a contact that is not above zero.
    """
    if seconds <= 0:
        raise ValueError("A contact lasts longer than zero.")
    for longest, celsius in THRESHOLDS:
        if seconds <= longest:
            return celsius + ZERO
    return THRESHOLDS[-1][1] + ZERO


def infrared(reading: float, emissivity: float, surroundings: float, set_to: float = 0.95) -> float:
    """K that a surface has when an infrared thermometer shows `reading`: bright metal is hotter than shown.

    Grey body and total radiation: ε·T⁴ = ε_set·T_r⁴ + (1 − ε_set)·T_s⁴ − (1 − ε)·T_s⁴ (Incropera, ch. 12).
    Real thermometers see a band of wavelengths only, so the correction is rough.

    Raises:
        ValueError: an emissivity outside 0.1 to 1, or a reading that would be colder than anything is.
    """
    if not 0.1 <= emissivity <= 1 or not 0.1 <= set_to <= 1:
        raise ValueError("An emissivity is from 0.1 to 1; brighter metal cannot be read by infrared.")
    seen = set_to * reading**4 + (emissivity - set_to) * surroundings**4
    if reading <= 0 or surroundings <= 0 or seen <= 0:
        raise ValueError("This infrared reading cannot be. Check the temperatures and their units.")
    return float((seen / emissivity) ** 0.25)


def until(
    readings: "Readings",
    target: float,
    reading_u: float,
    ambient: "float | None" = None,
    ambient_u: float = 0.0,
) -> Cooling:
    """When a surface is down at `target` (K), from readings [[s, K], ...], the earliest first.

    The uncertainty is that of each reading (`reading_u`, K, or the scatter around the fit if that is more)
    and of the air around, carried through by changing one after the other (JCGM 100, 5.1.3 note 2).

    Args:
        ambient: air temperature in K; None fits it, which needs three readings and curvature in them.
        ambient_u: its standard uncertainty in K.

    Raises:
        ValueError: readings that do not cool or cannot be, or too little cooling to tell.
    """
    if not 0 < reading_u <= 50:
        raise ValueError("A thermometer is off by more than 0 and at most 50 K.")
    cooling.check(readings, reading_u, ambient)
    fit = cooling.fit(readings, ambient)
    if target <= fit["ambient"]:
        raise ValueError(
            f"With air at {fit['ambient'] - ZERO:.0f} °C the metal does not cool to {target - ZERO:.0f} °C. "
            "Use gloves, or cool the place first."
        )
    spread = max(reading_u, fit["scatter"])
    likely = _seconds(fit, readings, target)
    squares = [0.0, 0.0]
    for changed, air in _changes(readings, ambient, spread, ambient_u):
        try:
            moved = _seconds(cooling.fit(changed, air), changed, target)
        except ValueError:
            raise ValueError(
                "It cooled too little between the readings to tell. Wait and read again."
            ) from None
        for law in (0, 1):
            squares[law] += (moved[law] - likely[law]) ** 2
    late = max(likely[law] + SURE * math.sqrt(squares[law]) for law in (0, 1))
    return {
        "likely": max(0.0, likely[0]),
        "u": math.sqrt(squares[0]),
        "late": max(0.0, late),
        "fit": fit,
    }


def _seconds(fit: "Fit", readings: "Readings", target: float) -> "list[float]":
    """s after the last reading until the target, by Newton's law and by free convection's 5/4 power."""
    last = readings[-1]
    if target <= fit["ambient"]:
        raise ValueError("The air is as warm as the target.")
    newton = fit["start"] + fit["tau"] * math.log(fit["excess"] / (target - fit["ambient"])) - last[0]
    roots = []
    for temperature in (readings[0][1], last[1], target):
        if temperature <= fit["ambient"]:
            raise ValueError("The air is as warm as the surface.")
        roots.append((temperature - fit["ambient"]) ** -0.25)
    if roots[1] <= roots[0]:
        raise ValueError("It does not cool.")
    slow = (roots[2] - roots[1]) / (roots[1] - roots[0]) * (last[0] - readings[0][0])
    return [newton, slow]


def _changes(
    readings: "Readings", ambient: "float | None", spread: float, ambient_u: float
) -> "list[tuple[Readings, float | None]]":
    """The readings with one of them, or the air, changed by its standard uncertainty."""
    changes: list[tuple[Readings, float | None]] = []
    for index in range(len(readings)):
        changed = [[seconds, temperature] for seconds, temperature in readings]
        # The way that makes it cool more slowly: the first half colder, the second warmer.
        changed[index][1] += spread if 2 * index >= len(readings) else -spread
        changes.append((changed, ambient))
    if ambient is not None and ambient_u > 0:
        changes.append((readings, ambient + ambient_u))
    return changes
