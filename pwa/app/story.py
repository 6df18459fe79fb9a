"""Each record as one line that a person reads: in the timeline, beside a conflict, in the report.

Every record is told behind a guard: what cannot be told shows its text as it is, and the page stands.
"""

from typing import TYPE_CHECKING, TypedDict

from pwa.app import when
from pwa.app.contract import SHOP
from pwa.app.kinds.table import KINDS
from pwa.app.record import jobs
from pwa.app.record.envelope import is_sha256
from pwa.app.record.jobs import counts, is_newer
from pwa.app.record.remains import is_withdrawn

if TYPE_CHECKING:
    from pwa.app.kinds.shape import Kind
    from pwa.app.protocol import Content, Record
    from pwa.app.visit import Visit

MOST_SHOWN = 20_000  # characters of a text as it is; a file of the job has the whole
NOT_UNDERSTOOD = "Not understood, so it decides nothing."
NOT_SHOWN = "This entry cannot be shown."
LONG = "Too long, so it decides nothing and is sent to no other phone."


class Aside(TypedDict):
    """Who set an entry aside, when and why."""

    by: str
    time: str
    reason: str


class Entry(TypedDict):
    id: str
    time: str
    suspect: bool
    received: str  # by the server, "" where that is not known
    newer: bool  # a newer version wrote it, so that this one may miss something
    author: str
    title: str
    text: str
    why: str  # it is not told in words, "" if it is
    raw: str  # then its text as it is
    photo: str
    correct: bool
    withdrawn: bool
    aside: "Aside | None"
    shop: bool  # it is the shop's own, of no job
    changes: "list[str]"  # whose other records it replaced, each with its time
    late: bool  # the job was closed without it


def tell(record: "Record", visit: "Visit") -> Entry:
    zone = visit.request["zone"]
    kind = _understood(record)
    is_gone = is_withdrawn(record)
    text, why = (_reason(record, visit), "") if is_gone else _told(record, kind, visit.content)
    return {
        "id": record["id"],
        "time": when.local(record["time"], zone),
        "suspect": visit.is_suspect(record),
        "received": when.local(record["received"], zone) if "received" in record else "",
        "newer": is_newer(record) or record["kind"] not in KINDS,
        "author": visit.author(record),
        "title": title(record["kind"]),
        "text": text,
        "why": why,
        "raw": visit.raw(record)[:MOST_SHOWN] if why else "",
        "photo": _photo(record, kind) if not why else "",
        "correct": bool(kind and kind.corrects),
        "withdrawn": is_gone,
        "aside": _aside(record, visit),
        "shop": record["job"] == SHOP,
        "changes": [
            _whose(old, visit) for old in visit.replaced_by(record) if old["device"] != record["device"]
        ],
        "late": visit.is_late(record),
    }


def changed_by(record: "Record", visit: "Visit") -> "list[str]":
    """Who replaced a record and when, by the records that did."""
    return [_whose(new, visit) for new in visit.replacing(record)]


def _whose(record: "Record", visit: "Visit") -> str:
    return f"{visit.author(record)}, {when.local(record['time'], visit.request['zone'])}"


def _reason(record: "Record", visit: "Visit") -> str:
    """Why there is nothing to read any more; the reason may have not arrived yet."""
    said = [order for order in jobs.of_kind(visit.records, "withdrawal") if jobs.counts(order)]
    reasons = [order["data"]["reason"] for order in said if record["id"] in order["data"]["records"]]
    return "What stood here was withdrawn" + (f": {reasons[-1]}" if reasons else "") + "."


def title(kind: str) -> str:
    """What stands before a record's words; a kind that a newer version wrote is called as it is."""
    known = KINDS.get(kind)
    return known.title if known else kind + ":"


def text_of(record: "Record", content: "Content") -> str:
    """What the record says, in words, or why it is not told in any."""
    text, why = _told(record, _understood(record), content)
    return text or why


def _understood(record: "Record") -> "Kind | None":
    kind = KINDS.get(record["kind"])
    return kind if kind and counts(record) else None


def _told(record: "Record", kind: "Kind | None", content: "Content") -> "tuple[str, str]":
    """A record's words and "", or "" and why there are none."""
    if kind is None:
        return "", LONG if "long" in record else NOT_UNDERSTOOD
    try:
        return kind.words(record["data"], content), ""
    except Exception:  # whatever it is: one record may not take the page with it
        return "", NOT_SHOWN


def _photo(record: "Record", kind: "Kind | None") -> str:
    sha256 = record["data"].get(kind.photo) if kind and kind.photo else ""
    return sha256 if is_sha256(sha256) else ""


def _aside(record: "Record", visit: "Visit") -> "Aside | None":
    said = visit.job["aside"].get(record["id"])
    if said is None:
        return None
    return {
        "by": visit.author(said),
        "time": when.local(said["time"], visit.request["zone"]),
        "reason": said["data"]["reason"],
    }
