"""This phone: whose it is, how safe its storage is, what the shop lacks, and what the shop said last."""

from typing import TYPE_CHECKING

from pwa.app import when
from pwa.app.frame.notices import reminder
from pwa.app.screens.job.jobs import listed
from pwa.app.visit import Reply, Visit, page, save

if TYPE_CHECKING:
    from typing import Any

    from pwa.app.visit import Context, Route


def show(visit: Visit) -> Reply:
    status, zone = visit.request["status"], visit.request["zone"]
    sync = status.get("sync")
    context = {
        "name": visit.request["device"]["name"],
        "enrolled": status.get("enrolled", False),
        "waiting": status.get("waiting", 0),
        "old": reminder(visit.request),
        "last": when.local(sync["good"], zone) if sync and sync["good"] else "never",
        "trouble": sync["message"] if sync else "",
        "refused": sync["refused"] if sync else [],
        "gaps": sync["gaps"] if sync else [],
        "here": _holdings(visit),
        "used": _megabytes(status.get("used")),
        "promised": {True: "yes", False: "no"}.get(status.get("promised"), "unsaid"),  # type: ignore[arg-type]
        "sent_photos": status.get("sent_photos", 0),
        "sent_size": _megabytes(status.get("sent_size")),
        "restored": _restored(visit),
        "failure": _failure(visit),
        "signed": _signed(visit),
        "unsigned": sync.get("unsigned", "") if sync else "",
        "keyless": status.get("keyless", False),
        "clock": when.off(sync.get("skew", 0)) if sync else "",
    }
    return page("phone/phone.html", context)


def _holdings(visit: Visit) -> str:
    """ "2 jobs, 14 entries, 1 photo": how much is on this phone."""
    status = visit.request["status"]
    numbers = (
        (len(listed(visit)), "job", "jobs"),
        (status.get("notes", 0), "entry", "entries"),
        (status.get("photos", 0), "photo", "photos"),
    )
    return ", ".join(f"{number} {one if number == 1 else many}" for number, one, many in numbers)


def _megabytes(size: "Any") -> str:
    """Bytes as "12.3 MB"; "" where the browser does not say."""
    return f"{size / 1_000_000:.1f} MB" if size else ""


def _restored(visit: Visit) -> "Context | None":
    """When this phone was found to have an old backup's storage, and what was done about it."""
    told = visit.request["status"].get("restored")
    return {"at": when.local(told["at"], visit.request["zone"]), "entries": told["entries"]} if told else None


def _failure(visit: Visit) -> "Context | None":
    """When the app failed last on this phone, and what can be sent in of it."""
    told = visit.request["status"].get("failure")
    return {"at": when.local(told["at"], visit.request["zone"]), "text": told["text"]} if told else None


def _signed(visit: Visit) -> "Context | None":
    """Up to which entry the shop has countersigned this phone's chain, and when."""
    head = visit.request["status"].get("heads", {}).get(visit.request["device"]["id"])
    return {"seq": head["seq"], "at": when.local(head["received"], visit.request["zone"])} if head else None


def name(visit: Visit) -> Reply:
    """This phone has another name: what is saved carries the record of it (Notebook)."""
    return save([], "/phone")


def unsent(visit: Visit) -> Reply:
    """The few words in the head of every page, fetched again after each sync."""
    return page("frame/unsent.html")


def heads(visit: Visit) -> Reply:
    """The notices over a page, fetched again after each sync."""
    return page("frame/notices.html")


ROUTES: "list[Route]" = [
    ("GET", "/phone", show),
    ("POST", "/phone/name", name),
    ("GET", "/unsent", unsent),
    ("GET", "/notices", heads),
]
