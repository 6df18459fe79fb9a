"""A job as people see it: a fold over its records. Nothing here is stored; every host computes it anew.

Two records *say* something about the same subject when they are of the same kind and name the same thing
(one finding, one photo of one joint). If more than one is left unreplaced and they disagree, two people
worked apart: that is a conflict, and neither counts until somebody writes the record that replaces both.
"""

from typing import TYPE_CHECKING, TypedDict

from pwa.app.record import chain

if TYPE_CHECKING:
    from typing import Any

    from pwa.app.protocol import Record

# The fields of `data` that name a record's subject. Kinds not listed speak only for themselves.
SUBJECTS = {
    "job-opened": (),
    "finding": ("finding",),
    "skipped": ("finding",),
    "reading": ("measure",),
    "marks": ("joint", "moment", "photo"),
    "photo-counts": ("joint", "moment", "photo"),
    "written": ("joint", "moment"),
    "tolerance": ("joint",),
    "travel-limits": ("joint",),
    "repair": ("repair",),
    "fastener": ("place",),
    "torque": ("fastener", "bolt"),
    "cause": ("cause",),
    "proof": ("proof",),
    "job-closed": (),
}
# What `data` must hold for a record to count. One that lacks it (a newer or broken version wrote it) is kept,
# sent and shown with its fields, but decides nothing.
REQUIRED = {
    "job-opened": ("unit", "complaint", "drive", "place", "engine", "distance", "hours"),
    "caution-accepted": ("caution",),
    "code": ("typed", "key"),
    "finding": ("finding", "outcome"),
    "skipped": ("finding",),
    "reading": ("measure", "typed", "verdict"),
    "photo": ("sha256",),
    "marks": ("photo", "joint", "moment", "reading"),
    "photo-counts": ("photo", "joint", "moment", "counts"),
    "written": ("joint", "moment", "text"),
    "unphotographed": ("joints", "reason"),
    "tolerance": ("joint", "degrees", "source"),
    "travel-limits": ("joint", "least", "most", "source"),
    "repair": ("repair",),
    "fastener": ("place", "count", "torque", "source"),
    "torque": ("fastener", "bolt", "actual"),
    "cause": ("cause", "decision"),
    "proof": ("proof", "result"),
    "note": ("text",),
    "job-closed": ("outcome",),
    "here": ("place",),
    "prices": ("rate",),
}
# Where only some fields have to agree for two records to say the same.
STATEMENTS = {
    "finding": ("outcome",),
    "skipped": (),
    "photo-counts": ("counts",),
    "cause": ("decision",),
    "job-closed": ("outcome",),
}


# The outcome of a finding whose answer was taken back.
NOT_CHECKED = "not-checked"


class Conflict(TypedDict):
    """Records on one subject that disagree, none of which replaces the others."""

    kind: str
    records: "list[Record]"


class Job(TypedDict):
    """`heads` are the records that count, in order; `settled` those that are in no conflict."""

    id: str
    opened: "dict[str, Any]"  # data of the job-opened record, {} if it has not arrived
    closed: "dict[str, Any]"  # data of the job-closed record, {} while open
    heads: "list[Record]"
    settled: "list[Record]"
    conflicts: "list[Conflict]"
    cautions: "list[str]"  # keys accepted
    findings: "dict[str, str]"  # finding -> outcome, of what is answered and in no conflict


def fold(job_id: str, records: "list[Record]") -> Job:
    """The job that these records, in the agreed order, add up to."""
    heads = [record for record in chain.heads(records) if counts(record)]
    conflicts = _conflicts(heads)
    disputed = {record["id"] for conflict in conflicts for record in conflict["records"]}
    settled = [record for record in heads if record["id"] not in disputed]
    opened = latest(heads, "job-opened")
    closed = latest(settled, "job-closed")
    return {
        "id": job_id,
        "opened": opened["data"] if opened else {},
        "closed": closed["data"] if closed else {},
        "heads": heads,
        "settled": settled,
        "conflicts": conflicts,
        "cautions": [record["data"]["caution"] for record in of_kind(heads, "caution-accepted")],
        "findings": {
            record["data"]["finding"]: record["data"]["outcome"]
            for record in of_kind(settled, "finding")
            if record["data"]["outcome"] != NOT_CHECKED
        },
    }


def is_newer(record: "Record") -> bool:
    """Whether a version wrote it in which known fields mean something else (DEVELOPERS.md, "Versions")."""
    return record.get("v", chain.SCHEMA) > chain.SCHEMA


def counts(record: "Record") -> bool:
    """Whether this version understands the record well enough to let it decide anything."""
    return not is_newer(record) and all(name in record["data"] for name in REQUIRED.get(record["kind"], ()))


def of_kind(records: "list[Record]", kind: str, **fields: str) -> "list[Record]":
    """The records of one kind whose data have these values, in order."""
    return [
        record
        for record in records
        if record["kind"] == kind and all(record["data"].get(name) == value for name, value in fields.items())
    ]


def latest(records: "list[Record]", kind: str, **fields: str) -> "Record | None":
    found = of_kind(records, kind, **fields)
    return found[-1] if found else None


def ids(records: "list[Record]") -> "list[str]":
    return [record["id"] for record in records]


def subject(record: "Record") -> "tuple[Any, ...] | None":
    """What a record speaks about, or None when it only speaks for itself."""
    fields = SUBJECTS.get(record["kind"])
    if fields is None:
        return None
    return (record["kind"],) + tuple(record["data"].get(name) for name in fields)


def _conflicts(heads: "list[Record]") -> "list[Conflict]":
    groups: dict[tuple[Any, ...], list[Record]] = {}
    order: list[tuple[Any, ...]] = []
    for record in heads:
        for key in _meeting_points(record):
            if key not in groups:
                groups[key] = []
                order.append(key)
            groups[key].append(record)
    found: list[Conflict] = []
    seen: set[tuple[str, ...]] = set()
    for key in order:
        members = groups[key]
        mark = tuple(ids(members))
        if mark not in seen and any(_statement(other) != _statement(members[0]) for other in members):
            seen.add(mark)
            found.append({"kind": members[0]["kind"], "records": members})
    return found


def _meeting_points(record: "Record") -> "list[tuple[Any, ...]]":
    """Records meet on their subject, or on an older record that each of them corrects."""
    about = subject(record)
    if about is not None:
        return [about]
    return [("replaces", old) for old in record["replaces"]]


def _statement(record: "Record") -> "dict[str, Any]":
    fields = STATEMENTS.get(record["kind"])
    if fields is None:
        return record["data"]
    return {name: record["data"].get(name) for name in fields}
