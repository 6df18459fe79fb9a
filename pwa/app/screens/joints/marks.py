"""Tapping the rim and both witness marks on a photo; the desk may do it again, and every reading stays."""

import json
from typing import TYPE_CHECKING, TypedDict

from pwa.app.content import find
from pwa.app.joints import readings, taps, verdict
from pwa.app.record import jobs
from pwa.app.record.chain import draft
from pwa.app.visit import Reply, Visit, page, save

if TYPE_CHECKING:
    from typing import Any

    from pwa.app.joints.taps import Drawing, Next, Taps
    from pwa.app.kinds.data import Marks, Photo
    from pwa.app.protocol import RecordOf
    from pwa.app.shapes import Joint
    from pwa.app.visit import Route


class Drawn(TypedDict):
    drawing: "Drawing"
    guide: "Next | None"


def show(visit: Visit) -> Reply:
    photo = _photo(visit)
    if photo is None:
        return _unknown()
    earlier = [record["data"] for record in _earlier(visit, photo)][-1:]
    tapped = taps.of_marks(earlier[0] if earlier else None)
    allowed = verdict.tolerance(visit.job, photo["joint"])
    tapped["bolts"] = tapped["bolts"] or (allowed["data"].get("bolts", 0) if allowed else 0)
    return _page(visit, photo, tapped, "", same_view=bool(earlier and earlier[0].get("same_view")))


def preview(visit: Visit) -> Reply:
    """What the taps so far mean, drawn over the photo; the phone asks while the finger moves."""
    photo, joint = _photo(visit), _joint(visit)
    if photo is None or joint is None:
        return _unknown()
    tapped = taps.typed(visit)
    return page("joints/marks_preview.html", dict(_drawn(photo, joint, tapped)))


def keep(visit: Visit) -> Reply:
    photo, at = _photo(visit), _joint(visit)
    if photo is None or at is None:
        return _unknown()
    tapped = taps.typed(visit)
    try:
        reading = taps.reading(tapped, at, photo)
    except ValueError as error:
        return _page(visit, photo, tapped, str(error), 422, bool(visit.field("same_view")))
    data: Marks = {
        "photo": photo["sha256"],
        "joint": photo["joint"],
        "moment": photo["moment"],
        "rim": tapped["rim"],
        "holes": tapped["holes"],
        "fixed": tapped["fixed"],
        "moving": tapped["moving"],
        "centre": tapped["centre"],
        "bolts": tapped["bolts"],
        "same_view": bool(visit.field("same_view")),
        "reading": reading,
    }
    made = draft(visit.job["id"], "marks", data, jobs.ids(_earlier(visit, photo)))
    return save([made], visit.at("joint", photo["joint"]))


def _page(
    visit: Visit,
    photo: "Photo",
    tapped: "Taps",
    error: str,
    status: int = 200,
    same_view: bool = False,
) -> Reply:
    joint = _joint(visit)
    if joint is None or joint["marks"] == "photo" or not photo.get("width"):
        return _unknown()
    lacking = taps.lacking(joint, photo)
    if lacking:
        return page("frame/missing.html", {"what": lacking}, 404)
    drawn = _drawn(photo, joint, tapped)
    context = {
        "drawing": drawn["drawing"],
        "guide": drawn["guide"],
        "photo": photo,
        "joint": joint,
        "typed": _typed(tapped),
        "bolts": tapped["bolts"] or "",
        "same_view": same_view,
        "name": readings.name(photo["moment"]),
        "second": photo["moment"] == readings.moments(joint)[1],
        "error": error,
    }
    return page("joints/marks.html", context, status)


def _typed(tapped: "Taps") -> "dict[str, str]":
    """The fields of the form that hold points."""
    points: Any = tapped
    return {name: json.dumps(points[name]) if points[name] else "" for name in taps.NAMES}


def _drawn(photo: "Photo", joint: "Joint", tapped: "Taps") -> Drawn:
    drawing = taps.drawing(photo, tapped, joint)
    guide = None if drawing["problem"] else taps.guide(tapped, joint, drawing["advice"])
    return {"drawing": drawing, "guide": guide}


def _photo(visit: Visit) -> "Photo | None":
    for record in jobs.of_kind(visit.job["heads"], "photo", sha256=visit.params["photo"]):
        if record["data"].get("joint") and record["data"].get("moment"):
            return record["data"]
    return None


def _earlier(visit: Visit, photo: "Photo") -> "list[RecordOf[Marks]]":
    """The marks on this very photo that still stand: those that new ones replace."""
    joint, moment = photo["joint"], photo["moment"]
    return jobs.of_kind(visit.job["heads"], "marks", joint=joint, moment=moment, photo=photo["sha256"])


def _joint(visit: Visit) -> "Joint | None":
    photo = _photo(visit)
    return find(visit.content["joints"], photo["joint"]) if photo else None


def _unknown() -> Reply:
    return page("frame/missing.html", {"what": "There is no photo here to tap marks on."}, status=404)


ROUTES: "list[Route]" = [
    ("GET", "/job/{job}/marks/{photo}", show),
    ("POST", "/job/{job}/marks/{photo}", keep),
    ("POST", "/job/{job}/marks/{photo}/preview", preview),
]
