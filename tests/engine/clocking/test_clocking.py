"""Clocking: readings and rotations, on both interpreters."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pwa.engine.clocking import perspective, turning, witness
from tests.helpers.pinhole import centre, project, rim

FAR, NEAR = 1000.0, 6.0


@pytest.fixture(scope="module")
def both(twin):
    return twin("pwa.engine.clocking.witness")


@pytest.fixture(scope="module")
def turns(twin):
    return twin("pwa.engine.clocking.turning")


def view(fixed, moving, distance=FAR, tilt=30.0, roll=20.0, count=12):
    return (
        rim(distance, tilt, roll, count),
        project(fixed, distance, tilt, roll),
        project(moving, distance, tilt, roll),
    )


def a_reading(angle, u):
    return {"angle": angle, "u": u}


def test_clockwise_as_seen_is_positive(both):
    # by hand: a circle about the origin, y down; from 3 o'clock to 6 o'clock is clockwise
    circle = [[100, 0], [0, 100], [-100, 0], [0, -100], [60, 80], [-80, 60.5]]
    assert both.reading(circle, [100, 0], [0, 100])["angle"] == pytest.approx(90, abs=0.3)
    assert both.reading(circle, [0, 100], [100, 0])["angle"] == pytest.approx(-90, abs=0.3)


def test_a_distant_view_keeps_the_angle(both):
    found = both.reading(*view(10, 57.5))
    assert found["angle"] == pytest.approx(47.5, abs=0.05)
    assert found["perspective"] == "bounded"
    assert found["residual"] == pytest.approx(0, abs=0.01)
    assert found["coverage"] == pytest.approx(330, abs=1)


@settings(deadline=None)  # the machine may be busy
@given(st.floats(0, 360), st.floats(-179, 180), st.floats(4, 40), st.floats(0, 45), st.floats(0, 180))
def test_the_tapped_centre_removes_perspective(fixed, angle, distance, tilt, roll):
    found = witness.reading(*view(fixed, fixed + angle, distance, tilt, roll), centre(distance, tilt, roll))
    assert found["perspective"] == "removed"
    assert perspective.wrap(found["angle"] - angle) == pytest.approx(0, abs=1e-6)


@settings(deadline=None)  # the machine may be busy
@given(st.floats(0, 360), st.floats(-179, 180), st.floats(5, 40), st.floats(0, 50), st.floats(0, 180))
def test_without_the_centre_the_interval_holds_the_truth(fixed, angle, distance, tilt, roll):
    found = witness.reading(*view(fixed, fixed + angle, distance, tilt, roll))
    assert abs(perspective.wrap(found["angle"] - angle)) <= 1.96 * found["u"]


@settings(deadline=None)  # the machine may be busy
@given(st.floats(0, 360), st.floats(5, 40), st.floats(5, 40), st.floats(0, 50), st.floats(0, 50))
def test_two_opposite_worst_views_stay_in_the_interval_of_a_rotation(fixed, near, far, tilt, lean):
    before = witness.reading(*view(fixed, fixed + 90, near, tilt, 0.0))
    after = witness.reading(*view(fixed, fixed + 90, far, lean, 180.0))
    turned = turning.rotation(before, after, 1.0)
    assert turned["low"] <= 0 <= turned["high"]
    assert turned["verdict"] != "out"


def test_marks_count_where_they_meet_the_rim(both):
    points, fixed, _ = view(0, 0, tilt=0.0, roll=0.0)
    outside = [640.0 + 315.0, 480.0]
    assert both.reading(points, fixed, outside)["angle"] == pytest.approx(0, abs=1e-6)


def test_advice_says_what_would_help(both):
    near = both.reading(*view(10, 100, NEAR, 40.0))
    assert near["advice"] == "Stand back and zoom, or tap the true centre."
    removed = both.reading(*view(10, 100, NEAR, 40.0), centre(NEAR, 40.0, 20.0))
    assert removed["advice"] == ""
    assert removed["u"] < near["u"]
    points, fixed, moving = view(10, 100, tilt=20.0, count=24)
    arc = both.reading(points[:12], fixed, moving)
    assert "all the way round" in arc["advice"]
    assert arc["u"] > both.reading(points, fixed, moving)["u"]
    assert "more points" in both.reading(*view(10, 100, tilt=20.0, count=6))["advice"]
    assert "squarer" in both.reading(*view(10, 100, tilt=65.0))["advice"]


def test_rougher_taps_are_less_certain(both):
    points, fixed, moving = view(10, 100)
    rough = [[x + 5 * (-1) ** n, y] for n, (x, y) in enumerate(points)]
    middle = centre(FAR, 30.0, 20.0)
    assert (
        both.reading(rough, fixed, moving, middle)["u"] > 2 * both.reading(points, fixed, moving, middle)["u"]
    )


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"rim": rim(FAR, 30.0)[:4]}, "at least 5"),
        ({"rim": [[10 * n, 5 * n] for n in range(9)]}, "one line"),
        ({"rim": [*rim(FAR, 0.0)[:11], [640.0, 480.0]]}, "not lie on one rim"),
        ({"fixed": [640.0, 480.0]}, "fixed mark is not on the rim"),
        ({"moving": [1200.0, 480.0]}, "moving mark is not on the rim"),
        ({"centre": [1000.0, 480.0]}, "outside the rim"),
        ({"centre": [760.0, 480.0]}, "does not fit the shape"),
    ],
)
def test_taps_that_cannot_be_right_are_refused(both, changed, words):
    points, fixed, moving = view(0, 90, roll=0.0)
    taps = {"rim": points, "fixed": fixed, "moving": moving, "centre": None}
    taps.update(changed)
    with pytest.raises(ValueError, match=words):
        both.reading(taps["rim"], taps["fixed"], taps["moving"], taps["centre"])


@pytest.mark.parametrize(
    ("angle", "u", "verdict"),
    [
        (10.3, 0.2, "within"),
        (16.0, 1.0, "out"),
        (4.0, 1.0, "out"),
        (10.9, 0.2, "cannot tell"),
        (10.0, 2.0, "cannot tell"),
    ],
)
def test_the_whole_interval_decides(turns, angle, u, verdict):
    turned = turns.rotation(a_reading(10.0, 0.0), a_reading(angle, u), 1.0)
    assert turned["rotation"] == pytest.approx(angle - 10)
    assert [turned["low"], turned["high"]] == pytest.approx([angle - 10 - 1.96 * u, angle - 10 + 1.96 * u])
    assert turned["verdict"] == verdict
    assert verdict.split(" ", maxsplit=1)[0] in turned["sentence"]


def test_the_sentence_is_plain(turns):
    turned = turns.rotation(a_reading(170.0, 0.3), a_reading(-175.0, 0.4), 2.0, "v-band")
    assert turned["sentence"] == "Turned 15.0° clockwise (95 %: 14.0° to 16.0°): out of ±2°."
    level = turns.rotation(a_reading(5.0, 0.1), a_reading(5.01, 0.1), 2.5, "v-band")
    assert level["sentence"] == "Turned 0.0° (95 %: -0.3° to 0.3°): within ±2.5°."


def test_bolts_allow_whole_holes_only(turns):
    one = turns.rotation(a_reading(10.0, 1.0), a_reading(-18.8, 1.0), 1.0, "bolts", 12)
    assert (one["rotation"], one["verdict"]) == (-30.0, "out")
    assert one["sentence"] == "Turned by 1 hole of 12, 30° counter-clockwise: out of ±1°."
    none = turns.rotation(a_reading(10.0, 1.0), a_reading(11.5, 1.0), 1.0, "bolts", 12)
    assert (none["rotation"], none["verdict"]) == (0.0, "within")
    assert none["sentence"] == "Back on the same holes of 12, not turned: within ±1°."
    half = turns.rotation(a_reading(0.0, 1.0), a_reading(179.5, 1.0), 1.0, "bolts", 8)
    assert half["rotation"] == 180.0


def test_bolts_do_not_decide_when_two_holes_fit_or_none(turns):
    two = turns.rotation(a_reading(0.0, 8.0), a_reading(10.0, 8.0), 1.0, "bolts", 18)
    assert (two["rotation"], two["verdict"]) == (pytest.approx(10.0), "cannot tell")
    none = turns.rotation(a_reading(0.0, 0.5), a_reading(12.0, 0.5), 1.0, "bolts", 12)
    assert (none["rotation"], none["verdict"]) == (pytest.approx(12.0), "out")
    assert "No whole hole of 12 fits" in none["sentence"]


def test_an_unknown_number_of_bolts_is_no_help(turns):
    turned = turns.rotation(a_reading(0.0, 0.2), a_reading(28.0, 0.2), 1.0, "bolts", 0)
    assert turned["rotation"] == pytest.approx(28)


def test_a_tolerance_of_nothing_is_refused(turns):
    with pytest.raises(ValueError, match="more than 0"):
        turns.rotation(a_reading(0.0, 1.0), a_reading(0.0, 1.0), 0.0)


@given(st.floats(-1e4, 1e4))
def test_wrapped_angles_stay_in_one_turn(angle):
    wrapped = perspective.wrap(angle)
    assert -180 < wrapped <= 180
    assert (wrapped - angle) / 360 == pytest.approx(round((wrapped - angle) / 360), abs=1e-9)
