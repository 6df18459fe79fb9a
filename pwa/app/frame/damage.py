"""What people see of damaged records: how many in which job, why that job is only read, and what mends it."""

from typing import TYPE_CHECKING, TypedDict

from pwa.app import story
from pwa.app.record import jobs
from pwa.app.visit import Reply, Visit, page

if TYPE_CHECKING:
    from pwa.app.protocol import Row

KEPT = 409  # the entry waits in the journal until the job is mended


class Damaged(TypedDict):
    job: str
    count: int


def by_job(rows: "list[Row]", job_id: str) -> "list[Damaged]":
    """How many rows are damaged in this job, or with "" in each job that has any."""
    found: list[Damaged] = []
    for row in rows:
        if job_id in ("", row["job"]):
            known = [item for item in found if item["job"] == row["job"]]
            if known:
                known[0]["count"] += 1
            else:
                found.append({"job": row["job"], "count": 1})
    return found


def refuse(visit: Visit) -> Reply:
    """Nothing is written on top of records that cannot be read: what is typed waits."""
    return page("job/damaged.html", {"title": "Not written yet", "typed": True, "entries": []}, status=KEPT)


def unopened(visit: Visit, broken: bool) -> Reply:
    """A job whose first record is missing or says nothing: what can be read of it; else it is not here."""
    if not broken and not jobs.of_kinds(visit.records, ("job-opened",)):
        what = "This job is not on this device yet. Send and fetch once there is signal, then look again."
        return page("frame/missing.html", {"what": what}, status=404)
    typed = visit.request["method"] == "POST"
    told = [story.tell(record, visit) for record in reversed(visit.records)]
    context = {"title": "A damaged job", "typed": typed, "entries": told}
    return page("job/damaged.html", context, status=KEPT if typed else 200)
