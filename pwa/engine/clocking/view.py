"""How a camera saw a round rim: the most likely ellipse, and the projective shift if a known point shows it.

The plane of the rim, the rim being its unit circle, reaches the picture in two steps. First the map of the
disc onto itself that takes its centre to m (`perspective.shift`), then c + S w, S a symmetric 2x2 matrix:

    x = c + S shift(X, m)

The rim alone gives c and S, for the first step keeps the circle; a tapped centre is seen at c + S m; holes of
a concentric bolt circle of radius rho (in rim radii), its first at psi, give m, rho and psi together. All
parameters are found at once by least squares of distances in the picture, which is the most likely view for
taps of equal, independent, normal errors. S has no angle that a circle would leave open.
Sources: Gander, Golub & Strebel, BIT 34, 1994 (geometric fit); Hartley & Zisserman, "Multiple View Geometry",
chapter 4 (least error in the picture; from memory).
"""

import math
from typing import TYPE_CHECKING, TypedDict

from pwa.engine.clocking import ellipse as ellipses
from pwa.engine.clocking import perspective
from pwa.engine.clocking.ellipse import Ellipse
from pwa.engine.numbers import least_squares

if TYPE_CHECKING:
    from pwa.engine.numbers.least_squares import Matrix, Vector

    Point = list[float]

CENTRE = 2.0  # times as uncertain as another tap: there is no line to tap on; our estimate
FURTHEST_SHIFT = 0.95  # |m|; nearer to 1 the camera stands in the rim
RIM, SHIFT, CIRCLE = 5, 7, 9  # parameters: c and S; with m; with rho and psi
NORMAL = 1.96  # standard deviations that hold 95 %
STEP = 0.1  # px, of the derivatives by taps
NUDGE = 1e-4  # of the numerical derivatives, in parts of the rim: their rounding must not stall the fit
FEWEST_HOLES = 3
NEARNESS = (0.0, 0.1, 0.2, 0.33, 0.5)  # r/D tried when numbering the holes


class View(TypedDict):
    """`parameters`: cx, cy, Sxx, Sxy, Syy, then mx, my if known, then rho, psi of holes."""

    ellipse: Ellipse
    parameters: "Vector"
    covariance: "Matrix"  # for taps of standard deviation 1 px
    squares: float  # px^2, of all distances, the centre's divided by CENTRE^2
    spare: int  # distances more than parameters


def of(
    rim: "list[Point]", centre: "Point | None" = None, holes: "list[Point] | None" = None, count: int = 0
) -> View:
    """The most likely view. `holes`: taps on a concentric circle of `count` equal steps, in any order.

    Raises:
        ValueError: points on no ellipse; fewer than three holes, or holes that are not of such a circle.
    """
    shape = ellipses.fit(rim)
    start = [shape["cx"], shape["cy"]] + _matrix(shape)
    bare = least_squares.fit(_model(rim, None, []), start)
    if not holes:
        if centre is None:
            return _view(bare, len(rim) - RIM)
        start = bare["parameters"] + _limited(_plane(bare["parameters"], centre))
        return _view(least_squares.fit(_model(rim, centre, []), start), len(rim) + 2 - SHIFT)
    if len(holes) < FEWEST_HOLES or count < FEWEST_HOLES:
        raise ValueError(f"A bolt circle needs its number of holes and taps on at least {FEWEST_HOLES}.")
    if len(holes) > count:
        raise ValueError(f"More holes are tapped than the {count} of the bolt circle.")
    found = _with_holes(bare["parameters"], rim, centre, holes, count)
    return _view(found, len(rim) + 2 * len(holes) + (2 if centre else 0) - CIRCLE)


def flat(parameters: "Vector", point: "Point", on_rim: bool = True) -> "Point":
    """A point of the picture as seen, scaled to the unit circle. On the rim it is the nearest of the rim."""
    if on_rim:
        point = ellipses.nearest(shape_of(parameters), point)["point"]
    return _plane(parameters, point)


def true(parameters: "Vector", point: "Point", on_rim: bool = True) -> "Point":
    """A point of the picture in the plane of the rim, in rim radii, perspective removed if it is known."""
    seen = flat(parameters, point, on_rim)
    if len(parameters) == RIM:
        return seen
    return perspective.shift(seen, [-parameters[5], -parameters[6]])


