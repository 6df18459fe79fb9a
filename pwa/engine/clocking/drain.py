"""Where a drain points against gravity, from a photo that shows a round rim in the drain's plane.

The rim tells how its plane lies before the camera: its image is flattened by b/a = cos(tilt) / sqrt(1 - e^2)
along the direction of the tilt, and the true centre is seen displaced towards the far side. The phone tells
where down is when the photo is taken. In the camera's frame, x right, y down, z into the scene, the drain
from `start` to `end` is then a direction in space, and the angle to gravity is that between two vectors.
The rim is taken to be about in the middle of the picture.
"""

import math
from typing import TYPE_CHECKING, TypedDict

from pwa.engine.clocking import perspective, view
from pwa.engine.clocking.view import NORMAL, STEP
from pwa.engine.clocking.witness import RADIUS_OVER_DISTANCE, tap_of
from pwa.engine.numbers import least_squares

if TYPE_CHECKING:
    from pwa.engine.clocking.view import View

    Point = list[float]
    # view's parameters, direction of the major axis, cos(tilt), far side along the minor axis, m
    Pose = tuple[list[float], float, float, float, Point]

BOTH_AXES = 2.45  # standard deviations that hold 95 % of an error with two directions (chi-squared, 2)
UNCLEAR = "Stand back and zoom, square to the joint, or tap the true centre."
NEARNESS = (0.0, RADIUS_OVER_DISTANCE / 2, RADIUS_OVER_DISTANCE)  # r/D tried where it is not known
UPRIGHT = 0.5  # of gravity along the picture's height: within 60 degrees of level
PHONE = 1.5  # degrees, standard uncertainty of a phone's own down at rest; our estimate


class Drain(TypedDict):
    """Degrees away from straight down, 0 to 180; `low` to `high` holds at least 95 %."""

    off: float
    u: float
    low: float
    high: float
    verdict: str  # "within", "out" or "cannot tell"; "" without a tolerance
    advice: str
    sentence: str


def gravity(acceleration: "Point", turned: float = 0.0) -> "Point":
    """Down in the picture's frame (x right, y down, z into the scene), of length 1.

    Args:
        acceleration: [x, y, z] including gravity, as the phone at rest gives it: x to the right of the
            screen, y to its top, z out of it; lying on its back, z is about +9.8 m/s2 (W3C Device Orientation
            and Motion; from memory.) Some give all three with the other sign; see `down`.
        turned: degrees the screen was turned at the photo, 0, 90, 180 or 270, as the browser says.

    Raises:
        ValueError: no acceleration.
    """
    size = math.sqrt(sum(part * part for part in acceleration))
    if size == 0:
        raise ValueError("The phone gave no direction of gravity. Hold it still and take the photo again.")
    x, y, z = -acceleration[0] / size, acceleration[1] / size, acceleration[2] / size
    c, s = math.cos(math.radians(turned)), math.sin(math.radians(turned))
    return [c * x + s * y, c * y - s * x, z]


def down(acceleration: "Point", turned: float = 0.0) -> "Point":
    """As `gravity`, whichever of both signs in use the phone gives its acceleration.

    The screen turns with the phone, so a picture's lower edge is below its upper one; that decides the sign
    where gravity lies along the picture and not along the view. Nothing decides it elsewhere.

    Raises:
        ValueError: the camera looks steeply up or down, or the phone lay on its side and its screen did not
            turn; no acceleration.
    """
    found = gravity(acceleration, turned)
    if abs(found[1]) < UPRIGHT:
        raise ValueError(
            "Seen so steeply, or with the phone on its side, nobody knows which way is down. Hold the phone "
            "upright, look level at the joint and take the photo again."
        )
    return found if found[1] > 0 else [-part for part in found]


def direction(
    rim: "list[Point]",
    start: "Point",
    end: "Point",
    down: "Point",
    tolerance: float = 0.0,
    centre: "Point | None" = None,
    tap: float = 0.0,
    phone: float = PHONE,
) -> Drain:
    """How far the drain, tapped where it starts and where it ends, points away from straight down.

    Without the true `centre` of the rim nobody knows which side of it is further away; both are tried.

    Args:
        down: gravity in the picture's frame, see `gravity`.
        phone: standard uncertainty of it, degrees.

    Raises:
        ValueError: points on no rim; a drain of no length; a tolerance less than 0.
    """
    if start == end:
        raise ValueError("Tap where the drain starts and where it ends, apart from each other.")
    seen = view.of(rim, centre)
    tap = tap or tap_of(seen["squares"], seen["spare"])
    angles = [_off(pose, start, end, down) for pose in _poses(seen, tap)]
    off = (min(angles) + max(angles)) / 2
    u = math.sqrt((tap * _noise(seen, start, end)) ** 2 + phone**2)
    low, high = max(0.0, min(angles) - BOTH_AXES * u), min(180.0, max(angles) + BOTH_AXES * u)
    unclear = max(angles) - min(angles) > 2 * BOTH_AXES * u
    found: Drain = {
        "off": off,
        "u": max(off - low, high - off) / BOTH_AXES,
        "low": low,
        "high": high,
        "verdict": "",
        "advice": UNCLEAR if unclear else "",
        "sentence": "",
    }
    return judged(found, tolerance)


