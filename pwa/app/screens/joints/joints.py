"""Joints: photographed and marked before opening and after closing, written down, and compared."""

from typing import TYPE_CHECKING

from pwa.app import cautions
from pwa.app.content import find
from pwa.app.joints import overlay, readings, unphotographed, verdict, view
from pwa.app.record import jobs
from pwa.app.record.chain import draft
from pwa.app.visit import Reply, Visit, page, save
from pwa.engine.numbers import units

if TYPE_CHECKING:
    from typing import Any

    from pwa.app.protocol import Record
    from pwa.app.shapes import Joint
    from pwa.app.visit import Route


def show_list(visit: Visit) -> Reply:
    held = cautions.gate(visit, "joints")
    if held:
        return held
    bare = [joint["key"] for joint in unphotographed.joints(visit.job, visit.content)]
    rows = [_row(visit, joint) for joint in visit.content["joints"]]
    return page("joints/joints.html", {"rows": rows, "bare": len(bare)})


def _row(visit: Visit, joint: "Joint") -> "dict[str, Any]":
    key, moments = joint["key"], readings.moments(joint)
    marked = [moment for moment in moments if readings.marks(visit.job, key, moment)]
    photos = [moment for moment in moments if readings.photos(visit.job, key, moment)]
    turned = verdict.result(visit.job, joint)
    state, done = "Not photographed", False
    if turned:
        state, done = turned["sentence"], turned["verdict"] == "within"
    elif marked:
        state = "Marked: " + " and ".join(marked).replace("-", " ")
    elif photos:
        state = "Photo: " + " and ".join(photos).replace("-", " ")
        done = joint["marks"] == "photo" and len(photos) == 2
    return {"key": key, "name": joint["name"], "state": state,
            "mark": "done" if done else "started" if photos else ""}  # fmt: skip


def show(visit: Visit) -> Reply:
    return cautions.gate(visit, "joints") or _joint_page(visit, "")


def set_tolerance(visit: Visit) -> Reply:
    joint = _joint(visit)
    if joint is None:
        return _unknown()
    source = visit.field("source")
    try:
        degrees = units.parse(visit.field("degrees"), "angle", "°")
    except ValueError as error:
        return _joint_page(visit, f"Tolerance: {error}", 422)
    try:
        across = units.parse(visit.field("diameter"), "length", "mm") if visit.field("diameter") else 0.0
    except ValueError as error:
        return _joint_page(visit, f"Diameter: {error}", 422)
    if across < 0:
        return _joint_page(visit, "The diameter of the rim is more than 0 mm.", 422)
    if not 0 < degrees <= 90:
        return _joint_page(visit, "The tolerance is more than 0° and at most 90°.", 422)
    if not source:
        return _joint_page(visit, "Write where the tolerance comes from.", 422)
    data = {
        "joint": joint["key"],
        "degrees": degrees,
        "source": source,
        "bolts": _whole(visit.field("bolts")),
        "diameter": across,
    }
    earlier = jobs.of_kind(visit.job["heads"], "tolerance", joint=joint["key"])
    return save(
        [draft(visit.job["id"], "tolerance", data, jobs.ids(earlier))], visit.at("joint", joint["key"])
    )


def set_limits(visit: Visit) -> Reply:
    """Least and most travel of a lever and, if known, its length: the maker's or the shop's, never ours."""
    joint = _joint(visit)
    if joint is None or joint["marks"] != "travel":
        return _unknown()
    try:
        least, most = (units.parse(visit.field(name), "angle", "°") for name in ("least", "most"))
        length = units.parse(visit.field("length"), "length", "mm") if visit.field("length") else 0.0
    except ValueError as error:
        return _joint_page(visit, f"Limits: {error}", 422)
    if not 0 <= least < most <= 180:
        return _joint_page(
            visit, "The least travel is 0° or more, the most is more than that, up to 180°.", 422
        )
    if length < 0:
        return _joint_page(visit, "The length of the lever is more than 0 mm.", 422)
    if not visit.field("source"):
        return _joint_page(visit, "Write where the limits come from.", 422)
    data = {
        "joint": joint["key"],
        "least": least,
        "most": most,
        "length": length,
        "source": visit.field("source"),
    }
    earlier = jobs.of_kind(visit.job["heads"], "travel-limits", joint=joint["key"])
    return save(
        [draft(visit.job["id"], "travel-limits", data, jobs.ids(earlier))], visit.at("joint", joint["key"])
    )


