"""All checks: everything that can be answered, by how it comes to be known, with the answer that stands."""

from typing import TYPE_CHECKING

from pwa.app.content import name_of
from pwa.app.evidence import complaints
from pwa.app.kinds.names import outcome_label
from pwa.app.visit import Reply, Visit, page
from pwa.engine.evidence.case import of_type

if TYPE_CHECKING:
    from pwa.app.visit import Route

WAYS = (
    ("asked", "Ask"),
    ("codes", "Codes"),
    ("looked at", "Look"),
    ("measured", "Measure"),
    ("commanded", "Command"),
)


def show(visit: Visit) -> Reply:
    drive, answers = visit.job["opened"]["drive"], visit.job["findings"]
    said = complaints.of(visit.job["opened"], visit.content)
    groups = []
    for way, title in WAYS:
        rows = [
            {
                "finding": finding["key"],
                "name": finding["name"],
                "answer": outcome_label(visit.content, finding["key"], answers[finding["key"]])
                if finding["key"] in answers
                else "",
                "minutes": f"{finding['minutes']:g}" if finding["minutes"] else "",
                "state": ", ".join([name_of(visit.content["openings"], key) for key in finding["opens"]]),
            }
            for finding in visit.content["findings"]
            if finding["way"] == way and of_type(finding["drives"], drive) and finding["key"] not in said
        ]
        scans = [
            {"name": scan["name"], "minutes": f"{scan['minutes']:g}"}
            for scan in visit.content["scans"]
            if scan["way"] == way
        ]
        groups.append({"title": title, "rows": rows, "scans": scans})
    return page("evidence/checks.html", {"groups": groups})


ROUTES: "list[Route]" = [("GET", "/job/{job}/checks", show)]
