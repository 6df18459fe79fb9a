"""Circuits: wire, voltage drop, ratiometric sensors, the data bus's terminators.

Sources: ASTM B258 (gauge diameters), IEC 60028 (copper), ISO 11898-2 and J1939-11 (bus), Ohm's law.
"""

from math import pi
from typing import TypedDict

COPPER = 1 / 58  # Ω·mm²/m at 20 °C, IEC 60028
COPPER_PER_KELVIN = 0.00393  # IEC 60028
TERMINATOR = 120.0  # Ω, J1939-11
WORKING = (0.10, 0.90)  # of the reference; common practice, no single standard
FAULT = (0.05, 0.95)  # beyond these the controller sees a broken circuit; common practice
# Readings across CAN_H and CAN_L with the power off -> terminators. Derived from 100 to 130 Ω each.
TERMINATOR_BANDS = ((100.0, 130.0, 1), (50.0, 65.0, 2), (33.0, 43.5, 3), (25.0, 32.5, 4))


class Terminators(TypedDict):
    """`count` is -1 when the reading is no whole number of terminators."""

    count: int
    sentence: str


def awg_area(gauge: int) -> float:
    """Cross-section in mm² of a solid wire of American gauge -3 (4/0) to 40 (ASTM B258).

    d = 0.127 mm · 92^((36 − n)/39)
    """
    if not -3 <= gauge <= 40:
        raise ValueError(f"A gauge is from -3 (4/0) to 40, not {gauge}.")
    diameter = 0.127 * float(92 ** ((36 - gauge) / 39))
    return pi / 4 * diameter * diameter


def wire_resistance(area: float, length: float, temperature: float = 20.0) -> float:
    """Ω of a copper wire of `area` mm² and `length` m (both ways, if the return is wire) at °C.

    R = ρ L / A · (1 + α (T − 20)). Stranded wire has 2 to 6 % more.
    """
    if area <= 0 or length < 0:
        raise ValueError("A wire has a cross-section above 0 mm² and a length of at least 0 m.")
    return COPPER * length / area * (1 + COPPER_PER_KELVIN * (temperature - 20))


def excess_resistance(drop: float, current: float, expected: float) -> float:
    """Ω more than the wire alone explains: drop / current − expected."""
    if current <= 0:
        raise ValueError("A voltage drop says something only while current flows; load the circuit.")
    return drop / current - expected


def position_percent(volts: float, reference: float) -> float:
    """Percent of travel of a ratiometric sensor that works from 10 to 90 % of its measured reference.

    x = (V / Vref − 0.10) / 0.80. Divide by the reference as measured, never by 5.
    """
    if reference <= 0:
        raise ValueError("The reference must be above 0 V; without it the sensor says nothing.")
    low, high = WORKING
    return 100 * (volts / reference - low) / (high - low)


def position_volts(percent: float, reference: float) -> float:
    """V expected from such a sensor at a percentage of travel."""
    low, high = WORKING
    return reference * (low + (high - low) * percent / 100)


def band(volts: float, reference: float) -> str:
    """Where a signal lies: "working", "below travel", "above travel", "fault low" or "fault high"."""
    share = volts / reference
    if share < FAULT[0]:
        return "fault low"
    if share > FAULT[1]:
        return "fault high"
    if share < WORKING[0]:
        return "below travel"
    return "above travel" if share > WORKING[1] else "working"


def terminators(ohms: float) -> Terminators:
    """What a reading across CAN_H and CAN_L means, power off and battery disconnected (J1939-11)."""
    if ohms < 0:
        raise ValueError("A resistance is not negative; zero the meter's leads and switch the power off.")
    for low, high, count in TERMINATOR_BANDS:
        if low <= ohms <= high:
            words = "as it should be" if count == 2 else "one is missing" if count == 1 else "too many"
            plural = "terminator" if count == 1 else "terminators"
            return {"count": count, "sentence": f"{ohms:.1f} Ω is {count} {plural}: {words}."}
    if ohms < 5:
        return {"count": -1, "sentence": f"{ohms:.1f} Ω: CAN_H and CAN_L touch each other."}
    if ohms > 1000:
        return {
            "count": 0,
            "sentence": "No terminator is seen from here: the bus is open between you and them.",
        }
    sentence = f"{ohms:.1f} Ω is no whole number of terminators: a bad one, or corrosion on the way."
    return {"count": -1, "sentence": sentence}
