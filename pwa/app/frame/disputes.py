"""Where two people wrote different things: every page of the job says it, and first to who has just written.

A form is answered from what its page showed (record/seen.py). If something came meanwhile that says
otherwise, the page that follows names it: the address carries the ids of what was just written.
"""

import json
from typing import TYPE_CHECKING, TypedDict

from pwa.app.record import chain, jobs
from pwa.app.story import tell

if TYPE_CHECKING:
    from pwa.app.protocol import Record
    from pwa.app.record.jobs import Conflict
    from pwa.app.story import Entry
    from pwa.app.visit import Visit

MEANWHILE = "meanwhile"  # in the address of the page after a form: ids of what it wrote


class Met(TypedDict):
    """What was just written, and what others wrote while its page was open."""

    own: "Entry"
    others: "list[Entry]"


class Disputes(TypedDict):
    count: int
    met: "list[Met]"
    settle: str  # where to


def after(location: str, records: "list[Record]", surely: "list[Record]", texts: "list[str]") -> str:
    """Where to go after writing these texts into a job of these records, of which `surely` were seen."""
    if not texts or len(surely) == len(records):
        return location
    written = [record for record in map(json.loads, texts) if record["job"] == records[0]["job"]]
    seen, own = set(jobs.ids(surely)), jobs.ids(written)
    met: list[str] = []
    for conflict in jobs.fold("", chain.in_order(records + written))["conflicts"]:
        members = jobs.ids(conflict["records"])
        if any(item not in seen and item not in own for item in members):
            met += [item for item in members if item in own]
    if not met:
        return location
    return location + ("&" if "?" in location else "?") + MEANWHILE + "=" + "_".join(met)


def of(visit: "Visit", conflicts: "list[Conflict]", settle: str) -> Disputes:
    """What a page says of conflicts, and the address where they are settled."""
    written = visit.asked(MEANWHILE).split("_")
    met: list[Met] = []
    for conflict in conflicts:
        for record in conflict["records"]:
            if record["id"] in written:
                others = [tell(other, visit) for other in conflict["records"] if other["id"] not in written]
                met.append({"own": tell(record, visit), "others": others})
    return {"count": len(conflicts), "met": met, "settle": settle}
