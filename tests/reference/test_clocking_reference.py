"""Ellipses and clocking against published points, OpenCV, and a simulated pinhole camera."""

import math

import cv2
import numpy as np
import pytest

from tests.pinhole import centre, project, rim


@pytest.fixture(scope="module")
def ellipses(twin):
    return twin("pwa.engine.ellipse")


@pytest.fixture(scope="module")
def clocking(twin):
    return twin("pwa.engine.clocking")


@pytest.fixture(scope="module")
def perspective(twin):
    return twin("pwa.engine.perspective")


# Points of Gander, Golub & Strebel, "Least-squares fitting of circles and ellipses", BIT 34 (1994), p. 558.
PUBLISHED = [[1, 7], [2, 6], [5, 8], [7, 7], [9, 5], [3, 7], [6, 2], [8, 4]]


def test_the_points_of_gander_golub_and_strebel(ellipses):
    # The paper fits geometrically; this is the direct fit, as OpenCV 5.0's fitEllipseDirect and scikit-image
    # 0.26's EllipseModel give it.
    found = ellipses.fit(PUBLISHED)
    assert [found["cx"], found["cy"]] == pytest.approx([5.06388, 5.06975], abs=1e-5)
    assert [found["a"], found["b"]] == pytest.approx([3.77566, 2.64233], abs=1e-5)
    assert found["phi"] == pytest.approx(2.75547, abs=1e-5)


def test_the_geometric_fit_of_gander_golub_and_strebel_has_the_printed_residual(ellipses):
    # The same page: centre (2.6996, 3.8160), a 6.5187, b 3.0319, alpha 0.3596, residual norm 1.1719.
    printed = {"cx": 2.6996, "cy": 3.8160, "a": 6.5187, "b": 3.0319, "phi": 0.3596}
    assert ellipses.residual(printed, PUBLISHED) * math.sqrt(8) == pytest.approx(1.1719, abs=1e-4)


# OpenCV's fitEllipseDirect (Fitzgibbon's fit) on noisy rims; full axes, the angle belonging to the first.
@pytest.mark.parametrize("seed", range(8))
def test_opencv_fits_the_same_ellipse(ellipses, seed):
    random = np.random.default_rng(seed)
    turns = np.sort(random.uniform(0, 2 * np.pi, 15))
    a, b = 300, random.uniform(120, 270)
    points = np.stack([640 + a * np.cos(turns), 480 + b * np.sin(turns)], axis=1) + random.normal(
        0, 3, (15, 2)
    )
    points = points.astype(np.float32)
    (cx, cy), sizes, angle = cv2.fitEllipseDirect(points)
    found = ellipses.fit(points.astype(float).tolist())
    assert [found["cx"], found["cy"]] == pytest.approx([cx, cy], abs=0.02)
    assert [found["b"], found["a"]] == pytest.approx([size / 2 for size in sorted(sizes)], abs=0.02)
    major = math.radians(angle if sizes[0] >= sizes[1] else angle + 90)
    assert math.sin(found["phi"] - major) == pytest.approx(0, abs=5e-4)


# Plain angles in a tilted view, by trigonometry: a = 100, b = 60, a true 30 to 75 degrees looks like 46.829.
def test_an_oblique_distant_view_keeps_true_angles(clocking):
    shape = [[100 * math.cos(t), 60 * math.sin(t)] for t in (0, 1, 2, 3, 4, 5)]
    start, end = ([100 * math.cos(math.radians(t)), 60 * math.sin(math.radians(t))] for t in (30, 75))
    seen = math.degrees(math.atan2(end[1], end[0]) - math.atan2(start[1], start[0]))
    assert seen == pytest.approx(46.829, abs=1e-3)
    assert clocking.reading(shape, start, end)["angle"] == pytest.approx(45, abs=1e-9)


