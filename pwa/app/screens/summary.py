"""The whole job on one page, for the shop and a warranty claim, and closing it."""

from typing import TYPE_CHECKING

from pwa.app import job as jobs
from pwa.app import progress
from pwa.app.records import draft
from pwa.app.story import tell
from pwa.app.visit import Reply, Visit, page, save

if TYPE_CHECKING:
    from typing import Any

    from pwa.app.visit import Route

# What the report shows, in the order a reader asks; notes and the rest follow in the timeline.
SECTIONS = [
    ("Codes", ["code"]),
    ("Found", ["finding", "skipped"]),
    ("Measured", ["reading"]),
    ("Clocking", ["marks", "tolerance"]),
    ("Repair", ["repair"]),
    ("Torque", ["fastener", "torque"]),
    ("Upstream causes", ["cause"]),
    ("Proof", ["proof"]),
    ("Cautions accepted", ["caution-accepted"]),
    ("Notes", ["note"]),
    ("Photos", ["photo"]),
]
DONE, HANDED_OVER = "done", "handed over"


def show(visit: Visit) -> Reply:
    return _page(visit, "")


def close(visit: Visit) -> Reply:
    outcome = visit.field("outcome")
    if outcome not in (DONE, HANDED_OVER):
        return _page(visit, "Choose how the job ends.", 422)
    lacking = progress.missing(visit.job, visit.content)
    if outcome == DONE and lacking:
        return _page(visit, "The job cannot close as done: see what is still missing.", 422)
    note = visit.field("note")
    if outcome == HANDED_OVER and not note:
        return _page(visit, "Write what the next person has to know.", 422)
    earlier = jobs.ids(jobs.of_kind(visit.job["heads"], "job-closed"))
    return save(
        [draft(visit.job["id"], "job-closed", {"outcome": outcome, "note": note}, earlier)],
        visit.at("summary"),
    )


def _page(visit: Visit, error: str, status: int = 200) -> Reply:
    zone = visit.request["zone"]
    sections: list[dict[str, Any]] = []
    for title, kinds in SECTIONS:
        entries = [
            tell(record, visit.content, zone) for record in visit.job["settled"] if record["kind"] in kinds
        ]
        if entries:
            sections.append({"title": title, "entries": entries})
    context = {
        "missing": progress.missing(visit.job, visit.content),
        "sections": sections,
        "conflicts": len(visit.job["conflicts"]),
        "error": error,
        "typed": visit.field("note"),
    }
    return page("summary.html", context, status)


ROUTES: "list[Route]" = [("GET", "/job/{job}/summary", show), ("POST", "/job/{job}/summary", close)]
