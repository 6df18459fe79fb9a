"""Ellipses: the direct least-squares fit to points, and the point of an ellipse nearest to another point.

Sources: Fitzgibbon, Pilu & Fisher, PAMI 21(5), 1999 (the fit that is an ellipse for any points); Halir &
Flusser, WSCG 1998 (the same, numerically stable, as a 3x3 eigenproblem); Eberly, "Distance from a point to an
ellipse" (nearest point; from memory). The fit is algebraic: on a short arc it finds too small an ellipse.
"""

import math
from typing import TYPE_CHECKING, TypedDict

if TYPE_CHECKING:
    Point = list[float]
    Matrix = list[list[float]]

FEWEST = 5  # points, for the five numbers of an ellipse
FLATTEST = 0.02  # b/a below which the points are a line and no rim
COLLINEAR = 1e-9  # of the scaled points' second moments: less spread across than along, squared
ROUND = 1e-9  # of a: a smaller difference of the axes is a circle, whose direction means nothing
LEVEL = 1e-9  # radians: an axis nearer to level is level
STEPS = 60  # of Newton's method, which needs about ten


class Ellipse(TypedDict):
    """Centre, half axes (a >= b) and the angle from x to the major axis, radians in [0, pi), towards y."""

    cx: float
    cy: float
    a: float
    b: float
    phi: float


class Nearest(TypedDict):
    """`anomaly`: eccentric anomaly of the point, radians from the major axis, in the same sense as phi."""

    point: "Point"
    anomaly: float
    distance: float


def fit(points: "list[Point]") -> Ellipse:
    """The ellipse that minimises the sum of squared algebraic distances with 4AC - B^2 = 1.

    Raises:
        ValueError: fewer than five different points, or points on a line.
    """
    if len({(x, y) for x, y in points}) < FEWEST:
        raise ValueError(f"An ellipse needs at least {FEWEST} different points.")
    mx = sum(x for x, _ in points) / len(points)
    my = sum(y for _, y in points) / len(points)
    scale = math.sqrt(sum((x - mx) ** 2 + (y - my) ** 2 for x, y in points) / len(points))
    conic = _conic([[(x - mx) / scale, (y - my) / scale] for x, y in points])
    found = _from_conic(conic)
    found["cx"] = mx + scale * found["cx"]
    found["cy"] = my + scale * found["cy"]
    found["a"] *= scale
    found["b"] *= scale
    return found


def at(ellipse: Ellipse, anomaly: float) -> "Point":
    """The point of the ellipse with this eccentric anomaly (radians)."""
    u, v = ellipse["a"] * math.cos(anomaly), ellipse["b"] * math.sin(anomaly)
    c, s = math.cos(ellipse["phi"]), math.sin(ellipse["phi"])
    return [ellipse["cx"] + c * u - s * v, ellipse["cy"] + s * u + c * v]


def in_axes(ellipse: Ellipse, point: "Point") -> "Point":
    """The point measured from the centre along the major and the minor axis."""
    x, y = point[0] - ellipse["cx"], point[1] - ellipse["cy"]
    c, s = math.cos(ellipse["phi"]), math.sin(ellipse["phi"])
    return [c * x + s * y, c * y - s * x]


def half_turn(phi: float) -> float:
    """The direction of an axis in [0, pi); a rounding error below 0 is 0, not almost pi."""
    phi %= math.pi
    return 0.0 if math.pi - phi < LEVEL else phi


def nearest(ellipse: Ellipse, point: "Point") -> Nearest:
    """The point of the ellipse at the least distance, which reaches the bound for a tapped mark.

    With (u, v) in the axes and both made positive, it is (a^2 u / (t + a^2), b^2 v / (t + b^2)), t being the
    largest root of (a u / (t + a^2))^2 + (b v / (t + b^2))^2 = 1.
    """
    a, b = ellipse["a"], ellipse["b"]
    u, v = in_axes(ellipse, point)
    x, y = _first_quadrant(a, b, abs(u), abs(v))
    x, y = (x if u >= 0 else -x), (y if v >= 0 else -y)
    anomaly = math.atan2(y / b, x / a)
    return {
        "point": at(ellipse, anomaly),
        "anomaly": anomaly,
        "distance": math.sqrt((u - x) ** 2 + (v - y) ** 2),
    }


def residual(ellipse: Ellipse, points: "list[Point]") -> float:
    """Root mean square distance of the points from the ellipse."""
    return math.sqrt(sum(nearest(ellipse, point)["distance"] ** 2 for point in points) / len(points))


def _conic(points: "list[Point]") -> "list[float]":
    """A, B, C, D, E, F of A x^2 + B xy + C y^2 + D x + E y + F = 0 (Halir & Flusser, equations 22 to 29)."""
    square = [[x * x, x * y, y * y] for x, y in points]
    linear = [[x, y, 1.0] for x, y in points]
    s1, s2, s3 = _gram(square, square), _gram(square, linear), _gram(linear, linear)
    if s3[0][0] * s3[1][1] - s3[0][1] ** 2 < COLLINEAR * (s3[0][0] + s3[1][1]) ** 2:
        raise ValueError("The points lie on one line. Tap the rim all the way round.")
    back = _times(_inverse(s3), [[s2[row][column] for row in range(3)] for column in range(3)])
    reduced = _times(s2, back)
    m = [[s1[row][column] - reduced[row][column] for column in range(3)] for row in range(3)]
    m = [[value / 2 for value in m[2]], [-value for value in m[1]], [value / 2 for value in m[0]]]
    first = _eigenvector(m, _largest_eigenvalue(m))
    rest = [-sum(back[row][column] * first[column] for column in range(3)) for row in range(3)]
    return first + rest


