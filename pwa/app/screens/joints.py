"""Joints: photographed and marked before opening and after closing, and how far the marks have turned."""

import json
from typing import TYPE_CHECKING

from pwa.app import cautions, clocked
from pwa.app import job as jobs
from pwa.app.clocked import AFTER, BEFORE
from pwa.app.records import draft
from pwa.app.visit import Reply, Visit, page, save
from pwa.engine import clocking, units

if TYPE_CHECKING:
    from typing import Any

    from pwa.app.protocol import Record
    from pwa.app.visit import Route
    from pwa.engine.clocking import Reading

FEWEST_RIM_POINTS = 5
VERDICTS = {"within": "good", "out": "bad", "cannot tell": "unsure"}


def show_list(visit: Visit) -> Reply:
    held = cautions.hold(visit, "joints")
    if held:
        return held
    rows = []
    for joint in visit.content["joints"]:
        sides = [moment for moment in (BEFORE, AFTER) if clocked.marks(visit.job, joint["key"], moment)]
        photos = [moment for moment in (BEFORE, AFTER) if _photo(visit, joint["key"], moment)]
        state = "Not photographed"
        if photos:
            state = "Photo " + " and ".join(photos)
        if sides:
            state = "Marked " + " and ".join(sides)
        turned = clocked.rotation(visit.job, joint)
        if turned:
            state = turned["sentence"]
        done = turned is not None and turned["verdict"] == "within"
        mark = "done" if done else "started" if photos else ""
        rows.append({"key": joint["key"], "name": joint["name"], "state": state, "mark": mark})
    return page("joints.html", {"rows": rows})


def show(visit: Visit) -> Reply:
    return cautions.hold(visit, "joints") or _joint_page(visit, "")


def set_tolerance(visit: Visit) -> Reply:
    joint = _joint(visit)
    if joint is None:
        return _unknown()
    source = visit.field("source")
    try:
        degrees = units.parse(visit.field("degrees"), "angle", "°")
    except ValueError as error:
        return _joint_page(visit, f"Tolerance: {error}", 422)
    if not 0 < degrees <= 90:
        return _joint_page(visit, "The tolerance is more than 0° and at most 90°.", 422)
    if not source:
        return _joint_page(visit, "Write where the tolerance comes from.", 422)
    data = {
        "joint": joint["key"],
        "degrees": degrees,
        "source": source,
        "bolts": _whole(visit.field("bolts")),
    }
    earlier = jobs.of_kind(visit.job["heads"], "tolerance", joint=joint["key"])
    return save(
        [draft(visit.job["id"], "tolerance", data, jobs.ids(earlier))], visit.at("joint", joint["key"])
    )


def show_marks(visit: Visit) -> Reply:
    photo = _photo_record(visit)
    if photo is None:
        return _unknown()
    taps = _taps_of(clocked.marks(visit.job, photo["data"]["joint"], photo["data"]["moment"]), photo)
    return _marks_page(visit, photo, taps, "")


def preview_marks(visit: Visit) -> Reply:
    """What the taps so far mean, drawn over the photo; the phone asks after every tap."""
    photo = _photo_record(visit)
    if photo is None:
        return _unknown()
    return page("marks_preview.html", {"drawing": _drawing(photo["data"], _typed_taps(visit))})


def save_marks(visit: Visit) -> Reply:
    photo = _photo_record(visit)
    if photo is None:
        return _unknown()
    taps = _typed_taps(visit)
    try:
        reading = _reading(taps)
    except ValueError as error:
        return _marks_page(visit, photo, taps, str(error), 422)
    joint, moment = photo["data"]["joint"], photo["data"]["moment"]
    data: dict[str, Any] = {"photo": photo["data"]["sha256"], "joint": joint, "moment": moment}
    data.update(taps)
    data["reading"] = reading
    earlier = jobs.of_kind(visit.job["heads"], "marks", joint=joint, moment=moment)
    return save([draft(visit.job["id"], "marks", data, jobs.ids(earlier))], visit.at("joint", joint))


def _joint_page(visit: Visit, error: str, status: int = 200) -> Reply:
    joint = _joint(visit)
    if joint is None:
        return _unknown()
    tolerance = clocked.tolerance(visit.job, joint["key"])
    turned = clocked.rotation(visit.job, joint)
    context = {
        "joint": joint,
        "sides": [_side(visit, joint, moment) for moment in (BEFORE, AFTER)],
        "tolerance": tolerance["data"] if tolerance else None,
        "turned": turned,
        "mark": VERDICTS[turned["verdict"]] if turned else "",
        "error": error,
    }
    return page("joint.html", context, status)


