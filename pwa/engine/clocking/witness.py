"""Clocking: the angle between two witness marks of a round joint, tapped on a photo.

Points are [x, y] in image pixels, y down; angles in degrees, clockwise positive as seen in the photo.
Uncertainty follows the GUM (JCGM 100:2008): that of a tap, through the covariance of the fitted view and
numerical derivatives of the calculation. Perspective that nothing tapped shows is no deviation but a limit.
How far a joint has turned between two readings: `turning`.
"""

import math
from typing import TYPE_CHECKING, TypedDict

from pwa.engine.clocking import ellipse as ellipses
from pwa.engine.clocking import perspective, rim_guide, view
from pwa.engine.clocking.ellipse import Ellipse
from pwa.engine.clocking.perspective import wrap
from pwa.engine.clocking.view import NORMAL, STEP
from pwa.engine.numbers import least_squares

if TYPE_CHECKING:
    from pwa.engine.clocking.view import View

    Point = list[float]

RADIUS_OVER_DISTANCE = 1 / 3  # the worst plausible: nobody photographs a joint from nearer than 3 rim radii
FLOOR = 0.5  # px, standard deviation a tap has at least, however well the rim happens to fit
NO_SPARE = 3.0  # px, of a tap when five points leave nothing to estimate it from; our estimate
FURTHEST = 0.15  # of the rim's half axis: further off a mark is no mark on this rim
BESIDE = 4.0  # standard deviations of a tap: a mark this far from the rim was tapped beside it
ROUGHEST = 0.05  # of the short half axis: taps with more residual are not on one rim
NEAREST_CENTRE = 0.5  # r/D; a centre that asks for a nearer camera is not in the plane of the rim
LITTLE_ARC = 240.0  # degrees; on less the uncertainty doubles
FLAT = 0.5  # b/a of a tilt of 60 degrees
# Student's t for 95 %, 1 to 10 degrees of freedom: JCGM 100:2008 (GUM), table G.2
STUDENT = (12.71, 4.30, 3.18, 2.78, 2.57, 2.45, 2.36, 2.31, 2.26, 2.23)


class Reading(TypedDict):
    """`low` to `high` holds the true angle 95 % of the time, degrees; so does angle +- 1.96 u."""

    angle: float  # of the moving mark from the fixed mark, in (-180, 180]
    u: float  # standard uncertainty with the limit's share
    low: float
    high: float
    noise: float  # standard uncertainty from the taps alone
    limit: float  # most that perspective may have done, 0 where it is removed
    perspective: str  # "removed" by what was tapped, or "bounded" by the worst plausible camera
    ellipse: Ellipse
    residual: float  # rms distance of the rim taps from the ellipse, px
    coverage: float  # degrees of the rim outside the largest gap between taps
    tap: float  # standard deviation of one tap, px
    marks: "list[Point]"  # fixed and moving as seen, scaled to the unit circle
    shift: float  # largest |m| that perspective may have, 0 where it is removed
    nearness: float  # r/D taken for that
    advice: str  # what would make it better, or ""


def outline(rim: "list[Point]") -> Ellipse:
    """The ellipse of a rim, from at least five taps on it.

    Raises:
        ValueError: too few taps, or taps that are not on one ellipse.
    """
    found = view.of(rim)["ellipse"]
    _check_rim(found, rim)
    return found


def nearness(distance: float, diameter: float) -> float:
    """r/D of a rim of this diameter from this distance of its centre, both in m.

    Raises:
        ValueError: a length that is not more than 0, or a camera inside the rim.
    """
    if not (diameter > 0 and distance > diameter / 2):
        raise ValueError("The camera stands further from the rim than half its diameter. Check both lengths.")
    return diameter / 2 / distance


def reading(
    rim: "list[Point]",
    fixed: "Point",
    moving: "Point",
    centre: "Point | None" = None,
    radius_over_distance: float = RADIUS_OVER_DISTANCE,
    holes: "list[Point] | None" = None,
    count: int = 0,
    tap: float = 0.0,
    on_rim: bool = True,
) -> Reading:
    """The angle between two marks on the rim.

    Perspective is removed by `centre`, the true centre tapped in the plane of the rim, or by `holes`, taps on
    at least three of the `count` equally spaced holes of a bolt circle round the same centre in that plane.
    Without them `limit` holds the error of the worst plausible camera: as near as `radius_over_distance`
    says, tilted as the ellipse shows, and with the rim about in the middle of the picture.

    Args:
        tap: standard deviation of a tap, px, if known; else the rim's own residual tells it.
        on_rim: False for marks anywhere in the plane, as on a lever; they count along a ray from the centre.

    Raises:
        ValueError: see `outline`; a mark away from the rim; a centre or holes that cannot be.
    """
    rough = ellipses.fit(rim)
    _check_rim(rough, rim)
    if centre is not None:
        _check_inside(rough, centre)
    seen = view.of(rim, centre, holes, count)
    shape = seen["ellipse"]
    tap = tap or tap_of(seen["squares"], seen["spare"])
    removed = len(seen["parameters"]) > view.RIM
    if removed:
        _check_shift(seen, tap, bool(holes))
    beside = max(ellipses.nearest(shape, mark)["distance"] for mark in (fixed, moving)) if on_rim else 0.0
    for name, mark in (("fixed", fixed), ("moving", moving)):
        if on_rim and ellipses.nearest(shape, mark)["distance"] > FURTHEST * shape["a"]:
            raise ValueError(f"The {name} mark is not on the rim. Tap where the mark meets the rim's edge.")
    noise = tap * _noise(seen, fixed, moving, on_rim)
    marks = [view.flat(seen["parameters"], mark, on_rim) for mark in (fixed, moving)]
    e, limit = (0.0, 0.0) if removed else _limit(seen, marks, tap, radius_over_distance)
    coverage = rim_guide.coverage(shape, rim)
    angle, half = _angle(seen["parameters"], fixed, moving, on_rim), limit + NORMAL * noise
    return {
        "angle": angle,
        "u": half / NORMAL,
        "low": angle - half,
        "high": angle + half,
        "noise": noise,
        "limit": limit,
        "perspective": "removed" if removed else "bounded",
        "ellipse": shape,
        "residual": ellipses.residual(shape, rim),
        "coverage": coverage,
        "tap": tap,
        "marks": marks,
        "shift": e,
        "nearness": 0.0 if removed else radius_over_distance,
        "advice": _advice(shape, len(rim), coverage, limit > NORMAL * noise, beside > BESIDE * tap),
    }


