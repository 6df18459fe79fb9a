"""A known flat pattern in the picture, from four points up: true angles and lengths in its plane.

A pinhole camera sees a plane by a homography, x ~ H X, eight numbers. The start is the direct linear
transform of points scaled to unit size; the result has the least squared distance in the picture.
Any four points of known place will do: corners of a card (ISO/IEC 7810 ID-1: 85.60 mm by 53.98 mm), holes of
a flange, a printed target. They must lie in the plane of what is measured.
Source: Hartley & Zisserman, "Multiple View Geometry", chapter 4 (from memory).
"""

import math
from typing import TYPE_CHECKING, TypedDict

from pwa.engine.clocking import ellipse as ellipses
from pwa.engine.clocking import perspective
from pwa.engine.clocking.perspective import wrap
from pwa.engine.clocking.view import NORMAL, STEP
from pwa.engine.clocking.witness import Reading, tap_of
from pwa.engine.numbers import least_squares

if TYPE_CHECKING:
    from collections.abc import Callable

    from pwa.engine.numbers.least_squares import Matrix, Vector

    Point = list[float]

FEWEST = 4
SPREAD = 1e-3  # of the pattern's size squared: less across than along is a line
ROUGHEST = 0.05  # of the pattern's size in the picture: more residual is another pattern


class Plane(TypedDict):
    """The homography from the plane, scaled by `unit` about `middle`, to the picture; number nine is 1."""

    parameters: "Vector"
    covariance: "Matrix"  # for taps of standard deviation 1 px
    middle: "Point"
    unit: float
    tap: float  # standard deviation of one tap, px
    residual: float  # rms distance of the taps from the pattern, px


class Length(TypedDict):
    """In the unit of the pattern; `low` to `high` is the 95 % interval."""

    length: float
    u: float
    low: float
    high: float


def plane(places: "list[Point]", taps: "list[Point]", tap: float = 0.0) -> Plane:
    """From where the points truly are, [x, y] in any unit, y down as in the picture, and their taps.

    Args:
        tap: standard deviation of a tap, px, if known; four points alone do not tell it.

    Raises:
        ValueError: fewer than four points, points on a line, or taps that do not fit them.
    """
    if len(places) < FEWEST or len(places) != len(taps):
        raise ValueError(f"A pattern needs at least {FEWEST} points, and a tap for each.")
    middle, unit = _size(places)
    model = [[(x - middle[0]) / unit, (y - middle[1]) / unit] for x, y in places]
    centre, size = _size(taps)
    image = [[(x - centre[0]) / size, (y - centre[1]) / size] for x, y in taps]
    h = _direct(model, image)
    # back from the scaled picture: rows 1 and 2 times size, plus the centre times row 3
    start = [size * h[i] + centre[0] * h[6 + i] for i in range(2)] + [size * h[2] + centre[0]]
    start += [size * h[3 + i] + centre[1] * h[6 + i] for i in range(2)] + [size * h[5] + centre[1]]
    found = least_squares.fit(_model(model, taps), start + h[6:])
    residual = math.sqrt(found["squares"] / len(taps))
    if residual > ROUGHEST * size:
        raise ValueError("The taps do not fit the pattern. Check its points and their order.")
    return {
        "parameters": found["parameters"],
        "covariance": found["covariance"],
        "middle": middle,
        "unit": unit,
        "tap": tap or tap_of(found["squares"], 2 * len(taps) - 8),
        "residual": residual,
    }


def reading(found: Plane, axis: "Point", fixed: "Point", moving: "Point") -> Reading:
    """The angle between two marks about `axis`, given in the pattern's coordinates, free of perspective.

    Raises:
        ValueError: a mark on the axis.
    """
    start, end = (place(found, mark) for mark in (fixed, moving))
    radius = math.sqrt((start[0] - axis[0]) ** 2 + (start[1] - axis[1]) ** 2)
    if radius == 0 or end == axis:
        raise ValueError("A mark is on the axis itself. Tap it further out.")

    def angle(p: "Vector", fixed: "Point", moving: "Point") -> float:
        (x, y), (u, v) = _place(found, p, fixed), _place(found, p, moving)
        return perspective.between([x - axis[0], y - axis[1]], [u - axis[0], v - axis[1]], [0.0, 0.0])

    turned = angle(found["parameters"], fixed, moving)
    noise = found["tap"] * _noise(found, lambda p, a, b: wrap(angle(p, a, b) - turned), fixed, moving)
    rim = [
        picture(
            found,
            [axis[0] + radius * math.cos(n * math.pi / 4), axis[1] + radius * math.sin(n * math.pi / 4)],
        )
        for n in range(8)
    ]
    return {
        "angle": turned,
        "u": noise,
        "low": turned - NORMAL * noise,
        "high": turned + NORMAL * noise,
        "noise": noise,
        "limit": 0.0,
        "perspective": "removed",
        "ellipse": ellipses.fit(rim),
        "residual": found["residual"],
        "coverage": 360.0,
        "tap": found["tap"],
        "marks": [
            [(start[0] - axis[0]) / radius, (start[1] - axis[1]) / radius],
            [(end[0] - axis[0]) / radius, (end[1] - axis[1]) / radius],
        ],
        "shift": 0.0,
        "nearness": 0.0,
        "advice": "",
    }


