"""Tapping the rim and both witness marks on a photo; the desk may do it again, and every reading stays."""

import json
from typing import TYPE_CHECKING

from pwa.app.content import find
from pwa.app.joints import readings, taps, verdict
from pwa.app.record import jobs
from pwa.app.record.chain import draft
from pwa.app.visit import Reply, Visit, page, save

if TYPE_CHECKING:
    from typing import Any

    from pwa.app.protocol import Record
    from pwa.app.shapes import Joint
    from pwa.app.visit import Route


def show(visit: Visit) -> Reply:
    photo = _photo(visit)
    if photo is None:
        return _unknown()
    joint = photo["data"]["joint"]
    earlier = _earlier(visit, photo)
    tapped = taps.of_record(earlier[-1] if earlier else None)
    allowed = verdict.tolerance(visit.job, joint)
    tapped["bolts"] = tapped["bolts"] or (allowed["data"].get("bolts") if allowed else 0) or 0
    return _page(visit, photo, tapped, "", same_view=bool(earlier and earlier[-1]["data"].get("same_view")))


def preview(visit: Visit) -> Reply:
    """What the taps so far mean, drawn over the photo; the phone asks while the finger moves."""
    photo, joint = _photo(visit), _joint(visit)
    if photo is None or joint is None:
        return _unknown()
    tapped = taps.typed(visit)
    return page("joints/marks_preview.html", _drawn(photo, joint, tapped))


def keep(visit: Visit) -> Reply:
    photo, at = _photo(visit), _joint(visit)
    if photo is None or at is None:
        return _unknown()
    tapped = taps.typed(visit)
    try:
        reading = taps.reading(tapped, at, photo["data"])
    except ValueError as error:
        return _page(visit, photo, tapped, str(error), 422, bool(visit.field("same_view")))
    joint, moment = photo["data"]["joint"], photo["data"]["moment"]
    data: dict[str, Any] = {"photo": photo["data"]["sha256"], "joint": joint, "moment": moment}
    data.update(tapped)
    data["same_view"] = bool(visit.field("same_view"))
    data["reading"] = reading
    return save(
        [draft(visit.job["id"], "marks", data, jobs.ids(_earlier(visit, photo)))], visit.at("joint", joint)
    )


def _page(
    visit: Visit,
    photo: "Record",
    tapped: "dict[str, Any]",
    error: str,
    status: int = 200,
    same_view: bool = False,
) -> Reply:
    joint = _joint(visit)
    if joint is None or joint["marks"] == "photo" or not photo["data"].get("width"):
        return _unknown()
    lacking = taps.lacking(joint, photo["data"])
    if lacking:
        return page("frame/missing.html", {"what": lacking}, 404)
    context = _drawn(photo, joint, tapped)
    context["photo"] = photo["data"]
    context["joint"] = joint
    context["typed"] = {name: json.dumps(tapped[name]) if tapped[name] else "" for name in taps.NAMES}
    context["bolts"] = tapped["bolts"] or ""
    context["same_view"] = same_view
    context["name"] = readings.name(photo["data"]["moment"])
    context["second"] = photo["data"]["moment"] == readings.moments(joint)[1]
    context["error"] = error
    return page("joints/marks.html", context, status)


def _drawn(photo: "Record", joint: "Joint", tapped: "dict[str, Any]") -> "dict[str, Any]":
    drawing = taps.drawing(photo["data"], tapped, joint)
    guide = None if drawing["problem"] else taps.guide(tapped, joint, drawing["advice"])
    return {"drawing": drawing, "guide": guide}


def _photo(visit: Visit) -> "Record | None":
    for record in jobs.of_kind(visit.job["heads"], "photo", sha256=visit.params["photo"]):
        if record["data"].get("joint") and record["data"].get("moment"):
            return record
    return None


def _earlier(visit: Visit, photo: "Record") -> "list[Record]":
    """The marks on this very photo that still stand: those that new ones replace."""
    data = photo["data"]
    return jobs.of_kind(
        visit.job["heads"], "marks", joint=data["joint"], moment=data["moment"], photo=data["sha256"]
    )


def _joint(visit: Visit) -> "Joint | None":
    photo = _photo(visit)
    return find(visit.content["joints"], photo["data"]["joint"]) if photo else None


def _unknown() -> Reply:
    return page("frame/missing.html", {"what": "There is no photo here to tap marks on."}, status=404)


ROUTES: "list[Route]" = [
    ("GET", "/job/{job}/marks/{photo}", show),
    ("POST", "/job/{job}/marks/{photo}", keep),
    ("POST", "/job/{job}/marks/{photo}/preview", preview),
]
