"""What stands before a hands-on step: cautions to accept, and photos to take before something is opened."""

from typing import TYPE_CHECKING

from pwa.app import cautions
from pwa.app.joints import unphotographed
from pwa.app.record import jobs
from pwa.app.visit import page

if TYPE_CHECKING:
    from pwa.app.visit import Reply, Visit

REASONS = ["The turbo stays closed", "It was open when I came"]


def gate(visit: "Visit", step: str) -> "Reply | None":
    """The page that stands before a step until its cautions are accepted, or what it opens has been
    photographed; None when nothing stands in the way.
    """
    waiting = cautions.missing(visit.job, visit.content, step)
    if waiting:
        return page("frame/gate.html", {"cautions": waiting, "step": step})
    # What is done is done; records of a step have the step's name for their kind.
    if jobs.of_kinds(visit.job["heads"], (step,)):
        return None
    return without_photo(visit, step)


def without_photo(visit: "Visit", step: str, error: str = "") -> "Reply | None":
    """The page that asks for a photo or a reason of each joint that the step opens; None if all have one."""
    bare = unphotographed.joints(visit.job, visit.content, step)
    if not bare:
        return None
    typed = visit.field("other")
    context = {"joints": bare, "step": step, "reasons": REASONS, "error": error, "typed": typed}
    return page("joints/unphotographed.html", context, 422 if error else 200)
