"""Opening without a photo from before: the reason is a record."""

from typing import TYPE_CHECKING

from pwa.app.joints import unphotographed
from pwa.app.record.chain import draft
from pwa.app.visit import Reply, Visit, page, save

if TYPE_CHECKING:
    from pwa.app.visit import Route


def go_on(visit: Visit) -> Reply:
    step = visit.params["step"]
    bare = unphotographed.joints(visit.job, visit.content, step)
    if step not in [joint["opens"] for joint in visit.content["joints"]]:
        return page("frame/missing.html", {"what": "This step opens nothing."}, status=404)
    if not bare:
        return save([], visit.at(step))
    reason = visit.field("other") or visit.field("reason")
    if not reason:
        held = unphotographed.gate(visit, step, "Say why it is opened without a photo.")
        return held or save([], visit.at(step))
    data = {"joints": [joint["key"] for joint in bare], "step": step, "reason": reason}
    return save([draft(visit.job["id"], "unphotographed", data)], visit.at(step))


ROUTES: "list[Route]" = [("POST", "/job/{job}/unphotographed/{step}", go_on)]
