"""Ellipses and clocking against published points, OpenCV, scikit-image, scipy, and a pinhole's algebra."""

import math

import cv2
import numpy as np
import pytest
import scipy
import skimage

from pwa.engine.clocking import ellipse
from tests.helpers.pinhole import centre, project, rim


@pytest.fixture(scope="module")
def ellipses(twin):
    return twin("pwa.engine.clocking.ellipse")


@pytest.fixture(scope="module")
def clocking(twin):
    return twin("pwa.engine.clocking.witness")


@pytest.fixture(scope="module")
def perspective(twin):
    return twin("pwa.engine.clocking.perspective")


# Points of Gander, Golub & Strebel, "Least-squares fitting of circles and ellipses", BIT 34 (1994), p. 558.
PUBLISHED = [[1, 7], [2, 6], [5, 8], [7, 7], [9, 5], [3, 7], [6, 2], [8, 4]]


def test_the_points_of_gander_golub_and_strebel(ellipses):
    # The paper fits geometrically; this is the direct fit, as OpenCV 5.0's fitEllipseDirect and scikit-image
    # 0.26's EllipseModel give it.
    found = ellipses.fit(PUBLISHED)
    assert [found["cx"], found["cy"]] == pytest.approx([5.06388, 5.06975], abs=1e-5)
    assert [found["a"], found["b"]] == pytest.approx([3.77566, 2.64233], abs=1e-5)
    assert found["phi"] == pytest.approx(2.75547, abs=1e-5)


def test_the_geometric_fit_of_gander_golub_and_strebel(twin):
    # The same page: centre (2.6996, 3.8160), a 6.5187, b 3.0319, alpha 0.3596, residual norm 1.1719.
    found = twin("pwa.engine.clocking.view").of(PUBLISHED)
    shape = [found["ellipse"][name] for name in ("cx", "cy", "a", "b", "phi")]
    assert shape == pytest.approx([2.6996, 3.8160, 6.5187, 3.0319, 0.3596], abs=5e-5)
    assert math.sqrt(found["squares"]) == pytest.approx(1.1719, abs=5e-5)


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


# scikit-image's EllipseModel (Halir & Flusser's fit), on the published points and on noisy rims.
@pytest.mark.parametrize("seed", range(8))
def test_scikit_image_fits_the_same_ellipse(ellipses, seed):
    points = np.array(PUBLISHED, float)
    if seed:
        random = np.random.default_rng(seed)
        turns = random.uniform(0, 2 * np.pi, 15)
        points = np.stack([640 + 300 * np.cos(turns), 480 + 30 * seed * np.sin(turns)], axis=1)
        points += random.normal(0, 3, (15, 2))
    theirs = skimage.measure.EllipseModel.from_estimate(points)
    found = ellipses.fit(points.tolist())
    assert [found["cx"], found["cy"]] == pytest.approx(theirs.center, rel=1e-6)
    assert [found["b"], found["a"]] == pytest.approx(sorted(theirs.axis_lengths), rel=1e-6)
    major = theirs.theta + (0 if theirs.axis_lengths[0] >= theirs.axis_lengths[1] else math.pi / 2)
    assert math.sin(found["phi"] - major) == pytest.approx(0, abs=1e-6)


# scipy's own minimiser on the distances of noisy taps; the outline's ellipse is the most likely one.
@pytest.mark.parametrize("arc", [360, 200])
def test_scipy_finds_no_ellipse_nearer_to_the_taps(clocking, ellipses, arc):
    random = np.random.default_rng(arc)
    turns = np.radians(np.linspace(0, arc, 12, endpoint=False))
    points = np.stack([640 + 300 * np.cos(turns), 480 + 200 * np.sin(turns)], axis=1)
    points = (points + random.normal(0, 2, points.shape)).tolist()
    found = clocking.outline(points)

    def distances(p):
        shape = dict(zip(("cx", "cy", "a", "b", "phi"), p, strict=True))
        return [ellipse.nearest(shape, point)["distance"] for point in points]

    ours = [found[name] for name in ("cx", "cy", "a", "b", "phi")]
    theirs = scipy.optimize.minimize(
        lambda p: sum(d * d for d in distances(p)), ours, method="Nelder-Mead", options={"maxiter": 2000}
    )
    assert ellipses.residual(found, points) ** 2 * 12 <= theirs.fun * (1 + 1e-9)


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