def _largest_eigenvalue(m: "Matrix") -> float:
    """Of a 3x3 matrix with real eigenvalues. The ellipse's is the only one not negative, so the largest."""
    trace = m[0][0] + m[1][1] + m[2][2]
    minors = 0.0
    for i, j in ((0, 1), (0, 2), (1, 2)):
        minors += m[i][i] * m[j][j] - m[i][j] * m[j][i]
    det = sum(m[0][i] * _cross(m[1], m[2])[i] for i in range(3))
    # l^3 - trace l^2 + minors l - det, all roots real: by the cosine, then Newton for the last digits
    p = max(trace * trace / 9 - minors / 3, 0.0)
    q = trace**3 / 27 - trace * minors / 6 + det / 2
    cosine = q / math.sqrt(p) ** 3 if p > 0 else 1.0
    root = trace / 3 + 2 * math.sqrt(p) * math.cos(math.acos(max(-1.0, min(1.0, cosine))) / 3)
    for _ in range(3):
        slope = (3 * root - 2 * trace) * root + minors
        if slope > 0:
            root -= (((root - trace) * root + minors) * root - det) / slope
    return root


def _eigenvector(m: "Matrix", value: float) -> "list[float]":
    """Orthogonal to every row of m - value I: the longest cross product of two rows, scaled to length 1."""
    rows = [[m[i][j] - (value if i == j else 0.0) for j in range(3)] for i in range(3)]
    best, length = [0.0, 0.0, 0.0], 0.0
    for i, j in ((0, 1), (0, 2), (1, 2)):
        candidate = _cross(rows[i], rows[j])
        size = math.sqrt(sum(part * part for part in candidate))
        if size > length:
            best, length = candidate, size
    if length == 0:
        raise ValueError("No single ellipse fits the points. Tap the rim all the way round.")
    return [part / length for part in best]


def _from_conic(conic: "list[float]") -> Ellipse:
    a, b, c, d, e, f = conic
    if a + c < 0:
        a, b, c, d, e, f = -a, -b, -c, -d, -e, -f
    det = 4 * a * c - b * b
    if det <= 0:
        raise ValueError("The points do not lie on an ellipse. Tap the rim all the way round.")
    cx, cy = (b * e - 2 * c * d) / det, (b * d - 2 * a * e) / det
    level = -(f + (d * cx + e * cy) / 2)
    spread = math.sqrt((a - c) ** 2 + b * b)
    # det / (a + c + spread) is a + c - spread without its cancellation in a thin ellipse
    short, flat = (a + c + spread) / 2, det / (2 * (a + c + spread))
    if level <= 0 or flat < FLATTEST**2 * short:
        raise ValueError("The points do not lie on an ellipse. Tap the rim all the way round.")
    major, minor = math.sqrt(level / flat), math.sqrt(level / short)
    phi = 0.0
    if major - minor > ROUND * major:
        phi = math.atan2(-b, c - a) / 2
    return {"cx": cx, "cy": cy, "a": major, "b": minor, "phi": half_turn(phi)}


def _first_quadrant(a: float, b: float, u: float, v: float) -> "tuple[float, float]":
    if v == 0:
        focus = (a * a - b * b) / a
        if u < focus:  # inside the evolute the nearest point is off the axis
            x = a * u / focus
            return x, b * math.sqrt(max(0.0, 1 - (x / a) ** 2))
        return a, 0.0
    # s = t + b^2. g is convex and falls; from a start where g >= 0, Newton's steps never pass the root
    spread = a * a - b * b
    s = max(b * v, a * u - spread)
    for _ in range(STEPS):
        x, y = a * u / (s + spread), b * v / s
        g = x * x + y * y - 1
        if g <= 1e-15:
            break
        s += g / (2 * (x * x / (s + spread) + y * y / s))
    return a * a * u / (s + spread), b * b * v / s


def _gram(left: "Matrix", right: "Matrix") -> "Matrix":
    return [[sum(p[i] * q[j] for p, q in zip(left, right)) for j in range(3)] for i in range(3)]


def _times(left: "Matrix", right: "Matrix") -> "Matrix":
    return [[sum(left[i][k] * right[k][j] for k in range(3)) for j in range(3)] for i in range(3)]


def _cross(p: "list[float]", q: "list[float]") -> "list[float]":
    return [p[1] * q[2] - p[2] * q[1], p[2] * q[0] - p[0] * q[2], p[0] * q[1] - p[1] * q[0]]


def _inverse(m: "Matrix") -> "Matrix":
    columns = [_cross(m[1], m[2]), _cross(m[2], m[0]), _cross(m[0], m[1])]
    det = sum(m[0][i] * columns[0][i] for i in range(3))
    return [[columns[j][i] / det for j in range(3)] for i in range(3)]
