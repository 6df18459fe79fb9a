"""The ellipse fit and the nearest point, on both interpreters."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pwa.engine.clocking import ellipse

KNOWN = {"cx": 640.0, "cy": 480.0, "a": 300.0, "b": 180.0, "phi": math.radians(25)}


@pytest.fixture(scope="module")
def both(twin):
    return twin("pwa.engine.clocking.ellipse")


def around(known, count=12, start=0.0, arc=2 * math.pi):
    return [ellipse.at(known, start + arc * n / count) for n in range(count)]


def test_exact_points_give_their_ellipse_back(both):
    assert both.fit(around(KNOWN)) == pytest.approx(KNOWN, rel=1e-10)


def test_five_points_are_enough(both):
    assert both.fit(around(KNOWN, 5)) == pytest.approx(KNOWN, rel=1e-9)


COORDINATE = st.floats(-2000, 2000)


@given(COORDINATE, COORDINATE, st.floats(20, 2000), st.floats(0.3, 0.98), st.floats(0.01, 3.13))
def test_any_rim_in_a_photo_is_found(cx, cy, a, ratio, phi):
    known = {"cx": cx, "cy": cy, "a": a, "b": ratio * a, "phi": phi}
    found = ellipse.fit(around(known))
    for name in ("cx", "cy", "a", "b"):
        assert found[name] == pytest.approx(known[name], abs=1e-7 * a)
    assert math.sin(found["phi"] - phi) == pytest.approx(0, abs=1e-6)


def test_a_circle_is_an_ellipse_without_a_direction(both):
    found = both.fit([[5, 0], [0, 5], [-5, 0], [0, -5], [3, 4], [-4, 3]])
    assert found == pytest.approx({"cx": 0, "cy": 0, "a": 5, "b": 5, "phi": 0}, abs=1e-9)


@pytest.mark.parametrize(
    ("points", "words"),
    [
        ([[0, 0], [1, 0], [0, 1], [1, 1]], "at least 5"),
        ([[0, 0], [1, 0], [0, 1], [1, 1], [1, 1]], "at least 5"),
        ([[n, 2 * n + 1] for n in range(8)], "one line"),
        ([[n, 2 * n + 1 + 0.01 * (n % 2)] for n in range(80)], "ellipse|line"),
    ],
)
def test_points_that_are_no_rim_are_refused(both, points, words):
    with pytest.raises(ValueError, match=words):
        both.fit(points)


def test_nearest_on_the_axes(both):
    flat = {"cx": 0.0, "cy": 0.0, "a": 5.0, "b": 3.0, "phi": 0.0}
    assert both.nearest(flat, [7, 0])["point"] == pytest.approx([5, 0])
    assert both.nearest(flat, [0, -4])["point"] == pytest.approx([0, -3])
    assert both.nearest(flat, [0, 0])["distance"] == pytest.approx(3)
    # inside the evolute: x = a u / focus = 5 * 1 / 3.2, from the normal's equation
    assert both.nearest(flat, [1, 0])["point"] == pytest.approx([1.5625, 3 * math.sqrt(1 - 0.3125**2)])


@given(st.floats(-900, 900), st.floats(-900, 900))
def test_nothing_on_the_ellipse_is_nearer(x, y):
    found = ellipse.nearest(KNOWN, [640 + x, 480 + y])
    others = [math.dist(ellipse.at(KNOWN, n / 200 * math.pi), [640 + x, 480 + y]) for n in range(400)]
    assert found["distance"] <= min(others) + 1e-6
    assert math.dist(found["point"], [640 + x, 480 + y]) == pytest.approx(found["distance"], abs=1e-6)
    assert ellipse.at(KNOWN, found["anomaly"]) == pytest.approx(found["point"])


def test_residual_is_the_rms_distance(both):
    off = [[640 + 302 * math.cos(t), 480 + 302 * math.sin(t)] for t in (0, 1, 2, 3, 4)]
    circle = {"cx": 640.0, "cy": 480.0, "a": 300.0, "b": 300.0, "phi": 0.0}
    assert both.residual(circle, off) == pytest.approx(2)
