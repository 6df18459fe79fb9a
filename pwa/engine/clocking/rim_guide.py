"""Where on the rim the next tap is worth most: taps on a third of it know five times less than all round."""

import math
from typing import TYPE_CHECKING, TypedDict

from pwa.engine.clocking import ellipse as ellipses

if TYPE_CHECKING:
    from pwa.engine.clocking.ellipse import Ellipse

    Point = list[float]

ENOUGH = 8  # taps: 12 make the angle between marks only 7 % better, 24 only 15 %
ALL_ROUND = 70.0  # degrees; a smaller gap costs next to nothing
START = (10, 4)  # the first tap is asked near this hour, each next a third of a turn on


class Guide(TypedDict):
    """`next`: the point to tap next, px, or None while there is no ellipse; `hour`: where, as on a clock."""

    enough: bool
    coverage: float  # degrees of the rim outside the largest gap
    gap: float  # degrees
    next: "Point | None"
    hour: int
    sentence: str


def guide(rim: "list[Point]") -> Guide:
    """Which part of the rim lacks taps. Hours as the rim is seen in the picture, 12 being up."""
    shape = _shape(rim)
    if shape is None:
        hour = (START[0] + START[1] * len(rim) - 1) % 12 + 1
        more = max(1, ellipses.FEWEST - len(rim))
        points = f"{more} more point{'s' if more > 1 else ''}"
        words = f"Tap {points} all round the rim, the next near {hour} o'clock."
        return {"enough": False, "coverage": 0.0, "gap": 360.0, "next": None, "hour": hour, "sentence": words}
    turns = _turns(shape, rim)
    gap, start = max((end - begin, begin) for begin, end in zip(turns, turns[1:] + [turns[0] + 360.0]))
    point = ellipses.at(shape, math.radians(start + gap / 2))
    hour = _hour(shape, point)
    enough = len(rim) >= ENOUGH and gap <= ALL_ROUND
    sentence = "The rim is tapped well all round."
    if gap > ALL_ROUND:
        sentence = f"{gap:.0f}° of the rim have no tap. Tap near {hour} o'clock."
    elif not enough:
        sentence = f"Tap {ENOUGH - len(rim)} more on the rim, the next near {hour} o'clock."
    return {
        "enough": enough,
        "coverage": 360.0 - gap,
        "gap": gap,
        "next": point,
        "hour": hour,
        "sentence": sentence,
    }


def coverage(shape: "Ellipse", rim: "list[Point]") -> float:
    """Degrees of the rim outside the largest gap between taps."""
    turns = _turns(shape, rim)
    return 360.0 - max(end - begin for begin, end in zip(turns, turns[1:] + [turns[0] + 360.0]))


def _shape(rim: "list[Point]") -> "Ellipse | None":
    try:
        return ellipses.fit(rim)
    except ValueError:
        return None


def _turns(shape: "Ellipse", rim: "list[Point]") -> "list[float]":
    return sorted(math.degrees(ellipses.nearest(shape, point)["anomaly"]) for point in rim)


def _hour(shape: "Ellipse", point: "Point") -> int:
    x, y = point[0] - shape["cx"], point[1] - shape["cy"]
    return (round(math.degrees(math.atan2(x, -y)) / 30) - 1) % 12 + 1