def shape_of(parameters: "Vector") -> Ellipse:
    """The ellipse c + S (cos, sin): half axes and direction are S's eigenvalues and first eigenvector."""
    cx, cy, p, q, r = parameters[:5]
    middle, half = (p + r) / 2, math.sqrt(((p - r) / 2) ** 2 + q * q)
    phi = math.atan2(q, (p - r) / 2) / 2 if half > ellipses.ROUND * middle else 0.0
    shape: Ellipse = {
        "cx": cx,
        "cy": cy,
        "a": middle + half,
        "b": middle - half,
        "phi": ellipses.half_turn(phi),
    }
    return shape


def flatness(seen: View, tap: float) -> "tuple[float, float, float]":
    """b/a, what taps of this standard deviation (px) leave open of it, and of its direction in degrees: 95 %.

    The direction of the axes is known to about half the doubt of the flatness over the flatness.
    """

    def ratio(p: "Vector") -> float:
        shape = shape_of(p)
        return shape["b"] / shape["a"]

    steps = [STEP * math.sqrt(seen["covariance"][i][i]) for i in range(len(seen["parameters"]))]
    slope = least_squares.slope(ratio, seen["parameters"], steps)
    doubt = NORMAL * tap * math.sqrt(least_squares.variance(seen["covariance"], slope))
    value = ratio(seen["parameters"])
    return value, doubt, min(90.0, math.degrees(doubt / 2 / max(1e-9, 1 - value)))


def _view(found: "least_squares.Solution", spare: int) -> View:
    return {
        "ellipse": shape_of(found["parameters"]),
        "parameters": found["parameters"],
        "covariance": found["covariance"],
        "squares": found["squares"],
        "spare": spare,
    }


def _with_holes(
    bare: "Vector", rim: "list[Point]", centre: "Point | None", holes: "list[Point]", count: int
) -> "least_squares.Solution":
    """Which hole is which depends on m: several are tried, along the short axis, and the best is kept."""
    best = None
    tried: list[list[int]] = []
    for m in _guesses(bare, centre):
        level = [perspective.shift(_plane(bare, hole), [-m[0], -m[1]]) for hole in holes]
        numbers, psi = _numbered(level, count)
        order = [(number - numbers[0]) % count for number in numbers]
        if len(set(numbers)) < len(numbers) or order in tried:
            continue
        tried.append(order)
        known = [(hole, 2 * math.pi / count * number) for hole, number in zip(holes, numbers)]
        rho = sum(math.sqrt(x * x + y * y) for x, y in level) / len(level)
        found = least_squares.fit(_model(rim, centre, known), bare + m + [rho, psi])
        if best is None or found["squares"] < best["squares"]:
            best = found
    if best is None:
        raise ValueError(f"The holes do not lie on a circle of {count}. Check the number, and tap each once.")
    return best


def _guesses(bare: "Vector", centre: "Point | None") -> "list[Point]":
    if centre is not None:
        return [_limited(_plane(bare, centre))]
    shape = shape_of(bare)
    x, y = -math.sin(shape["phi"]), math.cos(shape["phi"])
    sizes = [perspective.offset_size(shape["b"] / shape["a"], near) for near in NEARNESS]
    return [[side * e * x, side * e * y] for e in sizes for side in (1.0, -1.0)][1:]


def _numbered(level: "list[Point]", count: int) -> "tuple[list[int], float]":
    """The number of each hole from the first, and the angle of the first, radians."""
    turns = [math.atan2(y, x) for x, y in level]
    step = 2 * math.pi / count
    psi = math.atan2(sum(math.sin(count * t) for t in turns), sum(math.cos(count * t) for t in turns)) / count
    if len(level) < count:
        return [round((turn - psi) / step) % count for turn in turns], psi
    order = sorted(range(count), key=lambda index: turns[index])  # all are tapped: each is the next
    first = round((turns[order[0]] - psi) / step)
    numbers = [0] * count
    for place, index in enumerate(order):
        numbers[index] = (first + place) % count
    return numbers, psi


