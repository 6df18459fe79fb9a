"""The order of tightening, drawn for any number of bolts; a worksheet without a verdict."""

from typing import TYPE_CHECKING

from pwa.app.bolts import diagram
from pwa.app.visit import Reply, Visit, page

if TYPE_CHECKING:
    from pwa.app.visit import Route


def show(visit: Visit) -> Reply:
    count, kind = visit.asked("count"), visit.asked("kind") or "cross"
    error = ""
    if count and not (count.isdigit() and 1 <= int(count) <= diagram.MOST):
        error = f"The number of bolts is a whole number from 1 to {diagram.MOST}."
    elif kind not in [item["key"] for item in diagram.KINDS]:
        error = "Choose the order of tightening."
    drawing = diagram.drawing(int(count), kind) if count and not error else None
    context = {"count": count, "kind": kind, "kinds": diagram.KINDS, "drawing": drawing, "error": error}
    return page("repair/order.html", context, 422 if error else 200)


ROUTES: "list[Route]" = [("GET", "/worksheets/order", show)]