def _angle(parameters: "list[float]", fixed: "Point", moving: "Point", on_rim: bool) -> float:
    start, end = (view.true(parameters, mark, on_rim) for mark in (fixed, moving))
    return perspective.between(start, end, [0.0, 0.0])


def tap_of(squares: float, spare: int) -> float:
    """Standard deviation of one tap, px, widened for how little few points know of it."""
    if spare < 1:
        return NO_SPARE
    wider = STUDENT[spare - 1] / NORMAL if spare <= len(STUDENT) else 1 + 1.35 / spare
    return max(FLOOR, math.sqrt(squares / spare) * wider)


def _noise(seen: "View", fixed: "Point", moving: "Point", on_rim: bool) -> float:
    """Degrees for taps of 1 px: of the view, and of both marks, each moved a little along x and y."""
    parameters = seen["parameters"]
    angle = _angle(parameters, fixed, moving, on_rim)
    steps = [STEP * math.sqrt(seen["covariance"][i][i]) for i in range(len(parameters))]
    slope = least_squares.slope(lambda p: wrap(_angle(p, fixed, moving, on_rim) - angle), parameters, steps)
    total = least_squares.variance(seen["covariance"], slope)
    for axis in (0, 1):
        moves = (
            _angle(parameters, _nudge(fixed, axis), moving, on_rim),
            _angle(parameters, fixed, _nudge(moving, axis), on_rim),
        )
        total += sum((wrap(moved - angle) / STEP) ** 2 for moved in moves)
    return math.sqrt(total)


def _nudge(point: "Point", axis: int) -> "Point":
    return [point[0] + STEP * (axis == 0), point[1] + STEP * (axis == 1)]


def _limit(seen: "View", marks: "list[Point]", tap: float, near: float) -> "tuple[float, float]":
    """Largest |m|, and largest error in degrees.

    m lies on the short axis for the rim is about in the middle; a nearly square view says little of how far
    it is tilted and where to, so its flattest shape and every direction the taps allow are tried.
    """
    ratio, doubt, spread = view.flatness(seen, tap)
    e = perspective.offset_size(max(0.0, ratio - doubt), near)
    short = math.degrees(seen["ellipse"]["phi"]) + 90
    return e, perspective.worst(marks[0], marks[1], perspective.offsets(short, spread, e))


def _check_rim(shape: Ellipse, rim: "list[Point]") -> None:
    if ellipses.residual(shape, rim) > ROUGHEST * shape["b"]:
        raise ValueError("The taps do not lie on one rim. Tap one edge all the way round.")


def _check_inside(shape: Ellipse, centre: "Point") -> None:
    u, v = ellipses.in_axes(shape, centre)
    if (u / shape["a"]) ** 2 + (v / shape["b"]) ** 2 >= 1:
        raise ValueError("The centre is outside the rim. Tap the true centre, or leave it out.")


def _check_shift(seen: "View", tap: float, holes: bool) -> None:
    """The centre cannot be seen further off than a near camera and the tilt of the rim make it."""
    shape, m = seen["ellipse"], seen["parameters"][5:7]
    unsure = math.sqrt(seen["covariance"][5][5] + seen["covariance"][6][6])
    slack = 3 * tap * (unsure if holes else view.CENTRE / shape["b"])
    most = perspective.offset_size(max(0.0, shape["b"] / shape["a"] - slack), NEAREST_CENTRE) + slack
    rough = math.sqrt(seen["squares"] / max(1, seen["spare"])) > ROUGHEST * shape["b"]
    if math.sqrt(m[0] ** 2 + m[1] ** 2) <= most and not rough:
        return
    if holes:
        raise ValueError("The holes do not fit the rim. Check their number, or leave them out.")
    raise ValueError(
        "The centre does not fit the shape of the rim. Tap it in the plane of the rim, or leave it out."
    )


def _advice(shape: Ellipse, count: int, coverage: float, perspective_leads: bool, beside: bool) -> str:
    said = []
    if perspective_leads:
        said.append("Stand back and zoom, or tap the true centre.")
    if coverage < LITTLE_ARC:
        said.append("Tap the rim all the way round.")
    if count < ellipses.FEWEST + 3:
        said.append("Tap more points on the rim.")
    if beside:
        said.append("Tap the marks where they meet the rim's edge.")
    if shape["b"] < FLAT * shape["a"]:
        said.append("Stand squarer to the joint.")
    return " ".join(said)
