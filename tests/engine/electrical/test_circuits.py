"""Wire, sensors and the bus, as a technician meets them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pwa.engine.electrical import circuits as module


@pytest.fixture(scope="module")
def circuits(twin):
    return twin("pwa.engine.electrical.circuits")


@pytest.mark.parametrize(
    ("volts", "where"),
    [(0.24, "low-fault"), (0.25, "in-range"), (2.5, "in-range"), (4.75, "in-range"), (4.76, "high-fault")],
)
def test_a_signal_beyond_five_and_ninety_five_percent_is_a_circuit_fault(circuits, volts, where):
    assert circuits.band(volts, 5.0) == where


@pytest.mark.parametrize(
    ("volts", "verdict"), [(4.74, "low"), (4.75, "ok"), (5.0, "ok"), (5.25, "ok"), (5.26, "high")]
)
def test_a_reference_is_held_against_its_tolerance(circuits, volts, verdict):
    assert circuits.reference_check(volts, 5.0, 5) == verdict


def test_the_signal_counts_against_the_reference_as_measured(circuits):
    assert circuits.ratiometric(2.425, 4.85) == pytest.approx(50)
    assert circuits.ratiometric(2.5, 4.85) == pytest.approx(51.9, abs=0.05)


@given(st.floats(0, 100), st.floats(1, 6))
def test_percent_and_volts_turn_each_other_back(percent, reference):
    volts = module.expected_volts(percent, reference)
    assert module.ratiometric(volts, reference) == pytest.approx(percent, abs=1e-9)


@given(st.floats(0.1, 50), st.floats(0.1, 30), st.floats(0.2, 100), st.floats(-40, 150))
def test_sound_wire_has_no_excess_resistance(current, length, area, temperature):
    ohms = module.wire_resistance(area, length, temperature)
    assert module.excess_resistance(module.drop(current, ohms), current, ohms) == pytest.approx(0, abs=1e-9)


POINTS = [
    ["battery", 12.6, "cable"],
    ["fuse", 12.5, "harness"],
    ["plug", 12.45, "connector"],
    ["pin", 11.7, ""],
]


def test_the_steps_of_a_path_add_up_to_its_drop(circuits):
    found = circuits.steps(POINTS)
    assert [step["drop"] for step in found] == pytest.approx([0.1, 0.05, 0.75])
    assert (found[2]["start"], found[2]["end"], found[2]["parts"]) == ("plug", "pin", "connector")


def test_the_meters_last_digit_is_no_rise(circuits):
    assert circuits.steps([["a", 12.50, ""], ["b", 12.52, ""]])[0]["drop"] == 0


def test_a_sensor_whose_signal_falls_is_read_backwards(circuits):
    assert circuits.ratiometric(4.5, 5.0, [90, 10]) == pytest.approx(0)
    assert circuits.ratiometric(1.5, 5.0, [90, 10]) == pytest.approx(75)
    assert circuits.expected_volts(75, 5.0, [90, 10]) == pytest.approx(1.5)


def test_a_makers_own_band_takes_the_place_of_the_usual_one(circuits):
    assert circuits.band(0.22, 5.0) == "low-fault"
    assert circuits.band(0.22, 5.0, [4, 96]) == "in-range"


@pytest.mark.parametrize(
    ("name", "given", "says"),
    [
        ("ratiometric", [13, 5], "13 V cannot come from a line of 5 V"),
        ("reference_check", [13, 5, 5], "13 V cannot come"),
        ("band", [-1, 5], "probes are swapped"),
        ("band", [2.5, 0], "above 0 V"),
        ("working_reference", [1.2, 5], "1.2 V instead of 5 V: mend the reference first"),
        ("working_reference", [13, 5], "13 V cannot come"),
        ("ratiometric", [2, 5, [10, 10]], "from one percentage"),
        ("band", [2, 5, [-1, 95]], "from one percentage"),
        ("percent_of_angle", [50, 40], "angle is from 0"),
        ("wire_resistance", [1, 1, 300], "from -60 to 200"),
        ("steps", [[["battery", 12.6, ""]]], "at least two points"),
        ("steps", [[["battery", 12.0, ""], ["pin", 12.6, ""]]], "rises from 12.00 V .battery. to 12.60 V"),
        ("wire_resistance", [0, 1], "cross-section"),
        ("excess_resistance", [0.1, 0, 0], "load the circuit"),
        ("awg_area", [41], "gauge is from"),
    ],
)
def test_what_cannot_be_is_refused_with_a_reason(circuits, name, given, says):
    with pytest.raises(ValueError, match=says):
        getattr(circuits, name)(*given)