def length(found: Plane, start: "Point", end: "Point") -> Length:
    """Between two taps, in the unit of the pattern: a rod's stroke, a gap, a lever's arm."""

    def size(p: "Vector", start: "Point", end: "Point") -> float:
        (x, y), (u, v) = _place(found, p, start), _place(found, p, end)
        return math.sqrt((u - x) ** 2 + (v - y) ** 2)

    value = size(found["parameters"], start, end)
    u = found["tap"] * _noise(found, size, start, end)
    return {"length": value, "u": u, "low": max(0.0, value - NORMAL * u), "high": value + NORMAL * u}


def place(found: Plane, tap: "Point") -> "Point":
    """Where a point of the picture is in the plane of the pattern."""
    return _place(found, found["parameters"], tap)


def picture(found: Plane, place: "Point") -> "Point":
    """Where a point of the plane is in the picture."""
    scaled = [(place[axis] - found["middle"][axis]) / found["unit"] for axis in (0, 1)]
    return _seen(found["parameters"], scaled)


def _place(found: Plane, p: "Vector", tap: "Point") -> "Point":
    """(a - g x, b - h x; d - g y, e - h y) (X, Y) = (x - c, y - f)."""
    x, y = tap
    m = [[p[0] - p[6] * x, p[1] - p[7] * x], [p[3] - p[6] * y, p[4] - p[7] * y]]
    det = m[0][0] * m[1][1] - m[0][1] * m[1][0]
    if det == 0:
        raise ValueError("This point is on the horizon of the pattern's plane. Tap a point in the plane.")
    right = [x - p[2], y - p[5]]
    scaled = [
        (m[1][1] * right[0] - m[0][1] * right[1]) / det,
        (m[0][0] * right[1] - m[1][0] * right[0]) / det,
    ]
    return [found["middle"][axis] + found["unit"] * scaled[axis] for axis in (0, 1)]


def _seen(p: "Vector", point: "Point") -> "Point":
    x, y = point
    w = p[6] * x + p[7] * y + 1
    return [(p[0] * x + p[1] * y + p[2]) / w, (p[3] * x + p[4] * y + p[5]) / w]


def _noise(
    found: Plane, value: "Callable[[Vector, Point, Point], float]", start: "Point", end: "Point"
) -> float:
    """Standard uncertainty of `value` for taps of 1 px: of the pattern, and of both points."""
    p = found["parameters"]
    steps = [STEP * math.sqrt(found["covariance"][i][i]) for i in range(len(p))]
    slope = least_squares.slope(lambda moved: value(moved, start, end), p, steps)
    total = least_squares.variance(found["covariance"], slope)
    of_points = least_squares.slope(
        lambda q: value(p, q[:2], q[2:]), [start[0], start[1], end[0], end[1]], [STEP] * 4
    )
    return math.sqrt(total + sum(part * part for part in of_points))


def _model(places: "list[Point]", taps: "list[Point]") -> "least_squares.Model":
    def rows(p: "Vector") -> "tuple[Vector, Matrix] | None":
        residuals: Vector = []
        slopes: Matrix = []
        for (x, y), tap in zip(places, taps):
            w = p[6] * x + p[7] * y + 1
            if w <= 0:
                return None
            here = _seen(p, [x, y])
            first = [x / w, y / w, 1 / w]
            residuals += [tap[0] - here[0], tap[1] - here[1]]
            slopes.append([-v for v in first] + [0.0] * 3 + [here[0] * x / w, here[0] * y / w])
            slopes.append([0.0] * 3 + [-v for v in first] + [here[1] * x / w, here[1] * y / w])
        return residuals, slopes

    return rows


def _direct(places: "list[Point]", taps: "list[Point]") -> "Vector":
    """Linear least squares for eight numbers; the ninth is 1, for a pattern lies near its own middle."""
    normal, right = [[0.0] * 8 for _ in range(8)], [0.0] * 8
    for (x, y), (u, v) in zip(places, taps):
        for row, value in (
            ([x, y, 1.0, 0.0, 0.0, 0.0, -u * x, -u * y], u),
            ([0.0, 0.0, 0.0, x, y, 1.0, -v * x, -v * y], v),
        ):
            for i in range(8):
                right[i] += row[i] * value
                for j in range(8):
                    normal[i][j] += row[i] * row[j]
    return least_squares.solve(normal, right)


def _size(points: "list[Point]") -> "tuple[Point, float]":
    """Middle and rms distance from it.

    Raises:
        ValueError: points on a line.
    """
    middle = [sum(point[axis] for point in points) / len(points) for axis in (0, 1)]
    xx = sum((x - middle[0]) ** 2 for x, _ in points)
    yy = sum((y - middle[1]) ** 2 for _, y in points)
    xy = sum((x - middle[0]) * (y - middle[1]) for x, y in points)
    if xx * yy - xy * xy <= SPREAD * (xx + yy) ** 2:
        raise ValueError("The points of the pattern lie on one line. Choose four that span a surface.")
    return middle, math.sqrt((xx + yy) / len(points))
