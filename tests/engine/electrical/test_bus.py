"""Terminators and levels of the data bus, as a meter shows them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pwa.engine.electrical import bus as module


@pytest.fixture(scope="module")
def bus(twin):
    return twin("pwa.engine.electrical.bus")


@pytest.mark.parametrize(
    ("ohms", "count", "says", "also"),
    [
        (60, 2, "as it should be", "can still touch ground"),
        (120, 1, "one is missing", "cut off"),
        (40, 3, "too many", "logger"),
        (30, 4, "too many", "logger"),
        (15, -1, "five terminators or more", "plugged in"),
        (47, -1, "no whole number", "changed its value"),
        (80, -1, "no whole number", "power was still on"),
        (300, -1, "no whole number", "cut off"),
        (2, -1, "touch each other", "unplug one by one"),
        (1e6, 0, "open", "wrong pins"),
    ],
)
def test_terminators_are_counted_and_what_else_it_could_be_is_said(bus, ohms, count, says, also):
    found = bus.terminators(ohms)
    assert found["count"] == count
    assert says in found["sentence"]
    assert also in " ".join(found["also"])


@pytest.mark.parametrize(
    ("high", "low", "state"),
    [(2.5, 2.5, "recessive"), (2.3, 2.31, "recessive"), (3.5, 1.5, "dominant"), (2.8, 2.2, "traffic"),
     (2.6, 2.4, "traffic")],
)  # fmt: skip
def test_levels_of_a_sound_bus_are_ok(bus, high, low, state):
    assert bus.levels(high, low, state)["outcome"] == "ok"


@pytest.mark.parametrize(
    ("high", "low", "state", "says"),
    [
        (12.1, 11.9, "traffic", "touches a supply"),
        (2.6, 8.0, "traffic", "touches a supply"),
        (0.0, 0.02, "traffic", "no power or sleep"),
        (2.3, 2.7, "traffic", "swapped"),
        (1.5, 3.5, "dominant", "swapped"),
        (2.5, 2.5, "traffic", "touch each other"),
        (2.5, 2.5, "dominant", "nobody sends"),
        (3.0, 0.1, "traffic", "CAN_L is below"),
        (2.6, 1.7, "traffic", "not even about 2.5 V"),
        (3.0, 2.0, "dominant", "difference is below"),
        (3.4, 3.4, "recessive", "CAN_H is above"),
        (2.9, 2.6, "recessive", "difference is above"),
    ],
)
def test_levels_of_a_bad_bus_say_what_is_wrong(bus, high, low, state, says):
    found = bus.levels(high, low, state)
    assert found["outcome"] == "wrong"
    assert says in found["sentence"]


def test_a_better_instrument_is_held_to_narrower_limits(bus):
    assert bus.levels(2.5, 2.42, "recessive")["outcome"] == "ok"
    assert bus.levels(2.5, 2.42, "recessive", 0.0)["outcome"] == "wrong"


@pytest.mark.parametrize(
    ("name", "given", "says"),
    [
        ("terminators", [-1], "not negative"),
        ("levels", [2.5, 2.5, "asleep"], "quiet, talking, or dominant"),
        ("levels", [-2.5, 2.5, "traffic"], "-2.5 V on CAN_H cannot be"),
        ("levels", [2.5, 230, "traffic"], "230 V on CAN_L cannot be"),
    ],
)
def test_what_cannot_be_is_refused_with_a_reason(bus, name, given, says):
    with pytest.raises(ValueError, match=says):
        getattr(bus, name)(*given)


@given(st.floats(0, 1e7))
def test_every_resistance_has_a_meaning_in_one_sentence(ohms):
    found = module.terminators(ohms)
    assert found["sentence"].endswith(".")
    assert found["also"]
