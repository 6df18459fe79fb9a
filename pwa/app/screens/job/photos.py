"""A photo joins a job. Its bytes are stored under their hash before this is asked; then it is looked at."""

import json
from typing import TYPE_CHECKING

from pwa.app.content import find
from pwa.app.joints import photo_quality, readings, taps
from pwa.app.record import jobs
from pwa.app.record.chain import draft
from pwa.app.record.envelope import is_sha256
from pwa.app.visit import Reply, Visit, is_place, page, save

if TYPE_CHECKING:
    from pwa.app.kinds.data import Photo
    from pwa.app.shapes import Joint
    from pwa.app.visit import Route

# By the type that the phone gives a file; anything else is named as it is.
FORMATS = {"image/heic": "HEIC", "image/heif": "HEIF", "image/avif": "AVIF", "image/tiff": "TIFF"}

USUAL = ("image/jpeg", "image/png", "image/webp")  # every browser shows these, if they are whole


def add(visit: Visit) -> Reply:
    """Keep the photo whatever it looks like: it is evidence. A poor one is offered to be taken again."""
    sha256, joint = visit.field("photo_sha256"), visit.field("joint")
    if visit.field("no_room"):
        return _without_room(visit, find(visit.content["joints"], joint))
    if not is_sha256(sha256):
        return page(
            "frame/missing.html", {"what": "No photo arrived. Go back and take it again."}, status=422
        )
    moment = visit.field("moment")
    checked = photo_quality.check(visit.field("pixels"))
    data: Photo = {
        "sha256": sha256,
        "size": visit.whole("photo_size"),
        "type": visit.field("photo_type"),
        "width": visit.whole("photo_width") or visit.whole("width"),
        "height": visit.whole("photo_height") or visit.whole("height"),
        "caption": visit.field("caption"),
        "joint": joint,
        "moment": moment if moment in readings.NAMES else "",
        "checked": checked,
        "gravity": _gravity(visit.field("gravity")),
        "turned": visit.whole("turned"),
    }
    return save([draft(visit.job["id"], "photo", data)], _next(visit, data))


def _without_room(visit: Visit, joint: "Joint | None") -> Reply:
    """Back to where it was taken; the page says what to do."""
    place = visit.at("joint", joint["key"]) if joint else visit.at("note")
    lost = visit.field("no_room")
    return save([], place + "?no-room=" + (lost if is_sha256(lost) else "yes"))


def _next(visit: Visit, photo: "Photo") -> str:
    """To what is wrong with it, else to its marks, else back to where it was taken."""
    checked = photo.get("checked")
    if (checked and checked["problems"]) or not photo.get("width"):
        return visit.at("photo", photo["sha256"])
    joint = find(visit.content["joints"], photo.get("joint", ""))
    if _tappable(joint, photo):
        return visit.at("marks", photo["sha256"])
    then = visit.field("then")
    inside = (then + "/").startswith(visit.at() + "/") and is_place(then) and "?" not in then
    return then if inside else visit.at("timeline")


def show(visit: Visit) -> Reply:
    """What is wrong with a photo, with one tap to take it again and one to go on."""
    record = jobs.latest(visit.job["heads"], "photo", sha256=visit.params["photo"])
    if record is None:
        return page("frame/missing.html", {"what": "This photo is not here."}, status=404)
    data = record["data"]
    joint = find(visit.content["joints"], data.get("joint", ""))
    checked = data.get("checked")
    context = {
        "photo": data,
        "joint": joint,
        "problems": checked["problems"] if checked else [],
        "shown": bool(data.get("width")),
        "format": FORMATS.get(data.get("type", ""), data.get("type") or "unknown"),
        "broken": data.get("type", "") in USUAL,
        "mebibytes": f"{data.get('size', 0) / 1048576:.1f}",
        "go_on": visit.at("joint", joint["key"]) if joint else visit.at("timeline"),
        "marks": visit.at("marks", data["sha256"]) if _tappable(joint, data) else "",
    }
    return page("job/photo.html", context)


def _tappable(joint: "Joint | None", photo: "Photo") -> bool:
    return bool(
        joint and joint["marks"] != "photo" and photo.get("moment") and not taps.lacking(joint, photo)
    )


def _gravity(text: str) -> "list[float] | None":
    """m/s² along the phone's right, top and front when the photo was taken, if its sensor said so."""
    try:
        pull = [float(part) for part in json.loads(text)] if text else []
    except (ValueError, TypeError):
        return None
    return pull if len(pull) == 3 and all(abs(part) < 100 for part in pull) else None


ROUTES: "list[Route]" = [
    ("POST", "/job/{job}/photo", add),
    ("GET", "/job/{job}/photo/{photo}", show),
]