def _side(visit: Visit, joint: "dict[str, Any]", moment: str) -> "dict[str, Any]":
    photo, marks = _photo(visit, joint["key"], moment), clocked.marks(visit.job, joint["key"], moment)
    if marks is not None:
        for record in jobs.of_kind(visit.job["heads"], "photo", sha256=marks["data"]["photo"]):
            photo = record
    drawing = None
    if photo is not None:
        drawing = _drawing(photo["data"], _taps_of(marks, photo))
    return {
        "moment": moment,
        "photo": photo["data"] if photo else None,
        "drawing": drawing,
        "reading": _reading_words(marks["data"]["reading"]) if marks else "",
    }


def _typed_taps(visit: Visit) -> "dict[str, Any]":
    """What was tapped, in image pixels: rim points, the two marks, and the true centre if it was tapped."""
    return {
        "rim": _points(visit.field("rim")),
        "fixed": _point(visit.field("fixed")),
        "moving": _point(visit.field("moving")),
        "centre": _point(visit.field("centre")),
    }


def _taps_of(marks: "Record | None", photo: "Record") -> "dict[str, Any]":
    """The taps of an earlier marking, if it was made on this very photo."""
    if marks is None or marks["data"]["photo"] != photo["data"]["sha256"]:
        return {"rim": [], "fixed": None, "moving": None, "centre": None}
    return {name: marks["data"].get(name) for name in ("rim", "fixed", "moving", "centre")}


def _reading(taps: "dict[str, Any]") -> "Reading":
    if len(taps["rim"]) < FEWEST_RIM_POINTS:
        raise ValueError(f"Tap at least {FEWEST_RIM_POINTS} points on the rim, all the way round.")
    if not taps["fixed"] or not taps["moving"]:
        raise ValueError("Tap both witness marks.")
    return clocking.reading(taps["rim"], taps["fixed"], taps["moving"], taps["centre"])


def _drawing(photo: "dict[str, Any]", taps: "dict[str, Any]") -> "dict[str, Any]":
    """The taps and the fitted rim as numbers for an SVG in image pixels, and what they say in words."""
    ellipse, words, problem = None, "", ""
    if len(taps["rim"]) >= FEWEST_RIM_POINTS:
        try:
            outline = clocking.outline(taps["rim"])
            ellipse = {name: f"{outline[name]:.1f}" for name in ("cx", "cy", "a", "b")}
            ellipse["turn"] = f"{outline['phi'] * 57.29577951308232:.2f}"
            if taps["fixed"] and taps["moving"]:
                words = _reading_words(_reading(taps))
        except ValueError as error:
            problem = str(error)
    width, height = photo["width"] or 1, photo["height"] or 1
    return {
        "width": width,
        "height": height,
        "stroke": max(width, height) // 300 + 1,
        "dot": max(width, height) // 120 + 2,
        "small": max(width, height) // 240 + 2,
        "ellipse": ellipse,
        "rim": taps["rim"],
        "marks": [
            {"name": name, "x": taps[name][0], "y": taps[name][1]}
            for name in ("fixed", "moving", "centre")
            if taps[name]
        ],
        "words": words,
        "problem": problem,
    }


def _reading_words(reading: "Reading") -> str:
    words = f"{reading['angle']:.1f}° ± {2 * reading['u']:.1f}° from the fixed to the moving mark (95 %)."
    return f"{words} {reading['advice']}".strip()


def _marks_page(
    visit: Visit, photo: "Record", taps: "dict[str, Any]", error: str, status: int = 200
) -> Reply:
    joint = None
    for item in visit.content["joints"]:
        if item["key"] == photo["data"]["joint"]:
            joint = item
    if joint is None:
        return _unknown()
    context = {
        "drawing": _drawing(photo["data"], taps),
        "photo": photo["data"],
        "joint": joint,
        "typed": {name: json.dumps(taps[name]) if taps[name] else "" for name in taps},
        "error": error,
    }
    return page("marks.html", context, status)


def _joint(visit: Visit) -> "dict[str, Any] | None":
    for joint in visit.content["joints"]:
        if joint["key"] == visit.params["joint"]:
            return dict(joint)
    return None


def _photo(visit: Visit, joint: str, moment: str) -> "Record | None":
    return jobs.latest(visit.job["heads"], "photo", joint=joint, moment=moment)


def _photo_record(visit: Visit) -> "Record | None":
    for record in jobs.of_kind(visit.job["heads"], "photo", sha256=visit.params["photo"]):
        if record["data"].get("joint"):
            return record
    return None


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


def _whole(text: str) -> int:
    return int(text) if text.isdigit() else 0


def _unknown() -> Reply:
    return page("missing.html", {"what": "This joint or photo is not here."}, status=404)


ROUTES: "list[Route]" = [
    ("GET", "/job/{job}/joints", show_list),
    ("GET", "/job/{job}/joint/{joint}", show),
    ("POST", "/job/{job}/joint/{joint}/tolerance", set_tolerance),
    ("GET", "/job/{job}/marks/{photo}", show_marks),
    ("POST", "/job/{job}/marks/{photo}", save_marks),
    ("POST", "/job/{job}/marks/{photo}/preview", preview_marks),
]