def judged(found: Drain, tolerance: float) -> Drain:
    """The same reading, held against a tolerance in degrees; 0 for none.

    Raises:
        ValueError: a tolerance less than 0.
    """
    if tolerance < 0:
        raise ValueError("The tolerance cannot be less than 0°.")
    off, low, high = found["off"], found["low"], found["high"]
    verdict = ""
    if tolerance:
        verdict = "within" if high <= tolerance else "out" if low > tolerance else "cannot tell"
    return {
        "off": off,
        "u": found["u"],
        "low": low,
        "high": high,
        "verdict": verdict,
        "advice": found["advice"],
        "sentence": _sentence(off, low, high, verdict, tolerance),
    }


def _off(pose: "Pose", start: "Point", end: "Point", down: "Point") -> float:
    """Degrees between the drain and down."""
    p, phi, cosine, side, m = pose
    away = [-m[0], -m[1]]
    (x, y), (u, v) = (perspective.shift(view.flat(p, point, False), away) for point in (start, end))
    c, s = math.cos(phi), math.sin(phi)
    along, across = c * (u - x) + s * (v - y), c * (v - y) - s * (u - x)
    depth = side * math.sqrt(max(0.0, 1 - cosine * cosine))
    drain = [along * c - across * s * cosine, along * s + across * c * cosine, across * depth]
    product = sum(left * right for left, right in zip(drain, down))
    cross = [
        drain[1] * down[2] - drain[2] * down[1],
        drain[2] * down[0] - drain[0] * down[2],
        drain[0] * down[1] - drain[1] * down[0],
    ]
    return math.degrees(math.atan2(math.sqrt(sum(part * part for part in cross)), product))


def _poses(seen: "View", tap: float) -> "list[Pose]":
    """How the rim's plane may lie: what the taps leave open of its tilt, and which side is further away."""
    p = seen["parameters"]
    ratio, doubt, spread = view.flatness(seen, tap)
    phi = seen["ellipse"]["phi"]
    found = []
    for turn in (-1, 0, 1):
        axis = phi + math.radians(spread) * turn
        short = [-math.sin(axis), math.cos(axis)]
        for tried in (max(0.0, ratio - doubt), ratio, min(1.0, ratio + doubt)):
            if len(p) > view.RIM:
                cosine = tried * math.sqrt(1 - p[5] ** 2 - p[6] ** 2)
                found += [(p, axis, cosine, side, p[5:7]) for side in _far_sides(seen, tap)]
                continue
            for near in NEARNESS:
                e = perspective.offset_size(tried, near)
                cosine = tried * math.sqrt(1 - e * e)
                found += [(p, axis, cosine, s, [s * e * short[0], s * e * short[1]]) for s in (1.0, -1.0)]
    return found


def _far_sides(seen: "View", tap: float) -> "list[float]":
    """Signs of the minor axis that may point to the far side: one if the centre shows it clearly."""
    p, phi = seen["parameters"], seen["ellipse"]["phi"]
    across = p[6] * math.cos(phi) - p[5] * math.sin(phi)
    unsure = NORMAL * tap * math.sqrt(seen["covariance"][5][5] + seen["covariance"][6][6])
    if abs(across) < unsure:
        return [1.0, -1.0]
    return [1.0 if across > 0 else -1.0]


def _noise(seen: "View", start: "Point", end: "Point") -> float:
    """Degrees in the plane of the rim for taps of 1 px."""

    def turn(p: "list[float]", ends: "Point") -> float:
        (x, y), (u, v) = (view.true(p, point, False) for point in (ends[:2], ends[2:]))
        return perspective.direction([u - x, v - y])

    p, ends = seen["parameters"], [start[0], start[1], end[0], end[1]]
    now = turn(p, ends)
    slope = least_squares.slope(lambda q: perspective.wrap(turn(q, ends) - now), p, _steps(seen))
    total = least_squares.variance(seen["covariance"], slope)
    moved = least_squares.slope(lambda q: perspective.wrap(turn(p, q) - now), ends, [STEP] * 4)
    return math.sqrt(total + sum(part * part for part in moved))


def _steps(seen: "View") -> "list[float]":
    return [STEP * math.sqrt(seen["covariance"][i][i]) for i in range(len(seen["parameters"]))]


def _sentence(off: float, low: float, high: float, verdict: str, tolerance: float) -> str:
    said = f"The drain points {off:.0f}° away from straight down (95 %: {low:.0f}° to {high:.0f}°)"
    words = {"within": "within", "out": "more than", "cannot tell": "cannot tell whether it is within"}
    return f"{said}: {words[verdict]} {tolerance:g}°." if verdict else f"{said}."
