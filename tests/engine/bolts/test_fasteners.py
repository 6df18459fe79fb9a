"""Tightening orders, extensions and stages, as a technician meets them."""

import itertools
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pwa.engine.bolts import fasteners as module

COUNTS = st.integers(1, 40)


@pytest.fixture(scope="module")
def fasteners(twin):
    return twin("pwa.engine.bolts.fasteners")


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


@given(st.floats(0.1, 1000), st.floats(100, 1500), st.floats(0, 300))
def test_a_square_extension_changes_nothing_and_a_straight_one_lowers_the_setting(torque, wrench, length):
    assert module.extension(torque, wrench, length, 90) == pytest.approx(torque)
    assert module.extension(torque, wrench, length, 0) <= torque * (1 + 1e-12)


@given(st.floats(1, 1000), st.floats(0.1, 0.9), st.integers(2, 6))
def test_stages_go_up_evenly_from_the_first_share_to_all_of_it(torque, first, count):
    steps = module.stages(torque, first, count)
    assert steps[0] == pytest.approx(first * torque)
    assert steps[-1] == pytest.approx(torque)
    rises = [later - earlier for earlier, later in itertools.pairwise(steps)]
    assert rises == pytest.approx([rises[0]] * (count - 1))
    assert rises[0] > 0


def test_one_stage_is_the_torque_itself(fasteners):
    assert fasteners.stages(60, 0.3, 1) == [60]


@given(COUNTS)
def test_bolts_of_a_row_stand_apart_inside_the_drawing(count):
    places = module.in_row(count)
    assert len(places) == count
    assert all(-1 <= x <= 1 and -1 <= y <= 1 for x, y in places)
    assert [x for x, _ in places] == sorted({x for x, _ in places})


@pytest.mark.parametrize(
    ("name", "given", "says"),
    [
        ("pattern", [0, "cross"], "at least one"),
        ("pattern", [4, "zigzag"], "no order known"),
        ("extension", [50, 0, 50, 0], "length is above 0"),
        ("extension", [50, 100, 90, 180], "turn the extension"),
        ("stages", [0, 0.3, 3], "above 0"),
        ("stages", [60, 1.0, 3], "a part of"),
        ("stages", [60, 0.3, 7], "1 to 6"),
    ],
)
def test_what_cannot_be_is_refused_with_a_reason(fasteners, name, given, says):
    with pytest.raises(ValueError, match=says):
        getattr(fasteners, name)(*given)
