"""Opening without a photo from before: the reason is a record."""

from typing import TYPE_CHECKING

from pwa.app.gate import without_photo
from pwa.app.joints import unphotographed
from pwa.app.record.chain import draft
from pwa.app.visit import Reply, Visit, page, save

if TYPE_CHECKING:
    from pwa.app.kinds.data import Unphotographed
    from pwa.app.visit import Route


def go_on(visit: Visit) -> Reply:
    step, reason = visit.params["step"], visit.field("other") or visit.field("reason")
    if step not in [joint["opens"] for joint in visit.content["joints"]]:
        return page("frame/missing.html", {"what": "This step opens nothing."}, status=404)
    held = None if reason else without_photo(visit, step, "Say why it is opened without a photo.")
    if held:
        return held
    bare = [joint["key"] for joint in unphotographed.joints(visit.job, visit.content, step)]
    data: Unphotographed = {"joints": bare, "step": step, "reason": reason}
    return save([draft(visit.job["id"], "unphotographed", data)] if bare else [], visit.at(step))


ROUTES: "list[Route]" = [("POST", "/job/{job}/unphotographed/{step}", go_on)]
