"""Circuits: wire, where voltage is lost, ratiometric sensors.

Sources: ASTM B258 (gauge diameters), IEC 60028 (copper), IEC 60228 (stranded wire), the laws of Ohm and
Kirchhoff.
"""

from math import pi
from typing import TypedDict

COPPER = 1 / 58  # Ω·mm²/m at 20 °C, IEC 60028
COPPER_PER_KELVIN = 0.00393  # IEC 60028
WORKING = (10.0, 90.0)  # % of the reference; common practice, no single standard
FAULT = (5.0, 95.0)  # % of the reference, beyond these a broken circuit; common practice
IMPOSSIBLE = 1.5  # a signal this many times its source is a slipped probe, not a signal; our estimate
DEAD = 0.5  # of the nominal reference; below it a signal says nothing; our estimate
NOISE = 0.1  # V below zero that a meter may show on a quiet line; our estimate
ROUNDING = 1e-9  # V; a limit itself is inside
STRANDED = 1.2  # times an ideal wire: the most that IEC 60228 allows a flexible one (class 5, tinned)
THINNEST, THICKEST, LONGEST = 0.005, 1000.0, 1000.0  # mm² and m; beyond these the unit was wrong
COLDEST, HOTTEST = -60.0, 200.0  # °C; the linear rule for copper is good between these


class Step(TypedDict):
    """V lost between two neighbouring probe points of a path, and what lies between them."""

    start: str
    end: str
    parts: str
    drop: float


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

    `length_m` counts the way back too, if it is wire. Stranded wire has 2 to 6 % more, and a sound one up to
    `STRANDED` times this.

    Raises:
        ValueError: no such cross-section or length, or a temperature beyond the rule.
    """
    if not THINNEST <= area_mm2 <= THICKEST or not 0 <= length_m <= LONGEST:
        raise ValueError(
            f"A wire has a cross-section from {THINNEST:g} to {THICKEST:g} mm² and up to {LONGEST:g} m; "
            f"{area_mm2:g} mm² and {length_m:g} m are none."
        )
    if not COLDEST <= temperature_c <= HOTTEST:
        raise ValueError(
            f"Copper is computed from {COLDEST:.0f} to {HOTTEST:.0f} °C, not at {temperature_c:g} °C."
        )
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


def steps(points: "list[tuple[str, float, str]]") -> "list[Step]":
    """V lost between neighbours of a path.

    Points are [name, V, what lies behind it], in the order in which current flows. All against one ground,
    under one load (Kirchhoff's voltage law: the steps add up to the whole drop).

    Raises:
        ValueError: fewer than two points, or a voltage that rises along the way.
    """
    if len(points) < 2:
        raise ValueError("Type at least two points of the path.")
    found: list[Step] = []
    for index in range(len(points) - 1):
        start, before, parts = points[index]
        end, after, _ = points[index + 1]
        if after > before + NOISE:
            raise ValueError(
                f"The voltage rises from {before:.2f} V ({start}) to {after:.2f} V ({end}): two points are "
                "swapped, or the load changed between the readings. Hold it steady and measure again."
            )
        found.append({"start": start, "end": end, "parts": parts, "drop": max(0.0, before - after)})
    return found


def reference_check(volts: float, nominal: float, tolerance: float) -> str:
    """Whether a sensor's reference is "ok", "low" or "high": within `tolerance` percent of `nominal` V.

    Raises:
        ValueError: a reading that no such line gives.
    """
    possible(volts, nominal)
    if abs(volts - nominal) <= nominal * tolerance / 100 + ROUNDING:
        return "ok"
    return "low" if volts < nominal else "high"


def working_reference(volts: float, nominal: float) -> float:
    """The reference as measured, if a signal can be read against it.

    Raises:
        ValueError: a reading that no such line gives, or a reference that is gone.
    """
    possible(volts, nominal)
    if volts < DEAD * nominal:
        raise ValueError(
            f"The reference is {volts:g} V instead of {nominal:g} V: mend the reference first, a signal says "
            "nothing until then."
        )
    return volts


def ratiometric(volts: float, reference: float, working: "tuple[float, float]" = WORKING) -> float:
    """Percent of travel of a sensor that works between two percentages of its reference.

    x = (100 V / Vref − low) / (high − low). Divide by the reference as measured, never by 5. With `working`
    from high to low it is a sensor whose signal falls.

    Raises:
        ValueError: no reference, a signal that it cannot give, or no range.
    """
    possible(volts, reference)
    low, high = _range(working)
    return 100 * (100 * volts / reference - low) / (high - low)


def expected_volts(percent: float, reference: float, working: "tuple[float, float]" = WORKING) -> float:
    """V of such a sensor at a percentage of travel: V = Vref (low + (high − low) x)."""
    low, high = _range(working)
    return reference * (low + (high - low) * percent / 100) / 100


def percent_of_angle(angle: float, full_angle: float) -> float:
    """Percent of travel of a lever that stands at `angle` of a travel of `full_angle`, in the same unit.

    Raises:
        ValueError: an angle outside the travel.
    """
    if full_angle <= 0 or not 0 <= angle <= full_angle:
        raise ValueError("The angle is from 0 to the full travel, and the full travel above 0.")
    return 100 * angle / full_angle


def band(volts: float, reference: float, fault: "tuple[float, float]" = FAULT) -> str:
    """Where a signal lies: "in-range", "low-fault" or "high-fault".

    Below 5 % or above 95 % of the reference no sensor sends: the controller calls the circuit broken.
    Common practice, no single standard. Between there and 10 or 90 % lies a stop beyond the learned travel.

    Raises:
        ValueError: no reference, a signal that it cannot give, or no range.
    """
    possible(volts, reference)
    low, high = _range(fault)
    if volts < low * reference / 100 - ROUNDING:
        return "low-fault"
    return "high-fault" if volts > high * reference / 100 + ROUNDING else "in-range"


def possible(volts: float, source: float) -> None:
    """Refuses a reading that a line fed with `source` V does not give: a slipped probe, or a fault first.

    Raises:
        ValueError: no source, a negative reading, or one of half as much again as the source.
    """
    if source <= 0:
        raise ValueError("The reference must be above 0 V; measure and mend the reference first.")
    if volts < -NOISE:
        raise ValueError(f"{volts:g} V is below zero: the probes are swapped, or one is on the wrong point.")
    if volts > IMPOSSIBLE * source:
        raise ValueError(
            f"{volts:g} V cannot come from a line of {source:g} V: check the probe and the range. "
            "If it is true, a supply wire touches this line; mend that first."
        )


def _range(percents: "tuple[float, float]") -> "tuple[float, float]":
    low, high = percents
    if low == high or not (0 <= low <= 100 and 0 <= high <= 100):
        raise ValueError("A sensor's range is from one percentage of its reference to another, 0 to 100 %.")
    return low, high
