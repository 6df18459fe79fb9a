"""Equal views, several photos, a lever's stops, a drain, a known pattern, where to tap."""

import math

import numpy as np
import pytest

from pwa.engine.clocking import agreement, drain, lever, turning, witness
from tests.helpers.pinhole import centre, project, rim


def taken(angle, distance=6.0, tilt=35.0, roll=20.0, **more):
    marks = [project(10 + turn, distance, tilt, roll) for turn in (0, angle)]
    return witness.reading(rim(distance, tilt, roll), marks[0], marks[1], **more)


def removed(angle, distance=6.0, tilt=35.0, roll=20.0):
    return taken(angle, distance, tilt, roll, centre=centre(distance, tilt, roll))


def test_holes_of_a_bolt_circle_remove_perspective(twin):
    both = twin("pwa.engine.clocking.witness")
    view = (4.0, 40.0, 30.0)
    marks = [project(turn, *view) for turn in (15, 85)]
    for taps, count in ((8, 8), (3, 8), (5, 12)):
        holes = [project(100 - 360 / count * n, *view, radius=1.15) for n in range(taps)]
        found = both.reading(rim(*view), *marks, holes=holes, count=count)
        assert found["angle"] == pytest.approx(70, abs=1e-6)
        assert (found["perspective"], found["limit"]) == ("removed", 0)


@pytest.mark.parametrize(
    ("taps", "count", "words"),
    [(2, 8, "at least 3"), (8, 6, "More holes"), (8, 8, "do not fit the rim")],
)
def test_holes_that_cannot_be_are_refused(twin, taps, count, words):
    view = (4.0, 40.0, 30.0)
    spiral = [project(45 * n, *view, radius=0.5 + 0.1 * n) for n in range(taps)]
    marks = [project(turn, *view) for turn in (0, 9)]
    with pytest.raises(ValueError, match=words):
        twin("pwa.engine.clocking.witness").reading(rim(*view), *marks, holes=spiral, count=count)


def test_marks_beside_the_rim_bring_advice(twin):
    view = (30.0, 30.0, 20.0)
    beside = project(60, *view, radius=1.05)
    found = twin("pwa.engine.clocking.witness").reading(rim(*view), project(0, *view), beside, centre(*view))
    assert "where they meet the rim" in found["advice"]


def test_marks_anywhere_in_the_plane_count_along_their_ray(twin):
    view = (5.0, 35.0, 50.0)
    marks = [project(0, *view, radius=0.4), project(65, *view, radius=0.9)]
    found = twin("pwa.engine.clocking.witness").reading(rim(*view), *marks, centre(*view), on_rim=False)
    assert found["angle"] == pytest.approx(65, abs=1e-6)


def test_a_known_distance_bounds_closer(twin):
    near = twin("pwa.engine.clocking.witness").nearness(1.5, 0.12)
    assert near == pytest.approx(0.04)
    assert taken(90, radius_over_distance=near)["limit"] < 0.2 * taken(90)["limit"]
    with pytest.raises(ValueError, match="further from the rim"):
        witness.nearness(0.05, 0.12)


def test_equal_views_cancel_part_of_perspective_and_say_so(twin):
    both = twin("pwa.engine.clocking.turning")
    first, second = taken(90), taken(90.5)
    apart, alike = both.rotation(first, second, 5.0), both.rotation(first, second, 5.0, same_view=True)
    assert apart["verdict"] == "cannot tell"
    assert "Stand back and zoom, or tap the true centre." in apart["sentence"]
    assert alike["cancelled"]
    assert alike["high"] - alike["low"] < 0.6 * (apart["high"] - apart["low"])
    assert "same place, which cancels part" in alike["sentence"]
    other = both.rotation(first, taken(90.5, tilt=10.0), 5.0, same_view=True)
    assert not other["cancelled"]
    assert "not alike" in other["sentence"]


def test_equal_views_by_hand_still_hold_the_truth():
    """The same place again: 15 % nearer or further, a little aside, the phone turned a little."""
    random = np.random.default_rng(2)
    for _ in range(60):
        distance, tilt, angle = random.uniform(4, 12), random.uniform(10, 45), random.uniform(-170, 170)
        turned, roll = random.uniform(-10, 10), random.uniform(0, 180)
        first = taken(angle, distance, tilt, roll)
        nearer, aside, leant = random.uniform(0.85, 1.15), random.uniform(-2, 2), random.uniform(-3, 3)
        second = taken(angle + turned, distance * nearer, tilt + aside, roll + leant)
        found = turning.rotation(first, second, 1.0, same_view=True)
        assert found["low"] <= turned <= found["high"]


