"""Clocking: the angle between two witness marks of a round joint, tapped on a photo, and how far it turned.

Points are [x, y] in image pixels, y down; angles in degrees, clockwise positive as seen in the photo.
Uncertainty follows the GUM (JCGM 100:2008): that of a tap, times numerical derivatives of the calculation.
"""

import math
from typing import TYPE_CHECKING, TypedDict

from pwa.engine import ellipse as ellipses
from pwa.engine import perspective
from pwa.engine.ellipse import Ellipse
from pwa.engine.perspective import wrap

if TYPE_CHECKING:
    Point = list[float]

RADIUS_OVER_DISTANCE = 0.2  # the worst plausible: nobody photographs a joint from nearer than 5 rim radii
FLOOR = 1.0  # px, standard deviation a tap has at least, however well the rim happens to fit
NO_SPARE = 3.0  # px, of a tap when five points leave nothing to estimate it from; our estimate
CENTRE = 2.0  # times as uncertain as another tap: there is no line to tap on; our estimate
STEP = 0.1  # px, of the numerical derivatives
FURTHEST = 0.15  # of the rim's half axis: further off a mark is no mark on this rim
ROUGHEST = 0.05  # of the short half axis: taps with more residual are not on one rim
NEAREST_CENTRE = 0.5  # r/D; a centre that asks for a nearer camera is not in the plane of the rim
LITTLE_ARC = 240.0  # degrees; on less the uncertainty doubles and the fit comes out too small
FLAT = 0.5  # b/a of a tilt of 60 degrees
NORMAL = 1.96
# Student's t for 95 %, 1 to 10 degrees of freedom: JCGM 100:2008 (GUM), table G.2
STUDENT = (12.71, 4.30, 3.18, 2.78, 2.57, 2.45, 2.36, 2.31, 2.26, 2.23)


class Reading(TypedDict):
    """`u` is a standard uncertainty, degrees: angle +- 1.96 u holds the true angle 95 % of the time."""

    angle: float  # of the moving mark from the fixed mark, in (-180, 180]
    u: float
    perspective: str  # "removed" by the tapped centre, or "bounded" by the worst plausible camera
    ellipse: Ellipse
    residual: float  # rms distance of the rim taps from the ellipse, px
    coverage: float  # degrees of the rim outside the largest gap between taps
    advice: str  # what would make it better, or ""


class Rotation(TypedDict):
    """`low` to `high`: the 95 % interval as measured, degrees. `rotation`: clockwise positive."""

    rotation: float
    u: float
    low: float
    high: float
    verdict: str  # "within", "out" or "cannot tell"
    sentence: str


def outline(rim: "list[Point]") -> Ellipse:
    """The ellipse of a rim, from at least five taps on it.

    Raises:
        ValueError: too few taps, or taps that are not on one ellipse.
    """
    found = ellipses.fit(rim)
    if ellipses.residual(found, rim) > ROUGHEST * found["b"]:
        raise ValueError("The taps do not lie on one rim. Tap one edge all the way round.")
    return found


