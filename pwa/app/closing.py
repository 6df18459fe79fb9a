"""How a job was closed: once, in two ways by two people, and what came that its closing did not know."""

from typing import TYPE_CHECKING

from pwa.app.record import jobs, seen

if TYPE_CHECKING:
    from pwa.app.kinds.data import JobClosed
    from pwa.app.protocol import Record, RecordOf
    from pwa.app.record.jobs import Job

# What is not evidence: the end itself, and what is decided about entries.
ABOUT = ("job-closed", "withdrawal", "set-aside")
OPEN, CLOSED, IN_TWO_WAYS = "open", "closed", "closed in two ways"


def state(closings: "list[RecordOf[JobClosed]]") -> str:
    """Of a job with these standing closings."""
    outcomes = {record["data"]["outcome"] for record in closings}
    return IN_TWO_WAYS if len(outcomes) > 1 else CLOSED if outcomes else OPEN


def of(job: "Job") -> "list[RecordOf[JobClosed]]":
    """The standing closings: none, one, or more by people who did not see each other's."""
    return jobs.of_kind(job["heads"], "job-closed")


def late(job: "Job", records: "list[Record]") -> "list[str]":
    """Ids of the records of the job that no closing of it knew of."""
    closings = of(job)
    if not closings:
        return []
    known: set[str] = set()
    for closing in closings:
        known.update(_known(closing, records))
    return [record["id"] for record in records if record["kind"] not in ABOUT and record["id"] not in known]


def _known(closing: "RecordOf[JobClosed]", records: "list[Record]") -> "list[str]":
    """What its writer had seen; where an older version does not say, what stands before it."""
    said = closing["data"].get("seen", "")
    had = seen.of(said, closing["job"], records)
    if said and had["text"] == said:
        return jobs.ids(had["surely"])
    return jobs.ids(records[: jobs.ids(records).index(closing["id"])])
