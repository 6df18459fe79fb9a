"""Tightening orders, extensions and overload, as a technician meets them."""

import itertools
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pwa.engine import fasteners as module

COUNTS = st.integers(1, 40)


@pytest.fixture(scope="module")
def fasteners(twin):
    return twin("pwa.engine.fasteners")


# Common practice, no source.
@pytest.mark.parametrize(
    ("count", "kind", "order"),
    [
        (4, "cross", [1, 3, 2, 4]),
        (5, "cross", [1, 3, 5, 2, 4]),
        (6, "cross", [1, 4, 2, 5, 3, 6]),
        (8, "cross", [1, 5, 3, 7, 2, 6, 4, 8]),
        (12, "cross", [1, 7, 4, 10, 2, 8, 5, 11, 3, 9, 6, 12]),
        (1, "cross", [1]),
        (2, "cross", [1, 2]),
        (4, "circle", [1, 2, 3, 4]),
        (5, "spiral", [3, 2, 4, 1, 5]),
        (4, "spiral", [2, 3, 1, 4]),
    ],
)
def test_orders_of_tightening(fasteners, count, kind, order):
    assert fasteners.pattern(count, kind) == order


@given(COUNTS, st.sampled_from(["cross", "circle", "spiral"]))
def test_every_order_takes_each_bolt_once(count, kind):
    assert sorted(module.pattern(count, kind)) == list(range(1, count + 1))


@given(st.integers(5, 40))
def test_a_cross_never_goes_to_the_next_bolt(count):
    order = module.pattern(count, "cross")
    for one, other in itertools.pairwise(order):
        apart = abs(one - other)
        assert min(apart, count - apart) > 1


@given(COUNTS)
def test_bolts_stand_evenly_on_the_unit_circle(count):
    places = module.positions(count)
    assert len(places) == count
    assert all(math.hypot(x, y) == pytest.approx(1) for x, y in places)
    assert places[0] == pytest.approx([0, -1])


def test_bolts_are_numbered_clockwise_from_the_top(fasteners):
    flat = [value for place in fasteners.positions(4) for value in place]
    assert flat == pytest.approx([0, -1, 1, 0, 0, 1, -1, 0], abs=1e-12)  # y points down on a screen


def test_a_torque_beyond_proof_is_warned_of(fasteners):
    assert fasteners.exceeds_proof(25, 0.2, 8, 1.25, "8.8") == ""
    said = fasteners.exceeds_proof(33.9, 0.12, 8, 1.25, "8.8")
    assert "35.3 kN, above the 21.2 kN" in said
    assert "maker's value" in said


@given(st.floats(0.1, 1000), st.floats(100, 1500), st.floats(0, 300))
def test_a_square_extension_changes_nothing_and_a_straight_one_lowers_the_setting(torque, wrench, length):
    assert module.extension(torque, wrench, length, 90) == pytest.approx(torque)
    assert module.extension(torque, wrench, length, 0) <= torque * (1 + 1e-12)


@given(st.floats(0, 5000))
def test_pound_feet_and_newton_metres_turn_each_other_back(torque):
    assert module.newton_metres(module.pound_feet(torque)) == pytest.approx(torque)


@pytest.mark.parametrize(
    ("name", "given", "says"),
    [
        ("pattern", [0, "cross"], "at least one"),
        ("pattern", [4, "zigzag"], "no order known"),
        ("extension", [50, 0, 50, 0], "length is above 0"),
        ("extension", [50, 100, 90, 180], "turn the extension"),
        ("stress_area", [8, 8], "pitch"),
        ("proof_load", [8, 1.25, "7.7"], "no property class"),
        ("proof_load", [20, 2.5, "8.8"], "up to 16 mm"),
        ("exceeds_proof", [25, 0, 8, 1.25, "8.8"], "nut factor"),
    ],
)
def test_what_cannot_be_is_refused_with_a_reason(fasteners, name, given, says):
    with pytest.raises(ValueError, match=says):
        getattr(fasteners, name)(*given)
