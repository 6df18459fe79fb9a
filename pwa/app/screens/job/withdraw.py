"""Withdrawing an entry: what it says and shows is erased everywhere, and that it was there stays."""

from typing import TYPE_CHECKING

from pwa.app.kinds.table import KINDS
from pwa.app.record import remains
from pwa.app.record.chain import draft
from pwa.app.story import tell
from pwa.app.visit import Reply, Visit, page, save

if TYPE_CHECKING:
    from pwa.app.protocol import Record
    from pwa.app.visit import Route

REASONS = [
    "A face or a number plate is on it",
    "It says something about a person",
    "It belongs to another job",
]


def ask(visit: Visit) -> Reply:
    return _form(visit, "")


def withdraw(visit: Visit) -> Reply:
    reason = visit.field("other") or visit.field("reason")
    going = _versions(visit)
    if not going:
        return _form(visit, "")
    if not reason:
        return _form(visit, "Choose a reason, or write one. It stays in the record.")
    job = visit.job["id"]
    ids = [record["id"] for record in going]
    return save([draft(job, "withdrawal", {"records": ids, "reason": reason})], visit.at("timeline"), ids)


def _form(visit: Visit, error: str) -> Reply:
    record = _named(visit)
    if record is None:
        return page("frame/missing.html", {"what": "This entry is not here, or it stays."}, status=404)
    may = bool(_versions(visit))
    context = {"entry": tell(record, visit), "reasons": REASONS, "may": may, "error": error}
    context["typed"] = visit.field("other")
    return page("job/withdraw.html", context, 422 if error else 200)


def _named(visit: Visit) -> "Record | None":
    for record in visit.records:
        if record["id"] == visit.params["record"] and can_go(record):
            return record
    return None


def can_go(record: "Record") -> bool:
    """Whether its content can be withdrawn: without its opening a job would not be one."""
    return record["kind"] not in ("job-opened", "withdrawal") and not remains.is_withdrawn(record)


def _versions(visit: Visit) -> "list[Record]":
    """The entry with what it corrects, what corrects it, and what brings the same photo, as far as this
    writer may withdraw them: the desk all, a phone its own.
    """
    named = _named(visit)
    if named is None:
        return []
    family = {named["id"]}
    before = 0
    while len(family) != before:
        before = len(family)
        for record in visit.records:
            if record["kind"] == named["kind"] and _belongs(record, named, family):
                family.add(record["id"])
                family.update(record["replaces"])
    of_kind = [record for record in visit.records if record["kind"] == named["kind"] and can_go(record)]
    return [record for record in of_kind if record["id"] in family and _may(visit, record)]


def _belongs(record: "Record", named: "Record", family: "set[str]") -> bool:
    photo = KINDS[named["kind"]].photo if named["kind"] in KINDS else ""
    same_photo = bool(photo) and record["data"].get(photo) == named["data"].get(photo)
    return same_photo or record["id"] in family or any(old in family for old in record["replaces"])


def _may(visit: Visit, record: "Record") -> bool:
    return visit.request["host"] == "desk" or record["device"] == visit.request["device"]["id"]


ROUTES: "list[Route]" = [
    ("GET", "/job/{job}/withdraw/{record}", ask),
    ("POST", "/job/{job}/withdraw/{record}", withdraw),
]
