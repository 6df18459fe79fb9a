"""A job as people see it: a fold over its records. Nothing here is stored; every host computes it anew.

Two records *say* something about the same subject when they are of the same kind and name the same thing
(one finding, one photo of one joint). If more than one is left unreplaced and they disagree, two people
worked apart: that is a conflict, and neither counts until somebody writes the record that replaces both.
What a record's subject is and which of its fields have to agree: kinds/table.py.
"""

from typing import TYPE_CHECKING, TypedDict

from pwa.app.kinds import aside as kind_aside
from pwa.app.kinds import check
from pwa.app.kinds.names import NOT_CHECKED
from pwa.app.kinds.table import KINDS
from pwa.app.record import chain, remains

if TYPE_CHECKING:
    from collections.abc import Iterable
    from typing import Any

    from pwa.app.kinds.data import JobClosed, JobOpened, Latest, OfKind, SetAside
    from pwa.app.protocol import Record, RecordOf


class Conflict(TypedDict):
    """Records on one subject that disagree, none of which replaces the others."""

    kind: str
    records: "list[Record]"


class Job(TypedDict):
    """`heads` are the records that count, in order; `settled` those that are in no conflict.

    `replaced` are ids of what something else stands for, `aside` the records that set others aside, by the
    other's id.
    """

    id: str
    opened: "JobOpened"  # data of the job-opened record, {} if it has not arrived
    closed: "JobClosed"  # data of the job-closed record, {} while open
    heads: "list[Record]"
    settled: "list[Record]"
    replaced: "set[str]"
    aside: "dict[str, RecordOf[SetAside]]"
    conflicts: "list[Conflict]"
    cautions: "list[str]"  # keys accepted
    findings: "dict[str, str]"  # finding -> outcome, of what is answered and in no conflict


def fold(job_id: str, records: "list[Record]") -> Job:
    """The job that these records, in the agreed order, add up to."""
    aside = set_aside(records)
    heads, replaced = _standing(records, aside)
    conflicts = _conflicts(heads)
    disputed = {record["id"] for conflict in conflicts for record in conflict["records"]}
    settled = [record for record in heads if record["id"] not in disputed]
    nothing: Any = {}
    opened = latest(heads, "job-opened")
    closed = latest(settled, "job-closed")
    return {
        "id": job_id,
        "opened": opened["data"] if opened else nothing,
        "closed": closed["data"] if closed else nothing,
        "heads": heads,
        "settled": settled,
        "replaced": replaced,
        "aside": aside,
        "conflicts": conflicts,
        "cautions": [record["data"]["caution"] for record in of_kind(heads, "caution-accepted")],
        "findings": {
            record["data"]["finding"]: record["data"]["outcome"]
            for record in of_kind(settled, "finding")
            if record["data"]["outcome"] != NOT_CHECKED
        },
    }


def standing(records: "list[Record]") -> "list[Record]":
    """Those that count: understood, not set aside, and replaced by nothing that decides, of any jobs."""
    return _standing(records, set_aside(records))[0]


def _standing(records: "list[Record]", aside: "dict[str, Any]") -> "tuple[list[Record], set[str]]":
    """The records that count, and the ids of what is replaced.

    What is broken replaces nothing either, so that it takes no good record away. A newer version's correction
    was made by somebody who saw the old one, so that stays replaced (pwa/README.md); so it does when the
    correction is withdrawn.
    """
    deciding = [record for record in records if record["id"] not in aside]
    standing = [record for record in deciding if counts(record)]
    own = {record["id"]: record["job"] for record in records}
    replaced: set[str] = set()
    for record in deciding if len(standing) == len(deciding) else _replacing(deciding, standing):
        # Only within its own job: a record takes nothing away elsewhere.
        replaced.update([old for old in record["replaces"] if own.get(old) == record["job"]])
    return [record for record in standing if record["id"] not in replaced], replaced


def _replacing(records: "list[Record]", standing: "list[Record]") -> "list[Record]":
    count = {record["id"] for record in standing}
    return [item for item in records if item["id"] in count or is_newer(item) or remains.is_withdrawn(item)]


def set_aside(records: "list[Record]") -> "dict[str, RecordOf[SetAside]]":
    """Id of a record that decides nothing -> the record that says so.

    It speaks of its own job, and of none of its own kind: it is taken back by a correction. Where two people
    say different things of a record, it counts until they have settled it.
    """
    said = [record for record in records if record["kind"] == kind_aside.NAME and counts(record)]
    if not said:
        return {}
    known = {record["id"]: record for record in records}
    found: dict[str, RecordOf[SetAside]] = {}
    disputed = []
    for record in chain.heads(said):
        about = known.get(record["data"]["record"])
        if about is None or about["kind"] == kind_aside.NAME or about["job"] != record["job"]:
            continue
        if record["data"]["aside"]:
            found[about["id"]] = record
        else:
            disputed.append(about["id"])
    opened = [record for record in of_kind(records, "job-opened") if record["id"] not in found]
    left = {record["job"] for record in opened if counts(record)}
    for id in list(found):
        # Without its first record a job could not be opened, and nobody could take it back.
        only = known[id]["kind"] == "job-opened" and known[id]["job"] not in left
        if only or id in disputed:
            del found[id]
    return found


def is_newer(record: "Record") -> bool:
    """Whether a version wrote it in which known fields mean something else (pwa/README.md, "Versions")."""
    v = record.get("v", chain.SCHEMA)
    return not isinstance(v, int) or isinstance(v, bool) or v != chain.SCHEMA


def counts(record: "Record") -> bool:
    """Whether this version understands the record well enough to let it decide anything."""
    is_there = not is_newer(record) and not remains.is_withdrawn(record) and "long" not in record
    return is_there and chain.is_clock(record["clock"]) and check.understood(record["kind"], record["data"])


def of_kinds(records: "list[Record]", kinds: "tuple[str, ...]") -> "list[Record]":
    """The records of several kinds, in order."""
    return [record for record in records if record["kind"] in kinds]


def _of_kind(records: "Iterable[Record]", kind: str, **fields: str) -> "Any":
    """The records of one kind whose data have these values, in order."""
    return [
        record
        for record in records
        if record["kind"] == kind and all(record["data"].get(name) == value for name, value in fields.items())
    ]


def _latest(records: "Iterable[Record]", kind: str, **fields: str) -> "Any":
    """The last of them, None without one."""
    found = _of_kind(records, kind, **fields)
    return found[-1] if found else None


# With the data's own type for each kind (kinds/data.pyi).
of_kind: "OfKind" = _of_kind
latest: "Latest" = _latest


def ids(records: "Iterable[Record]") -> "list[str]":
    return [record["id"] for record in records]


def subject(record: "Record") -> "tuple[Any, ...] | None":
    """What a record speaks about, or None when it only speaks for itself."""
    kind = KINDS.get(record["kind"])
    if kind is None or kind.subject is None:
        return None
    return (record["kind"],) + tuple(record["data"].get(name) for name in kind.subject)


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


def _statement(record: "Record") -> "dict[str, object]":
    kind, data = KINDS.get(record["kind"]), record["data"]
    says = list(data) if kind is None or kind.says is None else kind.says
    return {name: data.get(name) for name in says}
