"""How far a joint has turned between two readings, and whether that is within what the shop allows.

Angles in degrees, clockwise positive as seen in the photos. The 95 % interval is the taps' share, added in
squares, and outside it the limits of what perspective may have done, added whole: they are no chance.
"""

import math
from typing import TYPE_CHECKING, TypedDict

from pwa.engine.clocking import perspective
from pwa.engine.clocking.perspective import wrap
from pwa.engine.clocking.view import NORMAL

if TYPE_CHECKING:
    from pwa.engine.clocking.witness import Reading

PLAY = 1.0  # degrees a part can turn in its bolt holes: 1 mm of clearance (ISO 273) at 60 mm; our estimate
MANY = 3  # holes to name in a sentence
# What "the same place" leaves open, our estimates: a quarter of the nearness, and standing 5 degrees aside
NEARER, ASIDE = 0.25, math.sin(math.radians(5))
ALIKE = 0.05  # of b/a: views that differ more were not taken from one place
TURNED = 12.0  # degrees of the short axis against the fixed mark, likewise
ROUND = 0.9  # b/a above which the direction of the axes means too little to compare
DIRECTIONS, SIZES = 12, (0.5, 1.0)


class Rotation(TypedDict):
    """`low` to `high`: the 95 % interval as measured, degrees. `rotation`: clockwise positive."""

    rotation: float
    u: float
    low: float
    high: float
    verdict: str  # "within", "out" or "cannot tell"
    cancelled: bool  # equal views took away part of what perspective may have done
    along: float  # the rotation along the rim, m; 0 without a diameter
    sentence: str


class Difference(TypedDict):
    """Of two readings, degrees, second less first."""

    turned: float
    u: float
    low: float
    high: float
    limit: float  # most that perspective may have done to it
    cancelled: bool


def rotation(
    before: "Reading",
    after: "Reading",
    tolerance: float,
    fixing: str = "other",
    bolts: int = 0,
    same_view: bool = False,
    diameter: float = 0.0,
) -> Rotation:
    """How far the moving part has turned between two readings, and whether within +- tolerance degrees.

    "within" and "out" need the whole 95 % interval on one side; else "cannot tell". A part held by a known
    number of bolts turns by whole steps of 360 / bolts; if the interval holds just one, that is the rotation.
    `same_view`: both photos were taken from the same place; see `difference`. `diameter` of the rim, m.

    Raises:
        ValueError: a tolerance that is not more than 0, a diameter less than 0.
    """
    if not tolerance > 0:
        raise ValueError("The tolerance must be more than 0°.")
    if diameter < 0:
        raise ValueError("The diameter of the rim cannot be less than 0.")
    found = difference(before, after, same_view)
    turned, low, high = found["turned"], found["low"], found["high"]
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
        elif steps:
            sentence += f" {_several(steps, bolts)}"
    along = math.radians(turned) * diameter / 2
    if diameter > 0:
        sentence += f" That is {abs(along) * 1000:.1f} mm along a rim of {diameter * 1000:g} mm."
    return {
        "rotation": turned,
        "u": found["u"],
        "low": low,
        "high": high,
        "verdict": verdict,
        "cancelled": found["cancelled"],
        "along": along,
        "sentence": sentence + _of_views(found, same_view, verdict),
    }


def difference(first: "Reading", second: "Reading", same_view: bool = False) -> Difference:
    """What lies between two readings of the same joint.

    Perspective that is not removed shifts both. From the same place it shifts both alike, and what is common
    drops out of the difference where the marks sit at the same place of the rim. That both photos were taken
    from one place is the user's word, for tilts to opposite sides look the same; it counts if the ellipses
    agree with it. Then the limit is the largest error over every common m, with what "the same place" leaves
    open between the two views.
    """
    turned = wrap(second["angle"] - first["angle"])
    limits = [reading.get("limit", 0.0) for reading in (first, second)]
    limit, cancelled = sum(limits), False
    if same_view and min(limits) > 0 and _alike(first, second):
        common = _common(first, second)
        cancelled = common < limit
        limit = min(common, limit)
    noise = math.sqrt(first.get("noise", first["u"]) ** 2 + second.get("noise", second["u"]) ** 2)
    half = NORMAL * noise + limit
    return {
        "turned": turned,
        "u": half / NORMAL,
        "low": turned - half,
        "high": turned + half,
        "limit": limit,
        "cancelled": cancelled,
    }