def _model(
    rim: "list[Point]", centre: "Point | None", known: "list[tuple[Point, float]]"
) -> "least_squares.Model":
    """Distances in the picture: of rim taps across the rim, of centre and holes along x and y."""

    def rows(p: "Vector") -> "tuple[Vector, Matrix] | None":
        if not _sound(p):
            return None
        shape, residuals, slopes = shape_of(p), [], []
        for point in rim:
            away, slope = _across(p, shape, point)
            residuals.append(away)
            slopes.append(slope)
        aims: list[tuple[Point, float, float | None]] = [(point, 1.0, angle) for point, angle in known]
        if centre is not None:
            aims.append((centre, CENTRE, None))
        for point, weight, angle in aims:
            _add_point(p, point, weight, angle, residuals, slopes)
        return residuals, slopes

    return rows


def _sound(p: "Vector") -> bool:
    """Still a rim seen from outside: S positive and not flat, |m| < 1."""
    middle, half = (p[2] + p[4]) / 2, math.sqrt(((p[2] - p[4]) / 2) ** 2 + p[3] * p[3])
    if middle - half <= ellipses.FLATTEST * (middle + half):
        return False
    return len(p) < SHIFT or p[5] ** 2 + p[6] ** 2 < FURTHEST_SHIFT**2


def _across(p: "Vector", shape: Ellipse, point: "Point") -> "tuple[float, Vector]":
    """Distance outwards from the rim and its derivatives: those of the nearest point, across the rim."""
    foot = ellipses.nearest(shape, point)["point"]
    w = _plane(p, foot)
    x, y = _plane([0.0, 0.0] + p[2:5], w)  # S is symmetric, so the normal is along S^-1 w
    size = math.sqrt(x * x + y * y)
    x, y = x / size, y / size
    slope = [-x, -y, -x * w[0], -(x * w[1] + y * w[0]), -y * w[1]]
    return x * (point[0] - foot[0]) + y * (point[1] - foot[1]), slope + [0.0] * (len(p) - RIM)


def _add_point(
    p: "Vector", point: "Point", weight: float, angle: "float | None", residuals: "Vector", slopes: "Matrix"
) -> None:
    w = _aimed(p, angle)
    # the derivatives by c and S are exact; those by m, rho and psi go through w
    columns = [[1.0, 0.0], [0.0, 1.0], [w[0], 0.0], [w[1], w[0]], [0.0, w[1]]]
    for index in range(RIM, len(p)):
        up, down = list(p), list(p)
        up[index] += NUDGE
        down[index] -= NUDGE
        x, y = ((more - less) / (2 * NUDGE) for more, less in zip(_aimed(up, angle), _aimed(down, angle)))
        columns.append([p[2] * x + p[3] * y, p[3] * x + p[4] * y])
    here = [p[0] + p[2] * w[0] + p[3] * w[1], p[1] + p[3] * w[0] + p[4] * w[1]]
    for axis in (0, 1):
        residuals.append((point[axis] - here[axis]) / weight)
        slopes.append([-column[axis] / weight for column in columns])


def _aimed(p: "Vector", angle: "float | None") -> "Point":
    """Where a hole at this angle from the first is seen in the disc; the true centre without an angle."""
    if angle is None:
        return p[5:7]
    return perspective.shift([p[7] * math.cos(p[8] + angle), p[7] * math.sin(p[8] + angle)], p[5:7])


def _plane(p: "Vector", point: "Point") -> "Point":
    """S^-1 (x - c)."""
    x, y = point[0] - p[0], point[1] - p[1]
    det = p[2] * p[4] - p[3] * p[3]
    return [(p[4] * x - p[3] * y) / det, (p[2] * y - p[3] * x) / det]


def _matrix(shape: Ellipse) -> "Vector":
    c, s = math.cos(shape["phi"]), math.sin(shape["phi"])
    a, b = shape["a"], shape["b"]
    return [a * c * c + b * s * s, (a - b) * c * s, a * s * s + b * c * c]


def _limited(m: "Point") -> "Point":
    size = math.sqrt(m[0] ** 2 + m[1] ** 2)
    return m if size < FURTHEST_SHIFT else [0.9 * value / size for value in m]