def test_the_offset_is_also_a_length_along_the_rim(twin):
    found = twin("pwa.engine.clocking.turning").rotation(removed(40), removed(43), 1.0, diameter=0.12)
    assert found["along"] == pytest.approx(math.radians(3) * 0.06)
    assert found["sentence"].endswith("That is 3.1 mm along a rim of 120 mm.")


def test_whole_holes_that_fit_are_named_and_play_is_allowed(twin):
    both = twin("pwa.engine.clocking.turning")
    two = both.rotation({"angle": 0.0, "u": 8.0}, {"angle": 10.0, "u": 8.0}, 1.0, "bolts", 18)
    assert "Whole holes of 18 that fit: 0, 1." in two["sentence"]
    loose = both.rotation({"angle": 0.0, "u": 0.1}, {"angle": 0.9, "u": 0.1}, 1.0, "bolts", 18)
    assert loose["rotation"] == 0


def test_photos_that_agree_are_surer_together(twin):
    both = twin("pwa.engine.clocking.agreement")
    one = removed(40)
    found = both.of([one, removed(40.2, tilt=20.0), removed(39.9, roll=70.0)])
    assert found["agree"]
    assert found["u"] < one["u"]
    assert found["angle"] == pytest.approx(40, abs=0.2)
    assert found["sentence"].startswith("3 photos agree")
    assert turning.rotation(found, removed(40), 2.0)["verdict"] == "within"


def test_a_photo_that_does_not_agree_is_named(twin):
    found = twin("pwa.engine.clocking.agreement").of([removed(40), removed(40.1), removed(48)])
    assert not found["agree"]
    assert "Photo 3 is" in found["sentence"]
    assert found["low"] < 40
    single = twin("pwa.engine.clocking.agreement").of([removed(40)])
    assert single["angle"] == pytest.approx(40)
    assert "A second one" in single["sentence"]
    with pytest.raises(ValueError, match="no reading"):
        agreement.of([])


def test_perspective_is_no_disagreement_and_is_not_averaged_away():
    found = agreement.of([taken(170, 4.0), taken(170, 4.0, roll=200.0), taken(170, 6.0)])
    assert found["agree"]
    assert found["low"] <= 170 <= found["high"]


def test_a_lever_between_its_stops(twin):
    both = twin("pwa.engine.clocking.lever")
    found = both.travel(removed(170), removed(-135), 50, 60, 0.04)
    assert found["travel"] == pytest.approx(55)
    assert found["verdict"] == "within"
    # chord of 55 degrees at 40 mm, by hand: 2 * 40 * sin(27.5 deg) = 36.94 mm
    assert found["stroke"] == pytest.approx(0.03694, abs=1e-5)
    assert both.travel(removed(10), removed(30), 50, 60)["verdict"] == "out"
    assert both.travel(removed(0), removed(50.1), 50, 60)["verdict"] == "cannot tell"
    assert both.travel(removed(0), removed(50.1))["verdict"] == ""
    with pytest.raises(ValueError, match="least travel"):
        lever.travel(removed(0), removed(50), 60, 50)


@pytest.mark.parametrize(
    ("went", "verdict", "words"),
    [(55, "within", "within"), (30, "out", "outside"), (80, "out", "outside"), (-80, "out", "outside")],
)
def test_a_lever_that_goes_too_far_or_not_far_enough_is_out(twin, went, verdict, words):
    found = twin("pwa.engine.clocking.lever").travel(removed(0), removed(went), 50, 60)
    assert found["verdict"] == verdict
    assert found["sentence"].startswith(f"The lever went {abs(went)}.0° (95 %: ")
    assert found["sentence"].endswith(f": {words} 50° to 60°.")


@pytest.mark.parametrize("went", [50, 60])
def test_a_lever_at_its_limit_is_left_open(twin, went):
    """Half of the interval is on either side of the limit."""
    found = twin("pwa.engine.clocking.lever").travel(removed(0), removed(went), 50, 60)
    assert found["verdict"] == "cannot tell"
    assert found["sentence"].endswith(": cannot tell whether it is within 50° to 60°.")


def test_down_is_where_the_phone_says(twin):
    both = twin("pwa.engine.clocking.drain")
    assert both.gravity([0, 9.8, 0]) == pytest.approx([0, 1, 0])  # upright: down is down in the picture
    assert both.gravity([0, 0, 9.8]) == pytest.approx([0, 0, 1])  # on its back: down is into the scene
    assert both.gravity([9.8, 0, 0], 90) == pytest.approx([0, 1, 0])  # its top to the left
    with pytest.raises(ValueError, match="no direction"):
        drain.gravity([0, 0, 0])