def _alike(first: "Reading", second: "Reading") -> bool:
    ratios = [reading["ellipse"]["b"] / reading["ellipse"]["a"] for reading in (first, second)]
    if abs(ratios[0] - ratios[1]) > ALIKE:
        return False
    axes = [
        math.degrees(reading["ellipse"]["phi"]) - perspective.direction(reading["marks"][0])
        for reading in (first, second)
    ]
    apart = abs(wrap(2 * (axes[1] - axes[0]))) / 2  # an axis has no head
    return min(ratios) > ROUND or apart <= TURNED


def _common(first: "Reading", second: "Reading") -> float:
    """Largest error of the difference, degrees, both views having the same m but for a little."""
    pairs = [_from_fixed(first), _from_fixed(second)]
    most = max(first["shift"], second["shift"])
    apart = NEARER * most + max(first["nearness"], second["nearness"]) * ASIDE
    apart = min(apart, 2 * most)
    slight = perspective.offsets(0.0, 90.0, apart / (1 - most * most))
    plain = [perspective.between(start, end, [0.0, 0.0]) for start, end in pairs]
    worst = 0.0
    for step in range(DIRECTIONS):
        angle = 2 * math.pi / DIRECTIONS * step
        for size in SIZES:
            m = [size * most * math.cos(angle), size * most * math.sin(angle)]
            errors = [
                wrap(perspective.between(start, end, m) - before)
                for (start, end), before in zip(pairs, plain)
            ]
            # a second view with another m is the first one's, shifted once more by the small rest
            away = [-m[0], -m[1]]
            start, end = (perspective.shift(point, away) for point in pairs[1])
            worst = max(worst, abs(errors[1] - errors[0]) + perspective.worst(start, end, slight))
    return worst


def _from_fixed(reading: "Reading") -> "list[list[float]]":
    """Both marks as seen, turned so that the fixed mark lies along x."""
    (x, y), (u, v) = reading["marks"]
    size = math.sqrt(x * x + y * y)
    c, s = x / size, y / size
    return [[size, 0.0], [c * u + s * v, c * v - s * u]]


def _whole_steps(low: float, high: float, bolts: int) -> "list[int]":
    """The steps of 360 / bolts between low and high and the holes' play; at most a whole turn of them."""
    step = 360.0 / bolts
    first, last = math.ceil((low - PLAY) / step), math.floor((high + PLAY) / step)
    return list(range(first, min(last, first + bolts) + 1))


def _verdict(low: float, high: float, tolerance: float) -> str:
    if -tolerance <= low and high <= tolerance:
        return "within"
    if low > tolerance or high < -tolerance:
        return "out"
    return "cannot tell"


def _of_views(found: Difference, same_view: bool, verdict: str) -> str:
    said = ""
    if found["cancelled"]:
        said = " Both photos are from the same place, which cancels part of the perspective."
    elif same_view and found["limit"] > 0:
        said = " The two views are not alike, so nothing of the perspective cancels."
    if verdict == "cannot tell" and found["limit"] > NORMAL * found["u"] / 2:
        said += " Stand back and zoom, or tap the true centre."
    return said


def _judged(verdict: str, tolerance: float) -> str:
    words = {"within": "within", "out": "out of", "cannot tell": "cannot tell whether it is within"}
    return f"{words[verdict]} ±{tolerance:g}°."


def _holes(steps: int, turned: float, bolts: int) -> str:
    if turned == 0:
        return f"Back on the same holes of {bolts}, not turned"
    count = f"{abs(steps)} hole{'s' if abs(steps) > 1 else ''} of {bolts}"
    return f"Turned by {count}, {abs(turned):.4g}° {_sense(turned)}"


def _several(steps: "list[int]", bolts: int) -> str:
    if len(steps) > MANY:
        return f"More than {MANY} whole holes of {bolts} fit."
    return f"Whole holes of {bolts} that fit: {', '.join(str(step) for step in steps)}."


def _turned(turned: float) -> str:
    if abs(turned) < 0.05:
        return "Turned 0.0°"
    return f"Turned {abs(turned):.1f}° {_sense(turned)}"


def _sense(turned: float) -> str:
    return "clockwise" if turned > 0 else "counter-clockwise"


def _signed(angle: float) -> str:
    return f"{'-' if angle <= -0.05 else ''}{abs(angle):.1f}°"
