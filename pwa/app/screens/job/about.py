"""What a job is about, put right: the complaint and the type of actuator, once they are known better."""

from typing import TYPE_CHECKING

from pwa.app.evidence import complaints
from pwa.app.kinds.job import ACTUATORS
from pwa.app.record import jobs
from pwa.app.record.chain import draft
from pwa.app.visit import Reply, Visit, page, save

if TYPE_CHECKING:
    from pwa.app.visit import Route


def show(visit: Visit) -> Reply:
    opened = visit.job["opened"]
    return _form(visit, complaints.of(opened, visit.content), opened["drive"], "", 200)


def say(visit: Visit) -> Reply:
    drive, said = visit.field("drive"), complaints.chosen(visit.content, visit.fields("complaints"))
    if drive not in [item["key"] for item in ACTUATORS]:
        return _form(visit, said, drive, "Choose what drives the vane actuator, or “Not known yet”.", 422)
    if not said:
        return _form(visit, said, drive, "Tap at least one complaint.", 422)
    earlier = jobs.of_kind(visit.job["heads"], "job-opened")
    data = visit.job["opened"].copy()
    data["drive"], data["complaints"] = drive, said
    return save([draft(visit.job["id"], "job-opened", data, jobs.ids(earlier))], visit.at())


def _form(visit: Visit, said: "list[str]", drive: str, error: str, status: int) -> Reply:
    taps = complaints.taps(visit.content, said)
    context = {"taps": taps, "drives": ACTUATORS, "drive": drive, "error": error}
    return page("job/about.html", context, status)


ROUTES: "list[Route]" = [("GET", "/job/{job}/about", show), ("POST", "/job/{job}/about", say)]
