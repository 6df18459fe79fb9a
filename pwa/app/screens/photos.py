"""A photo joins a job. Its bytes are stored under their hash before this is asked."""

from typing import TYPE_CHECKING

from pwa.app.records import draft
from pwa.app.visit import Reply, Visit, page, save

if TYPE_CHECKING:
    from pwa.app.visit import Route

MOMENTS = ("", "before", "after")


def add(visit: Visit) -> Reply:
    sha256 = visit.field("photo_sha256")
    if not sha256:
        return page("missing.html", {"what": "No photo arrived. Go back and take it again."}, status=422)
    moment = visit.field("moment")
    data = {
        "sha256": sha256,
        "size": _whole(visit.field("photo_size")),
        "type": visit.field("photo_type"),
        "width": _whole(visit.field("photo_width") or visit.field("width")),
        "height": _whole(visit.field("photo_height") or visit.field("height")),
        "caption": visit.field("caption"),
        "joint": visit.field("joint"),
        "moment": moment if moment in MOMENTS else "",
    }
    then = visit.field("then")
    inside = then.startswith(visit.at())
    return save([draft(visit.job["id"], "photo", data)], then if inside else visit.at("timeline"))


def _whole(text: str) -> int:
    return int(text) if text.isdigit() else 0


ROUTES: "list[Route]" = [("POST", "/job/{job}/photo", add)]
