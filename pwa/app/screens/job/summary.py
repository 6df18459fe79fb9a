"""The whole job on one page, for the shop and a warranty claim, and closing it."""

from typing import TYPE_CHECKING, TypedDict

from pwa.app import closing, progress
from pwa.app.joints import view
from pwa.app.kinds.job import DONE, HANDED_OVER
from pwa.app.kinds.table import KINDS, SECTIONS
from pwa.app.record import jobs
from pwa.app.record.chain import draft
from pwa.app.screens.evidence import stops
from pwa.app.screens.job import proof
from pwa.app.story import tell
from pwa.app.visit import Reply, Visit, page, save

if TYPE_CHECKING:
    from pwa.app.kinds.data import JobClosed
    from pwa.app.protocol import Record
    from pwa.app.story import Entry
    from pwa.app.visit import Route


class Section(TypedDict):
    title: str
    entries: "list[Entry]"


class Closed(TypedDict):
    state: str  # of `closing`
    entries: "list[Entry]"  # the closings
    late: int  # entries that stand and came after it


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
    data: JobClosed = {"outcome": outcome, "note": note, "seen": visit.had["text"]}
    made = draft(visit.job["id"], "job-closed", data, jobs.ids(closing.of(visit.job)))
    return save([made], visit.at("summary"))


def _page(visit: Visit, error: str, status: int = 200) -> Reply:
    joints = [view.of(visit, joint) for joint in visit.content["joints"]]
    shown = [joint for joint in joints if not view.is_empty(joint)]
    context = {
        "missing": progress.missing(visit.job, visit.content),
        "stops": stops.shown(visit),
        "joints": shown,
        "sections": _sections(visit, shown),
        "closed": shown_closing(visit),
        "proof": proof.of(visit),
        "error": error,
        "typed": visit.field("note"),
    }
    return page("job/summary.html", context, status)


def shown_closing(visit: Visit) -> Closed:
    """How the job was closed, in words, and how much came after it."""
    closings = closing.of(visit.job)
    late = set(closing.late(visit.job, visit.records))
    return {
        "state": closing.state(closings),
        "entries": [tell(record, visit) for record in closings],
        "late": len([record for record in visit.job["heads"] if record["id"] in late]),
    }


def _sections(visit: Visit, joints: "list[view.View]") -> "list[Section]":
    """What the joints do not show already, under its headings."""
    shown = [shot["photo"]["sha256"] for joint in joints for side in joint["sides"] for shot in side["shots"]]
    sections: list[Section] = []
    for title in SECTIONS:
        entries = [
            tell(record, visit)
            for record in visit.job["settled"]
            if _section(record) == title and record["data"].get("sha256") not in shown
        ]
        if entries:
            sections.append({"title": title, "entries": entries})
    return sections


def _section(record: "Record") -> str:
    """The heading that a record stands under; notes of a newer version and the rest stand in the timeline."""
    kind = KINDS.get(record["kind"])
    return kind.section if kind else ""


ROUTES: "list[Route]" = [("GET", "/job/{job}/summary", show), ("POST", "/job/{job}/summary", close)]
