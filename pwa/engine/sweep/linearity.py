"""Independent linearity (ANSI/ISA-51.1, wording from memory): how far from straight a curve is at best."""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    Point = tuple[float, float]

FEWEST = 3


def independent(points: "list[Point]") -> "float | None":
    """Independent linearity: half the height of the flattest strip that holds all points, None below three.

    The line that makes the greatest departure least runs along an edge of the points' convex hull.
    """
    if len(points) < FEWEST:
        return None
    ordered = sorted(points)
    least: float | None = None
    for side in (1, -1):
        hull = _hull(ordered, side)
        for (x1, y1), (x2, y2) in zip(hull, hull[1:]):
            slope = (y2 - y1) / (x2 - x1)
            away = [y - slope * x for x, y in ordered]
            height = (max(away) - min(away)) / 2
            least = height if least is None or height < least else least
    return least


def _hull(ordered: "list[Point]", side: int) -> "list[Point]":
    """The lower (1) or upper (-1) half of the convex hull."""
    hull: list[Point] = []
    for x, y in ordered:
        while len(hull) > 1:
            (x1, y1), (x2, y2) = hull[-2], hull[-1]
            if side * ((x2 - x1) * (y - y1) - (y2 - y1) * (x - x1)) > 0:
                break
            hull.pop()
        hull.append((x, y))
    return hull
