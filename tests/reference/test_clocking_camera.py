"""Clocking against a simulated pinhole camera and the Cramer-Rao bound, both written out here with numpy.

Tilt 0 to 60 degrees, distance 3 to 30 radii, 0.5 to 5 px of noise on a rim of about 300 px. Seeds are fixed.
Sources: Kay, "Fundamentals of Statistical Signal Processing: Estimation Theory", 3.7 (the bound for a vector
of parameters); JCGM 100:2008, 6.2 (what a 95 % interval promises).
"""

import numpy as np
import pytest

from pwa.engine.clocking import ellipse, witness
from pwa.engine.clocking.witness import wrap

HOLES = 8
HOW = ("centre", "holes", "far")


class Scene:
    """True points of one photo, their noise, and the bound for the angle between its marks."""

    def __init__(self, random, how, count=12, tilt=None, distance=None):
        self.how, self.count = how, count
        self.tilt = random.uniform(0, 45) if tilt is None else tilt
        self.distance = random.uniform(4, 30) if distance is None else distance
        if how == "far":
            self.distance = 1e5
        self.angle = random.uniform(-170, 170)
        start, hole = random.uniform(0, 360, 2)
        turns = np.append(np.arange(count) * 360 / count, [start, start + self.angle])
        spot = [(1.0, turn) for turn in turns]
        self.weights = [1.0] * len(spot)
        if how == "centre":
            spot.append((0.0, 0.0))
            self.weights.append(2.0)  # a centre is tapped half as well: what the engine supposes
        if how == "holes":
            spot += [(0.8, hole + 360 / HOLES * n) for n in range(HOLES)]
            self.weights += [1.0] * HOLES
        self.radii, self.turns = (np.array(column, float) for column in zip(*spot, strict=True))
        self.roll = np.radians(random.uniform(0, 180))
        self.points = self.seen(self.homography(), self.radii, np.radians(self.turns))

    def homography(self):
        lean, f = np.radians(self.tilt), 300 * self.distance
        c, s = np.cos(self.roll), np.sin(self.roll)
        turn = np.array([[f * c, -f * s, 640.0], [f * s, f * c, 480.0], [0, 0, 1]])
        return turn @ np.array([[1, 0, 0], [0, np.cos(lean), 0], [0, np.sin(lean), self.distance]])

    @staticmethod
    def seen(h, radii, turns):
        x = h @ np.stack([radii * np.cos(turns), radii * np.sin(turns), np.ones_like(turns)])
        return (x[:2] / x[2]).T

    def noise(self, random, sigma):
        return random.normal(0, sigma, self.points.shape) * np.array(self.weights)[:, None]

    def read(self, noise, **more):
        taps = (self.points + noise).tolist()
        n = self.count
        if self.how == "centre":
            more["centre"] = taps[n + 2]
        if self.how == "holes":
            more.update(holes=taps[n + 2 :], count=HOLES)
        if self.how == "far":
            more["radius_over_distance"] = 0.0
        return witness.reading(taps[:n], taps[n], taps[n + 1], **more)

    def bound(self, sigma):
        """Degrees. Unknown: the homography, where on the rim each tap is, the holes' radius and direction.

        Turning the circle in itself changes no picture, hence the pseudo-inverse; the angle does not mind.
        """
        h, n = self.homography(), self.count + 2
        h = h / h[2, 2]
        free = 6 if self.how == "far" else 8
        start = np.concatenate([h.ravel()[:free], np.radians(self.turns[:n]), [0.8, 0.0]])

        def predicted(p):
            matrix = np.append(p[:free], h.ravel()[free:]).reshape(3, 3)
            radii, turns = self.radii.copy(), np.radians(self.turns)
            turns[:n] = p[free : free + n]
            if self.how == "holes":
                radii[n:], turns[n:] = p[-2], turns[n:] + p[-1]
            return (self.seen(matrix, radii, turns) / np.array(self.weights)[:, None]).ravel()

        steps = 1e-6 * np.maximum(np.abs(start), 1e-3)
        steps[free:] = 1e-6
        columns = [
            (predicted(start + move) - predicted(start - move)) / (2 * step)
            for step, move in zip(steps, np.diag(steps), strict=True)
        ]
        jacobian = np.stack(columns, axis=1)
        scale = np.maximum(np.linalg.norm(jacobian, axis=0), 1e-12)
        inverse = np.linalg.pinv((jacobian / scale).T @ (jacobian / scale), rcond=1e-11, hermitian=True)
        slope = np.zeros(len(start))
        slope[free + n - 2], slope[free + n - 1] = -1.0, 1.0
        return np.degrees(sigma * np.sqrt(slope / scale @ inverse @ (slope / scale)))