# Pair error 2 asin(e), e = (r/D) sin(tilt), of marks at both ends of the tilt axis. Derived from the
# projection of a circle, and here against a simulated camera: r mm, D mm, tilt, e, error in degrees.
@pytest.mark.parametrize(
    ("radius", "away", "tilt", "e", "pair"),
    [
        (100, 600, 40, 0.10713, 12.30),
        (100, 1000, 30, 0.05000, 5.73),
        (75, 750, 45, 0.07071, 8.11),
        (60, 500, 30, 0.06000, 6.88),
        (60, 1000, 30, 0.03000, 3.44),
        (60, 500, 10, 0.02084, 2.39),
    ],
)
def test_the_error_of_perspective_is_as_derived(clocking, perspective, radius, away, tilt, e, pair):
    away /= radius
    marks = [project(turn, away, tilt) for turn in (0, 180)]
    taps = rim(away, tilt, count=16)
    plain = clocking.reading(taps, marks[0], marks[1])
    assert 180 - abs(plain["angle"]) == pytest.approx(pair, abs=0.006)
    assert 1.96 * plain["u"] >= pair
    assert perspective.offset_size(plain["ellipse"]["b"] / plain["ellipse"]["a"], 1 / away) == pytest.approx(
        e, abs=1e-5
    )
    cured = clocking.reading(taps, marks[0], project(140, away, tilt), centre(away, tilt))
    assert cured["angle"] == pytest.approx(140, abs=1e-6)


# A simulated camera, taps with 1 px of noise: the mean error shows the bias, to be below 0.2 degrees.
@pytest.mark.parametrize("tilt", [0, 15, 30, 45])
@pytest.mark.parametrize("away", [4, 8, 30])
def test_no_bias_with_the_centre_tapped(tilt, away):
    readings, truths = simulate(400, tilt, away, noise=1.0)
    errors = [wrapped(found["angle"] - true) for found, true in zip(readings, truths, strict=True)]
    assert abs(float(np.mean(errors))) < 0.2 - 0.1  # 0.1: three deviations of this mean


# The 95 % interval is to hold the truth 95 % of the time (JCGM 100:2008, 6.2); more is allowed, for the floor
# of a tap and the doubled centre make it wide on purpose.
@pytest.mark.parametrize(("noise", "count"), [(1.0, 12), (3.0, 8), (3.0, 12), (3.0, 24)])
def test_the_interval_holds_the_truth_as_often_as_it_says(noise, count):
    readings, truths = simulate(400, 30, 8, noise, count)
    held = [
        abs(wrapped(found["angle"] - true)) <= 1.96 * found["u"]
        for found, true in zip(readings, truths, strict=True)
    ]
    assert np.mean(held) >= 0.93  # 0.93: two deviations of a share of 400
    spread = np.std([wrapped(found["angle"] - true) for found, true in zip(readings, truths, strict=True)])
    assert np.mean([found["u"] for found in readings]) < 2.5 * spread


# Cramer-Rao bound for marks 90 degrees apart, a = 300, b = 200, 2 px, 12 taps, known centre: 0.822 degrees.
def test_uncertainty_is_near_the_cramer_rao_bound():
    from pwa.engine import clocking, ellipse

    shape = {"cx": 640.0, "cy": 480.0, "a": 300.0, "b": 200.0, "phi": 0.0}
    random = np.random.default_rng(5)
    turned = []
    for _ in range(600):
        start = random.uniform(0, 2 * math.pi)
        taps = [noisy(ellipse.at(shape, start + math.pi / 6 * n), 2.0, random) for n in range(12)]
        marks = [noisy(ellipse.at(shape, start + turn), 2.0, random) for turn in (0, math.pi / 2)]
        turned.append(clocking.reading(taps, marks[0], marks[1])["angle"] - 90)
    assert np.std(turned) == pytest.approx(0.822, rel=0.08)


def simulate(times, tilt, away, noise, count=12):
    from pwa.engine import clocking

    random = np.random.default_rng(1000 * tilt + away)
    readings, truths = [], []
    for _ in range(times):
        start, true, roll = random.uniform(0, 360), random.uniform(-170, 170), random.uniform(0, 180)
        taps = [noisy(point, noise, random) for point in rim(away, tilt, roll, count)]
        marks = [noisy(project(start + turn, away, tilt, roll), noise, random) for turn in (0.0, true)]
        middle = noisy(centre(away, tilt, roll), noise, random)
        readings.append(clocking.reading(taps, marks[0], marks[1], middle))
        truths.append(true)
    return readings, truths


def noisy(point, noise, random):
    return [float(value + random.normal(0, noise)) for value in point]


def wrapped(angle):
    return (angle + 180) % 360 - 180
