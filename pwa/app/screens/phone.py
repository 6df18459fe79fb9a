"""This phone: whose it is, what the shop does not have yet, and what the shop said last."""

from typing import TYPE_CHECKING

from pwa.app import when
from pwa.app.visit import Reply, Visit, page

if TYPE_CHECKING:
    from typing import Any

    from pwa.app.visit import Route


def show(visit: Visit) -> Reply:
    status, zone = visit.request["status"], visit.request["zone"]
    sync = status.get("sync")
    context = {
        "name": visit.request["device"]["name"],
        "enrolled": status.get("enrolled", False),
        "waiting": status.get("waiting", 0),
        "last": when.local(sync["good"], zone) if sync and sync["good"] else "never",
        "trouble": sync["message"] if sync else "",
        "refused": sync["refused"] if sync else [],
        "gaps": sync["gaps"] if sync else [],
        "restored": _restored(visit),
        "clock": when.off(sync.get("skew", 0)) if sync else "",
    }
    return page("phone.html", context)


def _restored(visit: Visit) -> "dict[str, Any] | None":
    """When this phone was found to have an old backup's storage, and what was done about it."""
    told = visit.request["status"].get("restored")
    return {"at": when.local(told["at"], visit.request["zone"]), "entries": told["entries"]} if told else None


def unsent(visit: Visit) -> Reply:
    """The few words in the head of every page, fetched again after each sync."""
    return page("unsent.html")


ROUTES: "list[Route]" = [("GET", "/phone", show), ("GET", "/unsent", unsent)]
