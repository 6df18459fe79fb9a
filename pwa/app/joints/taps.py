"""Taps on a photo: read from a form or a record, turned into a reading, and into numbers to draw.

Points are [x, y] in image pixels, y down. `fixed` and `moving` are the two marks; of a drain, its two ends.
"""

import json
import math
from typing import TYPE_CHECKING, TypedDict

from pwa.app.kinds.joints import MOST_BOLTS, NORMAL
from pwa.engine.clocking import drain, rim_guide, witness

if TYPE_CHECKING:
    from typing import Any

    from pwa.app.kinds.data import AngleReading, DrainReading, Marks, Photo
    from pwa.app.shapes import Joint
    from pwa.app.visit import Visit
    from pwa.engine.clocking.ellipse import Ellipse

    Point = list[float]
    Reading = AngleReading | DrainReading

NAMES = ("rim", "holes", "fixed", "moving", "centre")  # of the fields of a form that hold points
FEWEST_RIM_POINTS = 5  # for the five numbers of an ellipse
FEWEST_HOLES = 3  # of a bolt circle whose number of holes is known


class Taps(TypedDict):
    """`bolts`: how many there are on the circle of `holes`, 0 where nobody said."""

    rim: "list[Point]"
    holes: "list[Point]"
    fixed: "Point | None"
    moving: "Point | None"
    centre: "Point | None"
    bolts: int


class Outline(TypedDict):
    """The fitted rim as an SVG wants it: px, and degrees."""

    cx: str
    cy: str
    a: str
    b: str
    turn: str


class Drawing(TypedDict):
    """What is tapped, as numbers for an SVG in image pixels, and what it says in words."""

    width: int
    height: int
    aim: int  # radius of the ring round the place to tap next
    ellipse: "Outline | None"
    rim: "list[Point]"
    holes: "list[Point]"
    marks: "list[dict[str, str | float]]"  # name, x, y
    rays: "list[dict[str, str | Point]]"  # name, from, to
    down: "dict[str, list[str]] | None"  # corners of an arrow's `line` and `head`
    words: str
    advice: str
    problem: str


class Next(TypedDict):
    """What to tap next, in words, and where, if that is known."""

    sentence: str
    at: "Point | None"


def typed(visit: "Visit") -> Taps:
    bolts = visit.field("bolts")
    return {
        "rim": _points(visit.field("rim")),
        "holes": _points(visit.field("holes")),
        "fixed": _point(visit.field("fixed")),
        "moving": _point(visit.field("moving")),
        "centre": _point(visit.field("centre")),
        "bolts": int(bolts) if bolts.isdigit() and int(bolts) <= MOST_BOLTS else 0,
    }


def of_marks(marks: "Marks | None") -> Taps:
    """The taps of an earlier marking; none without one."""
    return {
        "rim": marks.get("rim", []) if marks else [],
        "holes": marks.get("holes", []) if marks else [],
        "fixed": marks.get("fixed") if marks else None,
        "moving": marks.get("moving") if marks else None,
        "centre": marks.get("centre") if marks else None,
        "bolts": marks.get("bolts", 0) if marks else 0,
    }


def reading(taps: Taps, joint: "Joint", photo: "Photo") -> "Reading":
    """What the taps say: the angle between both marks, or of a drain how far from straight down it points.

    Raises:
        ValueError: something is missing or does not fit; the sentence says what to tap.
    """
    if len(taps["rim"]) < FEWEST_RIM_POINTS:
        raise ValueError(f"Tap at least {FEWEST_RIM_POINTS} points on the rim, all the way round.")
    if joint["marks"] == "drain":
        return _drain(taps, photo)
    fixed, moving, holes, bolts = taps["fixed"], taps["moving"], taps["holes"], taps["bolts"]
    if not fixed or not moving:
        raise ValueError("Tap both witness marks.")
    if holes and (len(holes) < FEWEST_HOLES or bolts < len(holes)):
        raise ValueError(
            f"Tap the middle of at least {FEWEST_HOLES} bolts of one circle, and enter its number of bolts."
        )
    return witness.reading(
        taps["rim"],
        fixed,
        moving,
        taps["centre"],
        holes=holes or None,
        count=bolts,
        on_rim=joint["marks"] != "travel",  # a lever's marks sit anywhere in its plane
    )


def _drain(taps: Taps, photo: "Photo") -> "DrainReading":
    start, end = taps["fixed"], taps["moving"]
    if not start or not end:
        raise ValueError("Tap where the drain starts and where it ends.")
    down = drain.down(photo.get("gravity") or [], photo.get("turned") or 0)
    outline = witness.outline(taps["rim"])
    found = drain.direction(taps["rim"], start, end, down, centre=taps["centre"])
    return {
        "off": found["off"],
        "u": found["u"],
        "low": found["low"],
        "high": found["high"],
        "verdict": found["verdict"],
        "advice": found["advice"],
        "sentence": found["sentence"],
        "ellipse": outline,
    }


def lacking(joint: "Joint", photo: "Photo") -> str:
    """What a photo lacks so that nothing can be measured on it: a drain's photo has to know where down is."""
    if joint["marks"] != "drain":
        return ""
    gravity = photo.get("gravity")
    if not gravity:
        return "This photo does not know which way is down. Take it with the live camera, the phone upright."
    try:
        drain.down(gravity, photo.get("turned") or 0)
    except ValueError as error:
        return str(error)
    return ""


