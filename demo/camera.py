"""A pinhole camera over a round joint: where points of its rim's plane, and above or below it, are seen."""

import math
from dataclasses import dataclass

Point = tuple[float, float]


@dataclass(frozen=True)
class Camera:
    """Lengths in rim radii, angles in radians, image in px with y down.

    The rim is a circle of radius 1 about the origin of its plane. Depth is measured from that plane, away
    from the camera. Tilt leans the lower half back; roll then turns the picture clockwise.
    """

    distance: float
    tilt: float
    roll: float
    zoom: float  # px that a rim radius would be, seen square
    middle: Point

    def see(self, radius: float, angle: float, depth: float = 0.0) -> Point:
        """The image of a point given by radius and angle (clockwise as seen) at a depth."""
        x, y = radius * math.cos(angle), radius * math.sin(angle)
        away = self.distance + y * math.sin(self.tilt) + depth * math.cos(self.tilt)
        scale = self.zoom * self.distance / away
        u, v = scale * x, scale * (y * math.cos(self.tilt) - depth * math.sin(self.tilt))
        cos, sin = math.cos(self.roll), math.sin(self.roll)
        return self.middle[0] + u * cos - v * sin, self.middle[1] + u * sin + v * cos

    def circle(self, radius: float, depth: float = 0.0, count: int = 240) -> list[Point]:
        return [self.see(radius, 2 * math.pi * n / count, depth) for n in range(count)]
