"""Each record as one line that a person reads: in the timeline, beside a conflict, in the report."""

from typing import TYPE_CHECKING, TypedDict

from pwa.app import when
from pwa.app.kinds.table import KINDS
from pwa.app.record import jobs
from pwa.app.record.jobs import counts, is_newer
from pwa.app.record.remains import is_withdrawn

if TYPE_CHECKING:
    from pwa.app.kinds.shape import Kind
    from pwa.app.protocol import Content, Record
    from pwa.app.visit import Visit


class Entry(TypedDict):
    id: str
    time: str
    suspect: bool
    received: str  # by the server, "" where that is not known
    newer: bool  # a newer version wrote it, so that this one may miss something
    author: str
    title: str
    text: str
    photo: str
    correct: bool
    withdrawn: bool


def tell(record: "Record", visit: "Visit") -> Entry:
    zone = visit.request["zone"]
    kind = _understood(record)
    return {
        "id": record["id"],
        "time": when.local(record["time"], zone),
        "suspect": visit.is_suspect(record),
        "received": when.local(record["received"], zone) if "received" in record else "",
        "newer": is_newer(record) or record["kind"] not in KINDS,
        "author": visit.author(record),
        "title": title(record["kind"]),
        "text": _reason(record, visit) if is_withdrawn(record) else _words(record, kind, visit.content),
        "photo": record["data"][kind.photo] if kind and kind.photo else "",
        "correct": bool(kind and kind.corrects),
        "withdrawn": is_withdrawn(record),
    }


def _reason(record: "Record", visit: "Visit") -> str:
    """Why there is nothing to read any more; the reason may have not arrived yet."""
    said = jobs.of_kind(visit.records, "withdrawal", record=record["id"])
    reasons = [order["data"]["reason"] for order in said if jobs.counts(order)]
    return "What stood here was withdrawn" + (f": {reasons[-1]}" if reasons else "") + "."


def title(kind: str) -> str:
    """What stands before a record's words; a kind that a newer version wrote is called as it is."""
    known = KINDS.get(kind)
    return known.title if known else kind + ":"


def text_of(record: "Record", content: "Content") -> str:
    """What the record says, in words; one that this version does not understand shows its fields."""
    return _words(record, _understood(record), content)


def _understood(record: "Record") -> "Kind | None":
    kind = KINDS.get(record["kind"])
    return kind if kind and counts(record) else None


def _words(record: "Record", kind: "Kind | None", content: "Content") -> str:
    data = record["data"]
    return kind.words(data, content) if kind else ", ".join([f"{name} {data[name]}" for name in sorted(data)])