def words(found: "Reading") -> str:
    """A reading as one line; the plus-minus is the 95 % interval."""
    if "off" in found:
        return found["sentence"]
    wide = NORMAL * found["u"]
    return f"{found['angle']:.1f}° ± {wide:.1f}° from the fixed to the moving mark (95 %)."


def drawing(photo: "Photo", taps: Taps, joint: "Joint", found: "Reading | None" = None) -> Drawing:
    """The taps and the fitted rim.

    `found`: the reading that was kept with these taps; without it, it is worked out as far as they reach.
    """
    outline, problem = found["ellipse"] if found else None, ""
    if not found and len(taps["rim"]) >= FEWEST_RIM_POINTS:
        try:
            outline = witness.outline(taps["rim"])
            if taps["fixed"] and taps["moving"]:
                found = reading(taps, joint, photo)
        except ValueError as error:
            problem = str(error)
    width, height = photo.get("width") or 1, photo.get("height") or 1
    return {
        "width": width,
        "height": height,
        "aim": max(width, height) // 25 + 1,
        "ellipse": _ellipse(outline) if outline else None,
        "rim": taps["rim"],
        "holes": taps["holes"],
        "marks": [{"name": name, "x": at[0], "y": at[1]} for name, at in _single(taps) if at],
        "rays": _rays(taps, joint, outline) if outline else [],
        "down": _down(photo, outline) if outline and joint["marks"] == "drain" else None,
        "words": words(found) if found else "",
        "advice": found.get("advice", "") if found else "",
        "problem": problem,
    }


def _single(taps: Taps) -> "list[tuple[str, Point | None]]":
    return [("fixed", taps["fixed"]), ("moving", taps["moving"]), ("centre", taps["centre"])]


def _ellipse(outline: "Ellipse") -> Outline:
    return {
        "cx": f"{outline['cx']:.1f}",
        "cy": f"{outline['cy']:.1f}",
        "a": f"{outline['a']:.1f}",
        "b": f"{outline['b']:.1f}",
        "turn": f"{math.degrees(outline['phi']):.2f}",
    }


def _rays(taps: Taps, joint: "Joint", outline: "Ellipse") -> "list[dict[str, str | Point]]":
    """The lines to draw: from the middle of the rim to each mark, or along the drain."""
    start, end = taps["fixed"], taps["moving"]
    if joint["marks"] == "drain":
        return [{"name": "moving", "from": start, "to": end}] if start and end else []
    middle = [round(outline["cx"], 1), round(outline["cy"], 1)]
    return [{"name": name, "from": middle, "to": at} for name, at in _single(taps)[:2] if at]


def _down(photo: "Photo", outline: "Ellipse") -> "dict[str, list[str]] | None":
    """An arrow from the middle of the rim to where down is seen, so that a person can tell whether it is."""
    gravity = photo.get("gravity")
    if not gravity:
        return None
    x, y, _ = drain.down(gravity, photo.get("turned") or 0)
    size, cx, cy = outline["b"] / math.sqrt(x * x + y * y), outline["cx"], outline["cy"]
    x, y = x * size, y * size
    places = ((0.0, 0.0), (1.0, 0.0), (0.85, 0.1), (0.85, -0.1))  # along the arrow, and across it
    start, end, left, right = (
        f"{cx + along * x - across * y:.1f} {cy + along * y + across * x:.1f}" for along, across in places
    )
    return {"line": [start, end], "head": [left, end, right]}


def guide(taps: Taps, joint: "Joint", advice: str = "") -> Next:
    """What to tap next: first the rim, kept even all the way round, then each mark, then what is advised."""
    rim = rim_guide.guide(taps["rim"])
    if not rim["enough"]:
        return {"sentence": rim["sentence"], "at": rim["next"]}
    if not taps["fixed"] or not taps["moving"]:
        name = "moving" if taps["fixed"] else "fixed"
        return {"sentence": _ask(joint, name), "at": None}
    return {"sentence": advice or "All there: save.", "at": None}


def _ask(joint: "Joint", name: str) -> str:
    if joint["marks"] == "drain":
        return f"Now where the drain {'ends' if name == 'moving' else 'starts'}."
    part = joint["moving"] if name == "moving" else joint["fixed"]
    return f"Now the mark on the {part}{', at the rim' if joint['marks'] == 'angle' else ''}."


def _points(text: str) -> "list[Point]":
    """A JSON list of [x, y] pairs to a tenth of a pixel; anything else is no point at all."""
    try:
        value = json.loads(text) if text else []
    except ValueError:
        return []
    if not isinstance(value, list):
        return []
    return [[round(float(item[0]), 1), round(float(item[1]), 1)] for item in value if _is_point(item)]


def _point(text: str) -> "Point | None":
    found = _points(f"[{text}]") if text else []
    return found[0] if found else None


def _is_point(item: "Any") -> bool:
    return (
        isinstance(item, list) and len(item) == 2 and all(isinstance(value, (int, float)) for value in item)
    )