def reading(
    rim: "list[Point]",
    fixed: "Point",
    moving: "Point",
    centre: "Point | None" = None,
    radius_over_distance: float = RADIUS_OVER_DISTANCE,
) -> Reading:
    """The angle between two marks on the rim. `centre` is the true centre in the plane of the rim, if tapped.

    Without it `u` holds the error of the worst plausible camera: as near as `radius_over_distance` says,
    tilted as the ellipse shows, and with the rim about in the middle of the picture.

    Raises:
        ValueError: see `outline`; a mark away from the rim; a centre that cannot be one.
    """
    shape = outline(rim)
    for name, mark in (("fixed", fixed), ("moving", moving)):
        if ellipses.nearest(shape, mark)["distance"] > FURTHEST * shape["a"]:
            raise ValueError(f"The {name} mark is not on the rim. Tap where the mark meets the rim's edge.")
    residual = ellipses.residual(shape, rim)
    tap = _tap(residual, len(rim))
    if centre is not None:
        _check_centre(shape, centre, tap)
    noise = _noise(shape, rim, fixed, moving, centre, tap)
    worst = 0.0
    if centre is None:
        # a square view says little of its tilt, so take the flattest shape the taps allow
        ratio = max(0.0, shape["b"] / shape["a"] - NORMAL * math.sqrt(8 / len(rim)) * tap / shape["a"])
        worst = perspective.worst(shape, fixed, moving, ratio, radius_over_distance)
    # worst is a limit, not a deviation. With this share the 95 % interval of a rotation holds the limits of
    # both its readings, even opposite ones: 1.96 * sqrt(u1^2 + u2^2) >= worst1 + worst2
    share = worst * math.sqrt(2) / NORMAL
    coverage = _coverage(shape, rim)
    return {
        "angle": _angle(shape, fixed, moving, centre),
        "u": math.sqrt(noise**2 + share**2),
        "perspective": "bounded" if centre is None else "removed",
        "ellipse": shape,
        "residual": residual,
        "coverage": coverage,
        "advice": _advice(shape, len(rim), coverage, share > noise),
    }


def rotation(
    before: Reading, after: Reading, tolerance: float, fixing: str = "other", bolts: int = 0
) -> Rotation:
    """How far the moving part has turned between two readings, and whether within +- tolerance degrees.

    "within" and "out" need the whole 95 % interval on one side; else "cannot tell". A part held by a known
    number of bolts turns by whole steps of 360 / bolts; if the interval holds just one, that is the rotation.

    Raises:
        ValueError: a tolerance that is not more than 0.
    """
    if not tolerance > 0:
        raise ValueError("The tolerance must be more than 0°.")
    turned = wrap(after["angle"] - before["angle"])
    u = math.sqrt(before["u"] ** 2 + after["u"] ** 2)
    low, high = turned - NORMAL * u, turned + NORMAL * u
    steps = _whole_steps(low, high, bolts) if fixing == "bolts" and bolts > 1 else None
    if steps is not None and len(steps) == 1:
        turned = wrap(steps[0] * 360.0 / bolts)
        verdict = "within" if abs(turned) <= tolerance else "out"
        sentence = f"{_holes(steps[0], turned, bolts)}: {_judged(verdict, tolerance)}"
    else:
        verdict = _verdict(low, high, tolerance)
        sentence = (
            f"{_turned(turned)} (95 %: {_signed(low)} to {_signed(high)}): {_judged(verdict, tolerance)}"
        )
        if steps == []:
            sentence += f" No whole hole of {bolts} fits this: check the marks and that the joint is seated."
    return {"rotation": turned, "u": u, "low": low, "high": high, "verdict": verdict, "sentence": sentence}


def _whole_steps(low: float, high: float, bolts: int) -> "list[int]":
    """The steps of 360 / bolts between low and high, counted from 0; at most a whole turn of them."""
    step = 360.0 / bolts
    first, last = math.ceil(low / step), math.floor(high / step)
    return list(range(first, min(last, first + bolts) + 1))


def _verdict(low: float, high: float, tolerance: float) -> str:
    if -tolerance <= low and high <= tolerance:
        return "within"
    if low > tolerance or high < -tolerance:
        return "out"
    return "cannot tell"


def _judged(verdict: str, tolerance: float) -> str:
    words = {"within": "within", "out": "out of", "cannot tell": "cannot tell whether it is within"}
    return f"{words[verdict]} ±{tolerance:g}°."


def _holes(steps: int, turned: float, bolts: int) -> str:
    if turned == 0:
        return f"Back on the same holes of {bolts}, not turned"
    count = f"{abs(steps)} hole{'s' if abs(steps) > 1 else ''} of {bolts}"
    return f"Turned by {count}, {abs(turned):.4g}° {_sense(turned)}"


def _turned(turned: float) -> str:
    if abs(turned) < 0.05:
        return "Turned 0.0°"
    return f"Turned {abs(turned):.1f}° {_sense(turned)}"


def _sense(turned: float) -> str:
    return "clockwise" if turned > 0 else "counter-clockwise"


