"""Travel of a lever between its two stops, from a reading at each: degrees about the pivot, and the stroke.

The fixed mark is any mark of the housing on the rim about the pivot, the moving one sits on the lever; both
may be anywhere in the lever's plane (`on_rim=False`). The pin of a lever of length R goes the straight way
2 R sin(travel / 2).
"""

import math
from typing import TYPE_CHECKING, TypedDict

from pwa.engine.clocking import turning
from pwa.engine.clocking.view import NORMAL

if TYPE_CHECKING:
    from pwa.engine.clocking.witness import Reading


class Travel(TypedDict):
    """Degrees; `low` to `high` is the 95 % interval. `stroke` in m, 0 without a length of the lever."""

    travel: float
    u: float
    low: float
    high: float
    stroke: float
    stroke_u: float
    verdict: str  # "within", "out" or "cannot tell"; "" without limits
    sentence: str


def travel(
    first: "Reading",
    second: "Reading",
    least: float = 0.0,
    most: float = 0.0,
    length: float = 0.0,
    same_view: bool = False,
) -> Travel:
    """How far the lever went, either way round, and whether that lies between `least` and `most` degrees.

    Args:
        most: 0 for no limits.
        length: of the lever from pivot to pin, m; 0 if not known.
        same_view: both photos were taken from the same place; see `turning.difference`.

    Raises:
        ValueError: limits the wrong way round, a length less than 0.
    """
    if most and not 0 <= least <= most:
        raise ValueError("The least travel must be 0 or more and no more than the most.")
    if length < 0:
        raise ValueError("The length of the lever cannot be less than 0.")
    found = turning.difference(first, second, same_view)
    value = abs(found["turned"])
    half = found["high"] - found["turned"]
    low, high = max(0.0, value - half), value + half
    said = f"The lever went {value:.1f}° (95 %: {low:.1f}° to {high:.1f}°)"
    stroke = 2 * length * math.sin(math.radians(value) / 2)
    stroke_u = length * math.cos(math.radians(value) / 2) * math.radians(found["u"])
    if length:
        said += f", its pin {stroke * 1000:.1f} mm ± {NORMAL * stroke_u * 1000:.1f} mm"
    verdict = ""
    if most:
        verdict = _verdict(low, high, least, most)
        words = {"within": "within", "out": "outside", "cannot tell": "cannot tell whether it is within"}
        said += f": {words[verdict]} {least:g}° to {most:g}°"
    return {
        "travel": value,
        "u": found["u"],
        "low": low,
        "high": high,
        "stroke": stroke,
        "stroke_u": stroke_u,
        "verdict": verdict,
        "sentence": said + ".",
    }


def _verdict(low: float, high: float, least: float, most: float) -> str:
    if least <= low and high <= most:
        return "within"
    if high < least or low > most:
        return "out"
    return "cannot tell"
