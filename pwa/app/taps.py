"""Taps on a photo: read from a form or a record, turned into a reading, and into numbers to draw.

Points are [x, y] in image pixels, y down.
"""

import json
import math
from typing import TYPE_CHECKING, TypedDict

from pwa.engine import clocking
from pwa.engine import ellipse as ellipses

if TYPE_CHECKING:
    from typing import Any

    from pwa.app.protocol import Record
    from pwa.app.visit import Visit
    from pwa.engine.clocking import Reading

LISTS = ("rim", "holes")
SINGLE = ("fixed", "moving", "centre")
NAMES = LISTS + SINGLE
FEWEST_RIM_POINTS = 5  # for the five numbers of an ellipse
ENOUGH_RIM_POINTS = 8
WIDEST_GAP = 75.0  # degrees of rim without a tap
NORMAL = 1.96  # standard deviations to either side that hold 95 %
CLOCK = ("12 o'clock", "3 o'clock", "6 o'clock", "9 o'clock")


class Next(TypedDict):
    """What to tap next, in words, and where, if that is known."""

    sentence: str
    at: "list[float] | None"


def typed(visit: "Visit") -> "dict[str, Any]":
    taps: dict[str, Any] = {name: _points(visit.field(name)) for name in LISTS}
    for name in SINGLE:
        taps[name] = _point(visit.field(name))
    return taps


def of_record(marks: "Record | None", photo: "Record") -> "dict[str, Any]":
    """The taps of an earlier marking, if it was made on this very photo."""
    data = marks["data"] if marks and marks["data"]["photo"] == photo["data"]["sha256"] else {}
    return {name: data.get(name) or ([] if name in LISTS else None) for name in NAMES}


def reading(taps: "dict[str, Any]") -> "Reading":
    """The angle between the marks.

    Raises:
        ValueError: something is missing or does not fit; the sentence says what to tap.
    """
    if len(taps["rim"]) < FEWEST_RIM_POINTS:
        raise ValueError(f"Tap at least {FEWEST_RIM_POINTS} points on the rim, all the way round.")
    if not taps["fixed"] or not taps["moving"]:
        raise ValueError("Tap both witness marks.")
    return clocking.reading(taps["rim"], taps["fixed"], taps["moving"], taps["centre"])


def words(found: "Reading") -> str:
    """A reading as one line; the plus-minus is the 95 % interval."""
    wide = NORMAL * found["u"]
    return f"{found['angle']:.1f}° ± {wide:.1f}° from the fixed to the moving mark (95 %)."


def drawing(photo: "dict[str, Any]", taps: "dict[str, Any]") -> "dict[str, Any]":
    """The taps and the fitted rim as numbers for an SVG in image pixels, and what they say in words."""
    ellipse, said, problem, advice = None, "", "", ""
    if len(taps["rim"]) >= FEWEST_RIM_POINTS:
        try:
            outline = clocking.outline(taps["rim"])
            ellipse = {name: f"{outline[name]:.1f}" for name in ("cx", "cy", "a", "b")}
            ellipse["turn"] = f"{math.degrees(outline['phi']):.2f}"
            if taps["fixed"] and taps["moving"]:
                found = reading(taps)
                said, advice = words(found), found["advice"]
        except ValueError as error:
            problem = str(error)
    width, height = photo.get("width") or 1, photo.get("height") or 1
    return {
        "width": width,
        "height": height,
        "aim": max(width, height) // 25 + 1,
        "ellipse": ellipse,
        "rim": taps["rim"],
        "holes": taps["holes"],
        "marks": [{"name": name, "x": taps[name][0], "y": taps[name][1]} for name in SINGLE if taps[name]],
        "words": said,
        "advice": advice,
        "problem": problem,
    }


def guide(taps: "dict[str, Any]", joint: "dict[str, Any]", advice: str = "") -> Next:
    """What to tap next: first the rim, kept even all the way round, then each mark, then the true centre."""
    rim, at = taps["rim"], None
    number = len(rim) + 1
    if len(rim) < FEWEST_RIM_POINTS:
        where = CLOCK[len(rim)] if len(rim) < len(CLOCK) else "between two others"
        sentence = f"Rim {number} of {ENOUGH_RIM_POINTS}: at {where}."
    elif _widest_gap(rim)[1] > WIDEST_GAP or len(rim) < ENOUGH_RIM_POINTS:
        at = _widest_gap(rim)[0]
        sentence = f"Rim {number} of {max(ENOUGH_RIM_POINTS, number)}: in the dashed ring."
    elif not taps["fixed"] or not taps["moving"]:
        name = "moving" if taps["fixed"] else "fixed"
        sentence = f"Now the mark on the {joint[name]}, at the rim."
    else:
        sentence = advice or "All there: save."
    return {"sentence": sentence, "at": at}


def _widest_gap(rim: "list[list[float]]") -> "tuple[list[float], float]":
    """Middle of the longest stretch of rim without a tap, and its length in degrees."""
    shape = clocking.outline(rim)
    turns = sorted(ellipses.nearest(shape, point)["anomaly"] for point in rim)
    start, gap = turns[-1], turns[0] + 2 * math.pi - turns[-1]
    for index in range(1, len(turns)):
        if turns[index] - turns[index - 1] > gap:
            start, gap = turns[index - 1], turns[index] - turns[index - 1]
    middle = ellipses.at(shape, start + gap / 2)
    return [round(part, 1) for part in middle], math.degrees(gap)


def _points(text: str) -> "list[list[float]]":
    """A JSON list of [x, y] pairs to a tenth of a pixel; anything else is no point at all."""
    try:
        value = json.loads(text) if text else []
    except ValueError:
        return []
    if not isinstance(value, list):
        return []
    return [[round(float(item[0]), 1), round(float(item[1]), 1)] for item in value if _is_point(item)]


def _point(text: str) -> "list[float] | None":
    found = _points(f"[{text}]") if text else []
    return found[0] if found else None


def _is_point(item: "Any") -> bool:
    return (
        isinstance(item, list) and len(item) == 2 and all(isinstance(value, (int, float)) for value in item)
    )
