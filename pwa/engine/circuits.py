"""Circuits: wire, voltage drop, ratiometric sensors, the data bus's terminators.

Sources: ASTM B258 (gauge diameters), IEC 60028 (copper), ISO 11898-2 and J1939-11 (bus), Ohm's law.
"""

from math import pi
from typing import TypedDict

COPPER = 1 / 58  # Ω·mm²/m at 20 °C, IEC 60028
COPPER_PER_KELVIN = 0.00393  # IEC 60028
WORKING = (0.10, 0.90)  # of the reference; common practice, no single standard
FAULT = (0.05, 0.95)  # of the reference, beyond these a broken circuit; common practice
IMPOSSIBLE = 1.5  # a signal this many times its source is a slipped probe, not a signal; our estimate
NOISE = 0.1  # V below zero that a meter may show on a quiet line; our estimate
ROUNDING = 1e-9  # V; a limit itself is inside
# Readings across CAN_H and CAN_L with the power off -> terminators. Derived from 100 to 130 Ω each.
TERMINATOR_BANDS = ((100.0, 130.0, 1), (50.0, 65.0, 2), (33.0, 43.5, 3), (25.0, 32.5, 4))


class Terminators(TypedDict):
    """`count` is -1 when the reading is no whole number of terminators."""

    count: int
    sentence: str


def awg_area(gauge: int) -> float:
    """Cross-section in mm² of a solid wire of American gauge -3 (4/0) to 40 (ASTM B258).

    d = 0.127 mm · 92^((36 − n)/39); A = π d² / 4

    Raises:
        ValueError: a gauge outside the table.
    """
    if not -3 <= gauge <= 40:
        raise ValueError(f"A gauge is from -3 (4/0) to 40, not {gauge}.")
    diameter = 0.127 * float(92 ** ((36 - gauge) / 39))
    return pi / 4 * diameter * diameter


def wire_resistance(area_mm2: float, length_m: float, temperature_c: float = 20.0) -> float:
    """Ω of a copper wire (IEC 60028): R = ρ L / A · (1 + α (T − 20)).

    `length_m` counts the way back too, if it is wire. Stranded wire has 2 to 6 % more.

    Raises:
        ValueError: no cross-section, or a negative length.
    """
    if area_mm2 <= 0 or length_m < 0:
        raise ValueError("A wire has a cross-section above 0 mm² and a length of at least 0 m.")
    return COPPER * length_m / area_mm2 * (1 + COPPER_PER_KELVIN * (temperature_c - 20))


def drop(current: float, resistance: float) -> float:
    """V lost over Ω at A (Ohm's law): U = I R."""
    return current * resistance


def excess_resistance(volts: float, current: float, expected: float) -> float:
    """Ω more than the wire alone explains: volts lost / current − expected Ω.

    Raises:
        ValueError: no current, without which no drop says anything.
    """
    if current <= 0:
        raise ValueError("A voltage drop says something only while current flows; load the circuit.")
    return volts / current - expected


def reference_check(volts: float, nominal: float, tolerance: float) -> str:
    """Whether a sensor's reference is "ok", "low" or "high": within `tolerance` percent of `nominal` V.

    Raises:
        ValueError: a reading that no such line gives.
    """
    possible(volts, nominal)
    if abs(volts - nominal) <= nominal * tolerance / 100 + ROUNDING:
        return "ok"
    return "low" if volts < nominal else "high"


def ratiometric(volts: float, reference: float) -> float:
    """Percent of travel of a sensor that works from 10 to 90 % of its reference.

    x = (V / Vref − 0.10) / 0.80. Divide by the reference as measured, never by 5.

    Raises:
        ValueError: no reference, or a signal that it cannot give.
    """
    possible(volts, reference)
    low, high = WORKING
    return 100 * (volts / reference - low) / (high - low)


def expected_volts(percent: float, reference: float) -> float:
    """V of such a sensor at a percentage of travel: V = Vref (0.10 + 0.80 x)."""
    low, high = WORKING
    return reference * (low + (high - low) * percent / 100)


def expected_volts_at_angle(angle: float, full_angle: float, reference: float) -> float:
    """V of such a sensor when its lever stands at `angle` of a travel of `full_angle`, in the same unit.

    Raises:
        ValueError: an angle outside the travel.
    """
    if full_angle <= 0 or not 0 <= angle <= full_angle:
        raise ValueError("The angle is from 0 to the full travel, and the full travel above 0.")
    return expected_volts(100 * angle / full_angle, reference)


def band(volts: float, reference: float) -> str:
    """Where a signal lies: "in-range", "low-fault" or "high-fault".

    Below 5 % or above 95 % of the reference no sensor sends: the controller calls the circuit broken.
    Common practice, no single standard. Between there and 10 or 90 % lies a stop beyond the learned travel.

    Raises:
        ValueError: no reference, or a signal that it cannot give.
    """
    possible(volts, reference)
    if volts < FAULT[0] * reference - ROUNDING:
        return "low-fault"
    return "high-fault" if volts > FAULT[1] * reference + ROUNDING else "in-range"


def possible(volts: float, source: float) -> None:
    """Refuses a reading that a line fed with `source` V does not give: a slipped probe, or a fault first.

    Raises:
        ValueError: no source, a negative reading, or one of half as much again as the source.
    """
    if source <= 0:
        raise ValueError("The reference must be above 0 V; measure and mend the reference first.")
    if volts < -NOISE:
        raise ValueError(
            f"{volts:.1f} V is below zero: the probes are swapped, or one is on the wrong point."
        )
    if volts > IMPOSSIBLE * source:
        raise ValueError(
            f"{volts:.1f} V cannot come from a line of {source:.1f} V: check the probe and the range. "
            "If it is true, a supply wire touches this line; mend that first."
        )


def terminators(ohms: float) -> Terminators:
    """What Ω across CAN_H and CAN_L mean, power off and battery disconnected: about 120 / count (J1939-11).

    Raises:
        ValueError: a negative reading.
    """
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
