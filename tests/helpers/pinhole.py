"""A pinhole camera for tests: a circle of radius 1, at a distance and tilt, as image points, y down."""

import math
from collections.abc import Sequence

FOCAL = 300.0  # px times distance over radius: the rim is about 600 px wide at any distance


def project(
    degrees: float,
    distance: float,
    tilt: float,
    roll: float = 0.0,
    radius: float = 1.0,
    middle: Sequence[float] = (),
) -> list[float]:
    """The point at `degrees` on the circle, clockwise as seen. `distance` in radii; angles in degrees.

    Written out from x/z, y/z; shares nothing with the code under test.
    """
    angle, turn, lean = (math.radians(value) for value in (degrees, roll, tilt))
    x, y = radius * math.cos(angle), radius * math.sin(angle)
    z = distance + y * math.sin(lean)
    u, v = x / z, y * math.cos(lean) / z
    scale = FOCAL * distance
    cx, cy = middle or (640.0, 480.0)
    return [
        cx + scale * (u * math.cos(turn) - v * math.sin(turn)),
        cy + scale * (u * math.sin(turn) + v * math.cos(turn)),
    ]


def rim(distance: float, tilt: float, roll: float = 0.0, count: int = 12) -> list[list[float]]:
    return [project(360 / count * n, distance, tilt, roll) for n in range(count)]


def centre(distance: float, tilt: float, roll: float = 0.0) -> list[float]:
    return project(0, distance, tilt, roll, radius=0.0)
