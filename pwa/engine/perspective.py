"""A circle seen by a pinhole camera: true angles from its elliptical image, with and without its true centre.

Scaled along its axes, the ellipse is a unit circle. A distant view keeps all angles then (affine). A near one
also moves the image of the true centre from the ellipse's centre, to an offset m. The projective map that
keeps the unit circle and takes m back to 0 undoes that. Along m and across it, e = |m| = (r / D) sin(tilt),

    s' = (s - e) / (1 - e s),    t' = sqrt(1 - e^2) t / (1 - e s)

r being the radius and D the distance of the centre; it is the form of Kepler's true and eccentric anomaly.
Source: projective geometry of conics, Hartley & Zisserman, "Multiple View Geometry" (from memory).
"""

import math
from typing import TYPE_CHECKING

from pwa.engine import ellipse as ellipses

if TYPE_CHECKING:
    from pwa.engine.ellipse import Ellipse, Point


def wrap(angle: float) -> float:
    """The same angle in (-180, 180] degrees."""
    wrapped = 180.0 - (180.0 - angle) % 360.0
    return wrapped if wrapped > -180.0 else 180.0  # a remainder can round up to 360


def between(shape: "Ellipse", start: "Point", end: "Point", offset: "Point") -> float:
    """True degrees from one mark on the rim to the other, in (-180, 180], clockwise as seen (y down).

    Each mark counts as the nearest point of the ellipse. `offset` is m; [0, 0] is a distant view.
    """
    here = _true_anomaly(ellipses.nearest(shape, start)["anomaly"], offset)
    there = _true_anomaly(ellipses.nearest(shape, end)["anomaly"], offset)
    return wrap(math.degrees(there - here))


def offset_of(shape: "Ellipse", centre: "Point") -> "Point":
    """m for the image of the true centre."""
    u, v = ellipses.in_axes(shape, centre)
    return [u / shape["a"], v / shape["b"]]


def offset_size(ratio: float, nearness: float) -> float:
    """e from b/a and r/D: b/a = cos(tilt) / sqrt(1 - e^2) with e = (r/D) sin(tilt)."""
    return nearness * math.sqrt(max(0.0, (1 - ratio**2) / (1 - (ratio * nearness) ** 2)))


def worst(shape: "Ellipse", start: "Point", end: "Point", ratio: float, nearness: float) -> float:
    """Largest error in degrees of taking this view for a distant one, its b/a being `ratio` or more.

    The rim is about in the middle of the picture, so m lies on the short axis; on which half is not known.
    """
    angle = between(shape, start, end, [0.0, 0.0])
    e = offset_size(ratio, nearness)
    return max(abs(wrap(between(shape, start, end, [0.0, side]) - angle)) for side in (e, -e))


def _true_anomaly(anomaly: float, offset: "Point") -> float:
    e = math.sqrt(offset[0] ** 2 + offset[1] ** 2)
    if e == 0:
        return anomaly
    towards = math.atan2(offset[1], offset[0])
    s, t = math.cos(anomaly - towards), math.sin(anomaly - towards)
    return towards + math.atan2(math.sqrt(1 - e * e) * t, s - e)