def say_counts(visit: Visit) -> Reply:
    """One photo does not count, with the reason; said again, it counts. Nothing is deleted either way."""
    joint, moment, sha256 = _joint(visit), visit.params["moment"], visit.params["photo"]
    if joint is None or not jobs.of_kind(
        visit.job["heads"], "photo", joint=joint["key"], moment=moment, sha256=sha256
    ):
        return _unknown()
    counts, reason = visit.field("counts") == "yes", visit.field("reason")
    if not counts and not reason:
        return _joint_page(visit, "Write why the photo does not count.", 422)
    about = {"joint": joint["key"], "moment": moment, "photo": sha256}
    earlier = jobs.of_kind(visit.job["heads"], "photo-counts", **about)
    data: dict[str, Any] = {"counts": counts, "reason": reason}
    data.update(about)
    return save(
        [draft(visit.job["id"], "photo-counts", data, jobs.ids(earlier))], visit.at("joint", joint["key"])
    )


def write_down(visit: Visit) -> Reply:
    """What no photo measures, such as the threads that show: in words, before and after."""
    joint, moment, text = _joint(visit), visit.params["moment"], visit.field("text")
    if joint is None or moment not in readings.moments(joint):
        return _unknown()
    if not text:
        return _joint_page(visit, f"Write it down first: {joint['write'].lower()}.", 422)
    data = {"joint": joint["key"], "moment": moment, "text": text}
    earlier = jobs.of_kind(visit.job["heads"], "written", joint=joint["key"], moment=moment)
    return save([draft(visit.job["id"], "written", data, jobs.ids(earlier))], visit.at("joint", joint["key"]))


def compare(visit: Visit) -> Reply:
    """Both photos of a joint; laid over each other with rim and fixed mark together, once both are marked."""
    joint = _joint(visit)
    if joint is None:
        return _unknown()
    both = view.summary(visit, joint)
    if both is None or not all(view.shown(side) for side in both["sides"]):
        return page("frame/missing.html", {"what": "There is no photo of both sides to compare."}, 404)
    marks = [side["best"]["marks"] for side in both["sides"]]
    matrix = ""
    if marks[0] and marks[1] and joint["marks"] != "drain":
        numbers = overlay.transform(marks[0], marks[1])
        matrix = " ".join([f"{number:.6f}" for number in numbers])
    return page("joints/compare.html", {"joint": joint, "both": both, "matrix": matrix})


def camera(visit: Visit) -> Reply:
    """The live camera with the photo from before seen through it."""
    joint, moment = _joint(visit), visit.params["moment"]
    if joint is None or moment not in readings.moments(joint):
        return _unknown()
    held = cautions.gate(visit, "joints")
    if held:
        return held
    first, second = readings.moments(joint)
    earlier = view.side(visit, joint, first)
    target = earlier["best"] if moment == second and view.shown(earlier) else None
    return page("joints/camera.html", {"joint": joint, "moment": moment, "target": target})


def _joint_page(visit: Visit, error: str, status: int = 200) -> Reply:
    joint = _joint(visit)
    if joint is None:
        return _unknown()
    tolerance, limits = verdict.tolerance(visit.job, joint["key"]), verdict.limits(visit.job, joint["key"])
    both = [view.side(visit, joint, moment) for moment in readings.moments(joint)]
    context = {
        "joint": joint,
        "sides": both,
        "both": all(view.shown(side) for side in both),
        "tolerance": tolerance["data"] if tolerance else None,
        "limits": limits["data"] if limits else None,
        "diameter": _millimetres(tolerance, "diameter"),
        "length": _millimetres(limits, "length"),
        "turned": verdict.result(visit.job, joint),
        "cautions": [item for item in visit.content["cautions"] if item["key"] in joint["caution"]],
        "error": error,
    }
    return page("joints/joint.html", context, status)


def _joint(visit: Visit) -> "Joint | None":
    return find(visit.content["joints"], visit.params["joint"])


def _millimetres(record: "Record | None", name: str) -> str:
    value = (record["data"].get(name) if record else 0) or 0
    return f"{1000 * value:g} mm" if value else ""


def _whole(text: str) -> int:
    return int(text) if text.isdigit() else 0


def _unknown() -> Reply:
    return page("frame/missing.html", {"what": "This joint or photo is not here."}, status=404)


ROUTES: "list[Route]" = [
    ("GET", "/job/{job}/joints", show_list),
    ("GET", "/job/{job}/joint/{joint}", show),
    ("POST", "/job/{job}/joint/{joint}/tolerance", set_tolerance),
    ("POST", "/job/{job}/joint/{joint}/limits", set_limits),
    ("POST", "/job/{job}/joint/{joint}/written/{moment}", write_down),
    ("POST", "/job/{job}/joint/{joint}/counts/{moment}/{photo}", say_counts),
    ("GET", "/job/{job}/joint/{joint}/compare", compare),
    ("GET", "/job/{job}/joint/{joint}/camera/{moment}", camera),
]
