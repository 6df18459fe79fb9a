"""Circuits against published tables and worked examples."""

import math

import pint
import pytest


@pytest.fixture(scope="module")
def circuits(twin):
    return twin("pwa.engine.electrical.circuits")


# ASTM B258: diameters of solid wire in mil to four figures; the rows are from memory, but for 36 and 4/0,
# by which the standard defines the series.
@pytest.mark.parametrize(
    ("gauge", "mils"),
    [(-3, 460.0), (0, 324.9), (10, 101.9), (12, 80.81), (14, 64.08), (16, 50.82), (18, 40.30), (20, 31.96),
     (22, 25.35), (36, 5.0)],
)  # fmt: skip
def test_areas_of_astm_b258(circuits, gauge, mils):
    diameter = mils * 0.0254
    assert circuits.awg_area(gauge) == pytest.approx(3.14159265 / 4 * diameter**2, rel=5e-4)


# Copper wire tables computed from ASTM B258 and IEC 60028: ohms per 1000 ft at 20 °C.
@pytest.mark.parametrize(
    ("gauge", "ohms"), [(10, 0.9989), (12, 1.588), (14, 2.525), (22, 16.14), (24, 25.67)]
)
def test_resistance_of_a_thousand_feet(circuits, gauge, ohms):
    assert circuits.wire_resistance(circuits.awg_area(gauge), 304.8) == pytest.approx(ohms, rel=5e-4)


def test_copper_warms_as_iec_60028_says(circuits):
    cold, hot = circuits.wire_resistance(1, 1, 20), circuits.wire_resistance(1, 1, 75)
    assert cold == pytest.approx(1 / 58)
    assert hot / cold == pytest.approx(
        (234.5 + 75) / (234.5 + 20), abs=1e-4
    )  # the same rule in its older form


# Ohm's law with IEC 60028 copper, worked by hand: A, m both ways, mm², °C, V.
@pytest.mark.parametrize(
    ("current", "length", "area", "temperature", "volts"),
    [
        (10, 12, 2.5, 20, 0.8276),
        (10, 12, 2.5, 80, 1.0227),
        (8, 10, 1.5, 60, 1.0641),
        (5, 3, 0.75, 20, 0.3448),
    ],
)
def test_voltage_drops_worked_by_hand(circuits, current, length, area, temperature, volts):
    resistance = circuits.wire_resistance(area, length, temperature)
    assert circuits.drop(current, resistance) == pytest.approx(volts, abs=1e-4)


# IEC 60228, largest resistance of flexible (class 5) copper at 20 °C in mΩ/m: mm², plain, tinned.
@pytest.mark.parametrize(
    ("area", "plain", "tinned"),
    [(0.5, 39.0, 40.1), (0.75, 26.0, 26.7), (1, 19.5, 20.0), (1.5, 13.3, 13.7), (2.5, 7.98, 8.21),
     (4, 4.95, 5.09), (6, 3.30, 3.39), (10, 1.91, 1.95)],
)  # fmt: skip
def test_flexible_wire_of_iec_60228_lies_between_ideal_copper_and_the_most_allowed(
    circuits, area, plain, tinned
):
    ideal = 1e3 * circuits.wire_resistance(area, 1)
    assert ideal < plain < tinned <= ideal * circuits.STRANDED


# IEC 60228, factors that bring a resistance measured at °C back to 20 °C. They use 0.004 per kelvin.
@pytest.mark.parametrize(
    ("temperature", "factor"), [(5, 1.064), (15, 1.020), (30, 0.962), (50, 0.893), (75, 0.820), (100, 0.758)]
)
def test_temperature_factors_of_iec_60228(circuits, temperature, factor):
    ratio = circuits.wire_resistance(1, 1, 20) / circuits.wire_resistance(1, 1, temperature)
    assert ratio == pytest.approx(factor, rel=5e-3)


def test_feet_and_thousandths_of_an_inch_agree_with_the_library_pint(circuits):
    registry = pint.UnitRegistry()
    diameter = (registry.Quantity(0.005, "inch") * 92 ** ((36 - 18) / 39)).to("mm").magnitude
    assert circuits.awg_area(18) == pytest.approx(math.pi / 4 * diameter**2)


def test_thirty_degrees_on_a_five_volt_line(circuits):
    # A check value, no source; common practice: commanded to 30° on a 5 V supply about 3 V come back, and
    # 1 to 2 V mean that the position was not reached. The full travel of 48° is ours, to match it.
    assert circuits.expected_volts(circuits.percent_of_angle(30, 48), 5.0) == pytest.approx(3.0)
    reached = [circuits.ratiometric(volts, 5.0) * 48 / 100 for volts in (1.0, 2.0)]
    assert reached == [pytest.approx(6.0), pytest.approx(18.0)]


def test_the_place_of_a_drop_in_a_circuit_worked_by_hand(circuits):
    # Ohm's and Kirchhoff's laws: 12.6 V, 1 Ω of load; 10, 20, 70 and 5 mΩ in cable, fuse, harness, connector.
    ohms = [0.010, 0.020, 0.070, 0.005]
    current = 12.6 / (1 + sum(ohms))
    points = [
        [str(index), 12.6 - current * sum(ohms[:index]), f"{ohm} Ω"] for index, ohm in enumerate([*ohms, 1.0])
    ]
    found = circuits.steps(points)
    assert [step["drop"] for step in found] == pytest.approx([current * ohm for ohm in ohms])
    assert max(found, key=lambda step: step["drop"])["parts"] == "0.07 Ω"


# A 5 V reference, worked by hand: V, reference, percent of a sensor that works from 10 to 90 %.
@pytest.mark.parametrize(
    ("volts", "reference", "percent"),
    [(2.5, 5.0, 50), (2.425, 4.85, 50), (2.5, 4.85, 51.933), (0.25, 5.0, -6.25), (4.75, 5.0, 106.25)],
)
def test_ratiometric_readings_worked_by_hand(circuits, volts, reference, percent):
    assert circuits.ratiometric(volts, reference) == pytest.approx(percent, abs=1e-3)
    assert circuits.expected_volts(percent, reference) == pytest.approx(volts, abs=1e-4)