# Each noise and its mirror image: what both errors share is the bias, all that is odd cancels.
@pytest.mark.parametrize("how", ["centre", "holes"])
@pytest.mark.parametrize("tilt", [0, 30, 45])
@pytest.mark.parametrize("distance", [4, 10])
def test_bias_is_below_a_fifth_of_a_degree(how, tilt, distance):
    random = np.random.default_rng(tilt + distance)
    for _ in range(2):
        scene = Scene(random, how, tilt=tilt, distance=distance)
        errors = []
        for _ in range(15):
            noise = scene.noise(random, 5.0)
            errors += [wrap(scene.read(side * noise)["angle"] - scene.angle) for side in (1, -1)]
        assert abs(np.mean(errors)) < 0.2


# Errors over their own bounds have standard deviation 1 at best. 300 of them tell it to 4 %.
@pytest.mark.parametrize("how", HOW)
def test_standard_deviation_is_within_a_tenth_of_the_cramer_rao_bound(how):
    random = np.random.default_rng(11)
    ratios = []
    for _ in range(300):
        scene, sigma = Scene(random, how), random.uniform(0.5, 5)
        error = wrap(scene.read(scene.noise(random, sigma))["angle"] - scene.angle)
        ratios.append(error / scene.bound(sigma))
    assert 0.9 < np.sqrt(np.mean(np.square(ratios))) < 1.1


# The bound itself, in another way: with the ellipse known, a mark's is s / sqrt(a^2 sin^2 E + b^2 cos^2 E).
# Taps all round make the ellipse known: 60 of them leave it a few per cent above.
def test_the_bound_comes_down_to_that_of_a_known_ellipse():
    random = np.random.default_rng(1)
    ratios = []
    for _ in range(12):
        scene = Scene(random, "far", count=60, tilt=np.degrees(np.arccos(2 / 3)))
        marks = np.radians(scene.turns[-2:])
        known = np.sqrt(np.sum(1 / ((300 * np.sin(marks)) ** 2 + (200 * np.cos(marks)) ** 2)))
        ratios.append(scene.bound(2.0) / np.degrees(2.0 * known))
    assert min(ratios) > 1
    assert np.mean(ratios) < 1.08


# Where the model applies: noise as supposed, perspective shown by a tap or none. 95 % is to mean 95 %.
# The standard deviation of a tap is known, or told by the rim alone through Student's t; 600 of each.
@pytest.mark.parametrize("how", HOW)
@pytest.mark.parametrize("known", [True, False])
def test_the_interval_holds_the_truth_as_often_as_it_says(how, known):
    random = np.random.default_rng(5)
    held = []
    for _ in range(600):
        scene, sigma = Scene(random, how), random.uniform(0.7, 5)
        found = scene.read(scene.noise(random, sigma), tap=sigma if known else 0.0)
        held.append(abs(wrap(found["angle"] - scene.angle)) <= witness.NORMAL * found["u"])
    assert 0.93 <= np.mean(held) <= 0.97


# With nothing tapped but the rim: never more than 5 % outside, at any tilt and distance, near ones included.
@pytest.mark.parametrize("tilt", [0, 15, 30, 45, 60])
@pytest.mark.parametrize("distance", [3, 5, 30])
def test_without_the_centre_the_interval_never_promises_too_much(tilt, distance):
    random = np.random.default_rng(100 * tilt + distance)
    held = []
    for _ in range(60):
        scene = Scene(random, "", tilt=tilt, distance=distance)
        found = scene.read(scene.noise(random, random.uniform(0.5, 5)))
        assert found["perspective"] == "bounded"
        held.append(found["low"] <= found["angle"] - wrap(found["angle"] - scene.angle) <= found["high"])
    assert np.mean(held) >= 0.95


# The bound of one mark on a known ellipse, a = 300, b = 200, s = 2 px, by the formula above. The anomaly
# of the tap itself, unmoved, only reaches s sqrt(cos^2 E / b^2 + sin^2 E / a^2): 0.487 in the middle.
BOUNDS = [(0, 0.5730), (30, 0.5001), (45, 0.4495), (60, 0.4116), (90, 0.3820)]


@pytest.mark.parametrize(("anomaly", "bound"), BOUNDS)
def test_the_nearest_point_reaches_the_bound_of_one_mark(anomaly, bound):
    shape = {"cx": 0.0, "cy": 0.0, "a": 300.0, "b": 200.0, "phi": 0.0}
    x, y = ellipse.at(shape, np.radians(anomaly))
    noise = np.random.default_rng(anomaly).normal(0, 2, (4000, 2)).tolist()
    found = [ellipse.nearest(shape, [x + dx, y + dy])["anomaly"] for dx, dy in noise]
    assert np.degrees(np.std(found)) == pytest.approx(bound, rel=0.04)
