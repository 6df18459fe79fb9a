"""Joints: how far each is, photographed and marked before and after, and compared."""

from typing import TYPE_CHECKING, TypedDict

from pwa.app.content import find
from pwa.app.gate import gate
from pwa.app.joints import overlay, readings, unphotographed, verdict, view
from pwa.app.visit import Reply, Visit, page

if TYPE_CHECKING:
    from pwa.app.shapes import Joint
    from pwa.app.visit import Route


class Row(TypedDict):
    key: str
    name: str
    state: str
    mark: str  # the picture beside the words


def show_list(visit: Visit) -> Reply:
    return gate(visit, "joints") or _list(visit)


def show(visit: Visit) -> Reply:
    joint = asked(visit)
    return gate(visit, "joints") or (joint_page(visit, joint) if joint else unknown())


def compare(visit: Visit) -> Reply:
    """Both photos of a joint; laid over each other with rim and fixed mark together, once both are marked."""
    joint = asked(visit)
    if joint is None:
        return unknown()
    both = view.of(visit, joint)
    if not all(view.is_shown(side) for side in both["sides"]):
        return page("frame/missing.html", {"what": "There is no photo of both sides to compare."}, 404)
    return page("joints/compare.html", {"joint": joint, "both": both, "matrix": _matrix(both)})


def camera(visit: Visit) -> Reply:
    """The live camera with the photo from before seen through it."""
    joint, moment = asked(visit), visit.params["moment"]
    if joint is None or moment not in readings.moments(joint):
        return unknown()
    first, second = readings.moments(joint)
    earlier = view.side(visit, joint, first)
    target = earlier["best"] if moment == second and view.is_shown(earlier) else None
    context = {"joint": joint, "moment": moment, "target": target}
    return gate(visit, "joints") or page("joints/camera.html", context)


def joint_page(visit: Visit, joint: "Joint", error: str = "") -> Reply:
    """The page of one joint, with what was wrong in what was just typed."""
    seen = view.of(visit, joint)
    tolerance, limits = seen["tolerance"], seen["limits"]
    context = {
        "joint": joint,
        "sides": seen["sides"],
        "both": all(view.is_shown(side) for side in seen["sides"]),
        "tolerance": tolerance,
        "limits": limits,
        "bolts": (tolerance.get("bolts") if tolerance else 0) or "",
        "diameter": _millimetres(tolerance.get("diameter", 0.0) if tolerance else 0.0),
        "length": _millimetres(limits.get("length", 0.0) if limits else 0.0),
        "turned": seen["turned"],
        "cautions": [item for item in visit.content["cautions"] if item["key"] in joint["caution"]],
        "error": error,
    }
    return page("joints/joint.html", context, 422 if error else 200)


def asked(visit: Visit) -> "Joint | None":
    """The joint of the address, if this version knows it."""
    return find(visit.content["joints"], visit.params["joint"])


def unknown() -> Reply:
    return page("frame/missing.html", {"what": "This joint or photo is not here."}, status=404)


def _list(visit: Visit) -> Reply:
    bare = len(unphotographed.joints(visit.job, visit.content))
    rows = [_row(visit, joint) for joint in visit.content["joints"]]
    return page("joints/joints.html", {"rows": rows, "bare": bare})


def _row(visit: Visit, joint: "Joint") -> Row:
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
    mark = "done" if done else "started" if photos else ""
    return {"key": key, "name": joint["name"], "state": state, "mark": mark}


def _matrix(both: "view.View") -> str:
    """What lays the second photo over the first, as SVG wants it; "" where nothing does."""
    first, second = (side["best"]["marks"] if side["best"] else None for side in both["sides"])
    if not first or not second or both["marks"] == "drain":
        return ""
    numbers = overlay.transform(first, second)
    return " ".join([f"{number:.6f}" for number in numbers]) if numbers else ""


def _millimetres(metres: float) -> str:
    return f"{1000 * metres:g} mm" if metres else ""


ROUTES: "list[Route]" = [
    ("GET", "/job/{job}/joints", show_list),
    ("GET", "/job/{job}/joint/{joint}", show),
    ("GET", "/job/{job}/joint/{joint}/compare", compare),
    ("GET", "/job/{job}/joint/{joint}/camera/{moment}", camera),
]
