"""The job's own page: where it stands and what to do next."""

from typing import TYPE_CHECKING

from pwa.app import progress
from pwa.app.content import name_of
from pwa.app.evidence import complaints
from pwa.app.kinds.job import actuator
from pwa.app.screens.job.summary import shown_closing
from pwa.app.visit import Reply, Visit, page

if TYPE_CHECKING:
    from pwa.app.visit import Route


def show(visit: Visit) -> Reply:
    opened = visit.job["opened"]
    engine = "" if opened["engine"] in ("", "other") else name_of(visit.content["engines"], opened["engine"])
    hours = "" if opened["hours"] is None else f"{opened['hours']:.0f} h"
    said = complaints.as_text(complaints.of(opened, visit.content), visit.content)
    parts = (said, opened["place"], actuator(opened["drive"]), engine, opened["distance"], hours)
    facts = " · ".join([part for part in parts if part])
    context = {
        "facts": facts,
        "steps": progress.steps(visit.job, visit.content),
        "closed": shown_closing(visit),
    }
    return page("job/sheet.html", context)


ROUTES: "list[Route]" = [("GET", "/job/{job}", show)]
