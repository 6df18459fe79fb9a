"""Joints: photographed and marked before opening and after closing, written down, and compared."""

from typing import TYPE_CHECKING

from pwa.app import cautions, clocked, overlay, unphotographed
from pwa.app import job as jobs
from pwa.app.clocked import AFTER, BEFORE, MOMENTS
from pwa.app.records import draft
from pwa.app.visit import Reply, Visit, page, save
from pwa.engine import units

if TYPE_CHECKING:
    from typing import Any

    from pwa.app.visit import Route


def show_list(visit: Visit) -> Reply:
    held = cautions.hold(visit, "joints")
    if held:
        return held
    bare = [joint["key"] for joint in unphotographed.joints(visit.job, visit.content)]
    rows = [_row(visit, joint) for joint in visit.content["joints"]]
    return page("joints.html", {"rows": rows, "bare": len(bare)})


def _row(visit: Visit, joint: "dict[str, Any]") -> "dict[str, Any]":
    key = joint["key"]
    marked = [moment for moment in MOMENTS if clocked.marks(visit.job, key, moment)]
    photos = [moment for moment in MOMENTS if clocked.photo(visit.job, key, moment)]
    turned = clocked.rotation(visit.job, joint)
    state, done = "Not photographed", False
    if turned:
        state, done = turned["sentence"], turned["verdict"] == "within"
    elif marked:
        state = "Marked " + " and ".join(marked)
    elif photos:
        state, done = "Photo " + " and ".join(photos), joint["marks"] == "photo" and len(photos) == 2
    return {"key": key, "name": joint["name"], "state": state,
            "mark": "done" if done else "started" if photos else ""}  # fmt: skip


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


def write_down(visit: Visit) -> Reply:
    """What no photo measures, such as the threads that show: in words, before and after."""
    joint, moment, text = _joint(visit), visit.params["moment"], visit.field("text")
    if joint is None or moment not in MOMENTS:
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
    both = clocked.summary(visit, joint)
    if both is None or not all(side["shown"] for side in both["sides"]):
        return page("missing.html", {"what": "There is no photo from before and after to compare."}, 404)
    marks = [clocked.marks(visit.job, joint["key"], moment) for moment in MOMENTS]
    matrix = ""
    if marks[0] and marks[1]:
        numbers = overlay.transform(marks[0]["data"], marks[1]["data"])
        matrix = " ".join([f"{number:.6f}" for number in numbers])
    return page("compare.html", {"joint": joint, "both": both, "matrix": matrix})


def camera(visit: Visit) -> Reply:
    """The live camera with the photo from before seen through it."""
    joint, moment = _joint(visit), visit.params["moment"]
    if joint is None or moment not in MOMENTS:
        return _unknown()
    held = cautions.hold(visit, "joints")
    if held:
        return held
    target = clocked.side(visit, joint, BEFORE) if moment == AFTER else None
    if target and not target["shown"]:
        target = None
    return page("camera.html", {"joint": joint, "moment": moment, "target": target})


def _joint_page(visit: Visit, error: str, status: int = 200) -> Reply:
    joint = _joint(visit)
    if joint is None:
        return _unknown()
    tolerance, turned = clocked.tolerance(visit.job, joint["key"]), clocked.rotation(visit.job, joint)
    sides = [clocked.side(visit, joint, moment) for moment in MOMENTS]
    across = (tolerance["data"].get("diameter") if tolerance else 0) or 0
    context = {
        "joint": joint,
        "sides": sides,
        "both": all(side["shown"] for side in sides),
        "tolerance": tolerance["data"] if tolerance else None,
        "diameter": f"{1000 * across:g} mm" if across else "",
        "turned": turned,
        "mark": clocked.MARKS_OF_VERDICT[turned["verdict"]] if turned else "",
        "error": error,
    }
    return page("joint.html", context, status)


def _joint(visit: Visit) -> "dict[str, Any] | None":
    for joint in visit.content["joints"]:
        if joint["key"] == visit.params["joint"]:
            return dict(joint)
    return None


def _whole(text: str) -> int:
    return int(text) if text.isdigit() else 0


def _unknown() -> Reply:
    return page("missing.html", {"what": "This joint or photo is not here."}, status=404)


ROUTES: "list[Route]" = [
    ("GET", "/job/{job}/joints", show_list),
    ("GET", "/job/{job}/joint/{joint}", show),
    ("POST", "/job/{job}/joint/{joint}/tolerance", set_tolerance),
    ("POST", "/job/{job}/joint/{joint}/written/{moment}", write_down),
    ("GET", "/job/{job}/joint/{joint}/compare", compare),
    ("GET", "/job/{job}/joint/{joint}/camera/{moment}", camera),
]
