"""Taps on a photo: read from a form or a record, turned into a reading, and into numbers to draw.

Points are [x, y] in image pixels, y down.
"""

import json
import math
from typing import TYPE_CHECKING, TypedDict

from pwa.engine import clocking, rim_guide

if TYPE_CHECKING:
    from typing import Any

    from pwa.app.protocol import Record
    from pwa.app.visit import Visit
    from pwa.engine.clocking import Reading

LISTS = ("rim", "holes")
SINGLE = ("fixed", "moving", "centre")
NAMES = LISTS + SINGLE
FEWEST_RIM_POINTS = 5  # for the five numbers of an ellipse
NORMAL = 1.96  # standard deviations to either side that hold 95 %
FEWEST_HOLES = 3  # of a bolt circle whose number of holes is known
MOST_BOLTS = 100


class Next(TypedDict):
    """What to tap next, in words, and where, if that is known."""

    sentence: str
    at: "list[float] | None"


def typed(visit: "Visit") -> "dict[str, Any]":
    taps: dict[str, Any] = {name: _points(visit.field(name)) for name in LISTS}
    for name in SINGLE:
        taps[name] = _point(visit.field(name))
    bolts = visit.field("bolts")
    taps["bolts"] = int(bolts) if bolts.isdigit() and int(bolts) <= MOST_BOLTS else 0
    return taps


def of_record(marks: "Record | None", photo: "Record") -> "dict[str, Any]":
    """The taps of an earlier marking, if it was made on this very photo."""
    data = marks["data"] if marks and marks["data"]["photo"] == photo["data"]["sha256"] else {}
    taps: dict[str, Any] = {name: data.get(name) or ([] if name in LISTS else None) for name in NAMES}
    taps["bolts"] = data.get("bolts") or 0
    return taps


def reading(taps: "dict[str, Any]") -> "Reading":
    """The angle between the marks.

    Raises:
        ValueError: something is missing or does not fit; the sentence says what to tap.
    """
    if len(taps["rim"]) < FEWEST_RIM_POINTS:
        raise ValueError(f"Tap at least {FEWEST_RIM_POINTS} points on the rim, all the way round.")
    if not taps["fixed"] or not taps["moving"]:
        raise ValueError("Tap both witness marks.")
    holes, bolts = taps["holes"], taps["bolts"]
    if holes and (len(holes) < FEWEST_HOLES or bolts < len(holes)):
        raise ValueError(
            f"Tap the middle of at least {FEWEST_HOLES} bolts of one circle, and enter its number of bolts."
        )
    return clocking.reading(
        taps["rim"], taps["fixed"], taps["moving"], taps["centre"], holes=holes or None, count=bolts
    )


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
    """What to tap next: first the rim, kept even all the way round, then each mark, then what is advised."""
    rim = rim_guide.guide(taps["rim"])
    if not rim["enough"]:
        return {"sentence": rim["sentence"], "at": rim["next"]}
    if not taps["fixed"] or not taps["moving"]:
        name = "moving" if taps["fixed"] else "fixed"
        return {"sentence": f"Now the mark on the {joint[name]}, at the rim.", "at": None}
    return {"sentence": advice or "All there: save.", "at": None}


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
