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

    from pwa.app.protocol import Record
    from pwa.app.shapes import Joint
    from pwa.app.visit import Visit
    from pwa.engine.clocking.ellipse import Ellipse

LISTS = ("rim", "holes")
SINGLE = ("fixed", "moving", "centre")
NAMES = LISTS + SINGLE
FEWEST_RIM_POINTS = 5  # for the five numbers of an ellipse
FEWEST_HOLES = 3  # of a bolt circle whose number of holes is known


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


def of_record(marks: "Record | None") -> "dict[str, Any]":
    """The taps of an earlier marking; none without one."""
    data = marks["data"] if marks else {}
    taps: dict[str, Any] = {name: data.get(name) or ([] if name in LISTS else None) for name in NAMES}
    taps["bolts"] = data.get("bolts") or 0
    return taps


def reading(taps: "dict[str, Any]", joint: "Joint", photo: "dict[str, Any]") -> "dict[str, Any]":
    """What the taps say: the angle between both marks, or of a drain how far from straight down it points.

    Raises:
        ValueError: something is missing or does not fit; the sentence says what to tap.
    """
    if len(taps["rim"]) < FEWEST_RIM_POINTS:
        raise ValueError(f"Tap at least {FEWEST_RIM_POINTS} points on the rim, all the way round.")
    if joint["marks"] == "drain":
        return _drain(taps, photo)
    if not taps["fixed"] or not taps["moving"]:
        raise ValueError("Tap both witness marks.")
    holes, bolts = taps["holes"], taps["bolts"]
    if holes and (len(holes) < FEWEST_HOLES or bolts < len(holes)):
        raise ValueError(
            f"Tap the middle of at least {FEWEST_HOLES} bolts of one circle, and enter its number of bolts."
        )
    found = witness.reading(
        taps["rim"],
        taps["fixed"],
        taps["moving"],
        taps["centre"],
        holes=holes or None,
        count=bolts,
        on_rim=joint["marks"] != "travel",  # a lever's marks sit anywhere in its plane
    )
    return dict(found)


def _drain(taps: "dict[str, Any]", photo: "dict[str, Any]") -> "dict[str, Any]":
    if not taps["fixed"] or not taps["moving"]:
        raise ValueError("Tap where the drain starts and where it ends.")
    down = drain.down(photo.get("gravity") or [], photo.get("turned") or 0)
    found: dict[str, Any] = {"ellipse": witness.outline(taps["rim"])}
    found.update(drain.direction(taps["rim"], taps["fixed"], taps["moving"], down, centre=taps["centre"]))
    return found


def lacking(joint: "Joint", photo: "dict[str, Any]") -> str:
    """What a photo lacks so that nothing can be measured on it: a drain's photo has to know where down is."""
    if joint["marks"] != "drain":
        return ""
    if not photo.get("gravity"):
        return "This photo does not know which way is down. Take it with the live camera, the phone upright."
    try:
        drain.down(photo["gravity"], photo.get("turned") or 0)
    except ValueError as error:
        return str(error)
    return ""


def words(found: "dict[str, Any]") -> str:
    """A reading as one line; the plus-minus is the 95 % interval."""
    if "off" in found:
        return str(found["sentence"])
    wide = NORMAL * found["u"]
    return f"{found['angle']:.1f}° ± {wide:.1f}° from the fixed to the moving mark (95 %)."


def drawing(
    photo: "dict[str, Any]",
    taps: "dict[str, Any]",
    joint: "Joint",
    found: "dict[str, Any] | None" = None,
) -> "dict[str, Any]":
    """The taps and the fitted rim as numbers for an SVG in image pixels, and what they say in words.

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
        "marks": [{"name": name, "x": taps[name][0], "y": taps[name][1]} for name in SINGLE if taps[name]],
        "rays": _rays(taps, joint, outline) if outline else [],
        "down": _down(photo, outline) if outline and joint["marks"] == "drain" else None,
        "words": words(found) if found else "",
        "advice": found.get("advice", "") if found else "",
        "problem": problem,
    }


def _ellipse(outline: "Ellipse") -> "dict[str, str]":
    turn = f"{math.degrees(outline['phi']):.2f}"
    return {
        "cx": f"{outline['cx']:.1f}",
        "cy": f"{outline['cy']:.1f}",
        "a": f"{outline['a']:.1f}",
        "b": f"{outline['b']:.1f}",
        "turn": turn,
    }


def _rays(taps: "dict[str, Any]", joint: "Joint", outline: "Ellipse") -> "list[dict[str, Any]]":
    """The lines to draw: from the middle of the rim to each mark, or along the drain."""
    start, end = taps["fixed"], taps["moving"]
    if joint["marks"] == "drain":
        return [{"name": "moving", "from": start, "to": end}] if start and end else []
    middle = [round(outline["cx"], 1), round(outline["cy"], 1)]
    return [{"name": name, "from": middle, "to": taps[name]} for name in ("fixed", "moving") if taps[name]]


def _down(photo: "dict[str, Any]", outline: "Ellipse") -> "dict[str, list[str]] | None":
    """An arrow from the middle of the rim to where down is seen, so that a person can tell whether it is."""
    if not photo.get("gravity"):
        return None
    x, y, _ = drain.down(photo["gravity"], photo.get("turned") or 0)
    size, cx, cy = outline["b"] / math.sqrt(x * x + y * y), outline["cx"], outline["cy"]
    x, y = x * size, y * size
    places = ((0.0, 0.0), (1.0, 0.0), (0.85, 0.1), (0.85, -0.1))  # along the arrow, and across it
    start, end, left, right = (
        f"{cx + along * x - across * y:.1f} {cy + along * y + across * x:.1f}" for along, across in places
    )
    return {"line": [start, end], "head": [left, end, right]}


def guide(taps: "dict[str, Any]", joint: "Joint", advice: str = "") -> Next:
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
