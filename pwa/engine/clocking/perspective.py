"""A circle seen by a pinhole camera: what perspective does to angles on it, and how much it may have done.

Scaled along its axes, the ellipse is a unit circle. A distant view keeps all angles then (affine). A near one
also moves the image of the true centre from the ellipse's centre, to m. The projective map that keeps the
unit circle and takes m back to 0 undoes that. Along m and across it, e = |m| = (r / D) sin(tilt),

    s' = (s - e) / (1 - e s),    t' = sqrt(1 - e^2) t / (1 - e s)

r being the radius and D the distance of the centre; it is the form of Kepler's true and eccentric anomaly.
Source: projective geometry of conics, Hartley & Zisserman, "Multiple View Geometry" (from memory).
"""

import math
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    Point = list[float]

SIZES = (0.25, 0.5, 0.75, 1.0)  # parts of the largest m tried: the error need not grow evenly
FAN = 6  # directions tried on each side of the likely one


def wrap(angle: float) -> float:
    """The same angle in (-180, 180] degrees."""
    wrapped = 180.0 - (180.0 - angle) % 360.0
    return wrapped if wrapped > -180.0 else 180.0  # a remainder can round up to 360


def shift(point: "Point", m: "Point") -> "Point":
    """The map of the unit disc onto itself that takes its centre to m; with -m it is undone."""
    e = math.sqrt(m[0] ** 2 + m[1] ** 2)
    if e == 0:
        return list(point)
    x, y = m[0] / e, m[1] / e
    along, across = point[0] * x + point[1] * y, point[1] * x - point[0] * y
    scale = 1 + e * along
    along, across = (along + e) / scale, math.sqrt(1 - e * e) * across / scale
    return [along * x - across * y, along * y + across * x]


def between(start: "Point", end: "Point", m: "Point") -> float:
    """True degrees from one point of the disc to the other about the centre, in (-180, 180].

    The points are as seen, scaled to the unit circle; `m` is where the true centre is seen, [0, 0] from afar.
    """
    away = [-m[0], -m[1]]
    return wrap(direction(shift(end, away)) - direction(shift(start, away)))


def direction(point: "Point") -> float:
    """Degrees from x towards y."""
    return math.degrees(math.atan2(point[1], point[0]))


def offset_size(ratio: float, nearness: float) -> float:
    """e from b/a and r/D: b/a = cos(tilt) / sqrt(1 - e^2) with e = (r/D) sin(tilt)."""
    return nearness * math.sqrt(max(0.0, (1 - ratio**2) / (1 - (ratio * nearness) ** 2)))


def offsets(towards: float, spread: float, e: float) -> "list[Point]":
    """The m that may be: up to e long, along `towards` +- `spread` degrees or the other way round."""
    found = []
    steps = range(-FAN, FAN + 1) if spread > 0 else range(1)
    for step in steps:
        angle = math.radians(towards + spread * step / FAN)
        for size in SIZES:
            x, y = size * e * math.cos(angle), size * e * math.sin(angle)
            found += [[x, y], [-x, -y]]
    return found


def worst(start: "Point", end: "Point", offsets: "list[Point]") -> float:
    """Largest error in degrees of taking this view for a distant one, if m is one of `offsets`."""
    angle = between(start, end, [0.0, 0.0])
    return max(abs(wrap(between(start, end, m) - angle)) for m in offsets)