def test_a_drain_is_judged_in_space_and_not_in_the_picture(twin):
    """The rim tilted 40 degrees, its far side down in the picture; the drain in its plane, down and away."""
    both = twin("pwa.engine.clocking.drain")
    view = (20.0, 40.0)
    ends = [project(90, *view, radius=size) for size in (0.0, 1.2)]
    level = [0.0, 1.0, 0.0]
    known = both.direction(rim(*view), *ends, level, 50, centre(*view))
    assert known["off"] == pytest.approx(40, abs=1)
    assert known["verdict"] == "within"
    along = [0.0, math.cos(math.radians(40)), math.sin(math.radians(40))]
    assert both.direction(rim(*view), *ends, along, 10, centre(*view))["off"] == pytest.approx(0, abs=1)
    # without the centre it may as well come towards the camera: 80 degrees apart
    unknown = both.direction(rim(*view), *ends, along, 30)
    assert unknown["low"] < 1
    assert unknown["high"] > 80
    assert unknown["verdict"] == "cannot tell"
    assert "tap the true centre" in unknown["advice"]
    assert both.direction(rim(*view), *ends, [0, -1, 0], 50, centre(*view))["verdict"] == "out"


def test_the_drain_s_interval_holds_the_truth():
    random = np.random.default_rng(4)
    for _ in range(40):
        view = (random.uniform(4, 20), random.uniform(0, 45), 0.0)
        turn, lean = math.radians(random.uniform(0, 360)), math.radians(view[1])
        down = random.normal(0, 1, 3)
        down /= np.linalg.norm(down)
        true = [math.cos(turn), math.sin(turn) * math.cos(lean), math.sin(turn) * math.sin(lean)]
        ends = [project(math.degrees(turn), *view, radius=size) for size in (0.2, 1.1)]
        taps = np.array([*rim(*view), *ends, centre(*view)])
        taps = (taps + random.normal(0, 1, taps.shape)).tolist()
        for middle in (None, taps[14]):
            found = drain.direction(taps[:12], taps[12], taps[13], down.tolist(), centre=middle)
            assert found["low"] <= math.degrees(math.acos(np.dot(true, down))) <= found["high"]


def test_a_card_gives_true_angles_and_lengths(twin):
    both = twin("pwa.engine.clocking.pattern")
    view = (4.0, 40.0, 25.0)
    # the corners of a card of 85.60 mm by 53.98 mm (ISO/IEC 7810, ID-1), 50 mm being the rim's radius
    corners = [[42.8, 26.99], [-42.8, 26.99], [-42.8, -26.99], [42.8, -26.99]]

    def seen(x, y):
        return project(math.degrees(math.atan2(y, x)), *view, radius=math.hypot(x, y) / 50)

    plane = both.plane(corners, [seen(*corner) for corner in corners], 1.0)
    found = both.reading(plane, [0, 0], project(10, *view), project(75, *view))
    assert found["angle"] == pytest.approx(65, abs=1e-6)
    assert both.place(plane, seen(12, -30)) == pytest.approx([12, -30], abs=1e-6)
    assert both.picture(plane, [12, -30]) == pytest.approx(seen(12, -30), abs=1e-6)
    length = both.length(plane, seen(10, 0), seen(40, 40))
    assert length["length"] == pytest.approx(50, abs=1e-6)
    assert 0 < length["high"] - length["low"] < 3


@pytest.mark.parametrize(
    ("places", "words"),
    [
        ([[0, 0], [1, 0], [0, 1]], "at least 4"),
        ([[0, 0], [1, 0], [2, 0], [3, 0]], "one line"),
    ],
)
def test_a_pattern_that_fixes_no_plane_is_refused(twin, places, words):
    with pytest.raises(ValueError, match=words):
        twin("pwa.engine.clocking.pattern").plane(places, [[10 * x, 10 * y] for x, y in places])


def test_the_thumb_is_sent_where_taps_are_missing(twin):
    both = twin("pwa.engine.clocking.rim_guide")
    assert "5 more points" in both.guide([])["sentence"]
    points = rim(20.0, 0.0, count=24)  # from 3 o'clock clockwise
    half = both.guide(points[:13])
    assert (half["enough"], half["hour"]) == (False, 12)
    assert half["gap"] == pytest.approx(180, abs=0.1)
    assert half["next"] == pytest.approx([640, 180], abs=0.5)
    assert "12 o'clock" in half["sentence"]
    assert both.guide(points[::2])["enough"]
    assert "Tap 2 more" in both.guide(points[::4])["sentence"]
