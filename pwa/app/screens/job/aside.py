"""Setting an entry aside for everybody, with the reason, and taking that back: the desk's last word on it.

It decides nothing then, on no phone, and stays in the record with who set it aside and why.
"""

from typing import TYPE_CHECKING

from pwa.app import story
from pwa.app.contract import SHOP
from pwa.app.kinds.aside import NAME
from pwa.app.record import jobs
from pwa.app.record.chain import draft
from pwa.app.visit import Reply, Visit, page, save

if TYPE_CHECKING:
    from pwa.app.kinds.data import SetAside
    from pwa.app.protocol import Record
    from pwa.app.visit import Route


def ask(visit: Visit) -> Reply:
    record = _record(visit)
    return _page(visit, record, "") if record else _unknown()


def say(visit: Visit) -> Reply:
    record, reason = _record(visit), visit.field("reason")
    if record is None:
        return _unknown()
    if not reason:
        return _page(visit, record, "Write why in a few words; everybody reads it.", 422)
    earlier = jobs.of_kind(visit.job["heads"], "set-aside", record=record["id"])
    aside = record["id"] not in visit.job["aside"]
    data: SetAside = {"record": record["id"], "aside": aside, "reason": reason}
    return save([draft(record["job"], "set-aside", data, jobs.ids(earlier))], _back(visit))


def can(visit: Visit, record: "Record") -> bool:
    """Whether it is offered here: at the desk, and not for what opens a job if nothing else does."""
    if visit.request["host"] != "desk" or record["kind"] == NAME:
        return False
    opened = jobs.ids(jobs.of_kind(visit.job["heads"], "job-opened"))
    return opened != [record["id"]]


def _record(visit: Visit) -> "Record | None":
    """The entry of the address: of this job, or of the shop itself."""
    for record in visit.records:
        if record["id"] == visit.params["record"] and can(visit, record):
            return record if visit.job["id"] or record["job"] == SHOP else None
    return None


def _back(visit: Visit) -> str:
    """To where the entry stands: in its job's timeline, or among the shop's own prices."""
    return visit.at("timeline") if visit.job["id"] else "/prices"


def _page(visit: Visit, record: "Record", error: str, status: int = 200) -> Reply:
    context = {
        "entry": story.tell(record, visit),
        "action": visit.request["path"],
        "back": _back(visit),
        "error": error,
        "typed": visit.field("reason"),
    }
    return page("job/aside.html", context, status)


def _unknown() -> Reply:
    what = "There is no entry here that can be set aside. Only the desk does that."
    return page("frame/missing.html", {"what": what}, status=404)


ROUTES: "list[Route]" = [
    ("GET", "/job/{job}/aside/{record}", ask),
    ("POST", "/job/{job}/aside/{record}", say),
    ("GET", "/prices/aside/{record}", ask),
    ("POST", "/prices/aside/{record}", say),
]