def _signed(angle: float) -> str:
    return f"{'-' if angle <= -0.05 else ''}{abs(angle):.1f}°"


def _angle(shape: Ellipse, fixed: "Point", moving: "Point", centre: "Point | None") -> float:
    offset = perspective.offset_of(shape, centre) if centre is not None else [0.0, 0.0]
    return perspective.between(shape, fixed, moving, offset)


def _tap(residual: float, count: int) -> float:
    """Standard deviation of one tap across the rim, px, widened for how little few points know of it."""
    spare = count - ellipses.FEWEST
    if spare < 1:
        return NO_SPARE
    wider = STUDENT[spare - 1] / NORMAL if spare <= len(STUDENT) else 1 + 1.35 / spare
    return max(FLOOR, residual * math.sqrt(count / spare) * wider)


def _noise(
    shape: Ellipse, rim: "list[Point]", fixed: "Point", moving: "Point", centre: "Point | None", tap: float
) -> float:
    """Degrees: every tap moved a little, one after another, and the changes of the angle added in squares."""
    angle = _angle(shape, fixed, moving, centre)
    total = 0.0
    for index, point in enumerate(rim):
        # only a move across the rim changes the fit, and the rim's own taps are judged by that
        away = _normal(shape, point)
        moved = list(rim)
        moved[index] = [point[0] + STEP * away[0], point[1] + STEP * away[1]]
        total += wrap(_angle(ellipses.fit(moved), fixed, moving, centre) - angle) ** 2
    for axis in (0, 1):
        total += wrap(_angle(shape, _nudge(fixed, axis), moving, centre) - angle) ** 2
        total += wrap(_angle(shape, fixed, _nudge(moving, axis), centre) - angle) ** 2
        if centre is not None:
            total += (CENTRE * wrap(_angle(shape, fixed, moving, _nudge(centre, axis)) - angle)) ** 2
    return tap / STEP * math.sqrt(total)


def _normal(shape: Ellipse, point: "Point") -> "Point":
    anomaly = ellipses.nearest(shape, point)["anomaly"]
    u, v = math.cos(anomaly) / shape["a"], math.sin(anomaly) / shape["b"]
    size = math.sqrt(u * u + v * v)
    c, s = math.cos(shape["phi"]), math.sin(shape["phi"])
    return [(c * u - s * v) / size, (s * u + c * v) / size]


def _nudge(point: "Point", axis: int) -> "Point":
    return [point[0] + STEP * (axis == 0), point[1] + STEP * (axis == 1)]


def _check_centre(shape: Ellipse, centre: "Point", tap: float) -> None:
    x, y = perspective.offset_of(shape, centre)
    e = math.sqrt(x * x + y * y)
    if e >= 1:
        raise ValueError("The centre is outside the rim. Tap the true centre, or leave it out.")
    slack = 3 * CENTRE * tap / shape["b"]
    if e > perspective.offset_size(max(0.0, shape["b"] / shape["a"] - slack), NEAREST_CENTRE) + slack:
        raise ValueError(
            "The centre does not fit the shape of the rim. Tap it in the plane of the rim, or leave it out."
        )


def _coverage(shape: Ellipse, rim: "list[Point]") -> float:
    turns = sorted(math.degrees(ellipses.nearest(shape, point)["anomaly"]) for point in rim)
    gaps = [turns[index] - turns[index - 1] for index in range(1, len(turns))]
    return min(360.0 - gap for gap in gaps + [360.0 - (turns[-1] - turns[0])])


def _advice(shape: Ellipse, count: int, coverage: float, perspective_leads: bool) -> str:
    said = []
    if perspective_leads:
        said.append("Stand back and zoom, or tap the true centre.")
    if coverage < LITTLE_ARC:
        said.append("Tap the rim all the way round.")
    if count < ellipses.FEWEST + 3:
        said.append("Tap more points on the rim.")
    if shape["b"] < FLAT * shape["a"]:
        said.append("Stand squarer to the joint.")
    return " ".join(said)
