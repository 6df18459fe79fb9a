"""Without a server: a job as a case code or a file, a code read, and files taken in."""

from typing import TYPE_CHECKING

from pwa.app.carry import case_code, complaint, text_message
from pwa.app.evidence import complaints
from pwa.app.kinds.job import actuator
from pwa.app.record import chain, jobs
from pwa.app.record.chain import draft
from pwa.app.screens.job.jobs import listed
from pwa.app.visit import Reply, Visit, page, save
from pwa.engine.case_code import checked_text, codec
from pwa.engine.evidence.case import NOT_KNOWN

if TYPE_CHECKING:
    from pwa.app.visit import Route
    from pwa.engine.case_code.codec import Case

UNIT_LENGTH = 40  # of the truck's name in a message
NO_TRUCK = "Say which truck it is: anything that tells it from the others will do."


def show(visit: Visit) -> Reply:
    """The job's own page: the code in every form, and the file."""
    try:
        code = case_code.of_job(visit.job, visit.content)
    except ValueError as error:
        return page(
            "phone/send.html", {"code": "", "groups": [], "link": "", "count": 0, "error": str(error)}
        )
    groups = checked_text.groups(code)
    unit = text_message.plain(str(visit.job["opened"]["unit"]))[:UNIT_LENGTH]
    context = {
        "code": code,
        "groups": [{"text": group, "spoken": text_message.spoken(group)} for group in groups],
        "link": text_message.link(f"{unit}, case code: {' '.join(groups)}"),
        "count": len(codec.decode(code, visit.content["case_code"])["findings"]),
        "error": "",
    }
    return page("phone/send.html", context)


def ask(visit: Visit) -> Reply:
    return page("phone/case_read.html", {"typed": visit.asked("code"), "error": ""})


def read(visit: Visit) -> Reply:
    """What a code says, before anything is kept."""
    try:
        case = _case(visit)
    except ValueError as error:
        return _not_read(visit, error)
    return _told(visit, case, "")


def start(visit: Visit) -> Reply:
    """The code as a new job."""
    try:
        case = _case(visit)
    except ValueError as error:
        return _not_read(visit, error)
    if not visit.field("unit"):
        return _told(visit, case, NO_TRUCK, 422)
    new = chain.uuid7(visit.request["now"], visit.request["random"][-20:])
    data = case_code.opened(visit.field("unit"), visit.field("complaint"), case, visit.content)
    drafts = [draft(new, "job-opened", data)] + case_code.added(jobs.fold(new, []), case, visit.content)
    return save(drafts, f"/job/{new}")


def add(visit: Visit) -> Reply:
    """The code onto a job that is here."""
    try:
        case = _case(visit)
    except ValueError as error:
        return _not_read(visit, error)
    drive = visit.job["opened"]["drive"]
    if not _fits(drive, case):
        what = f"This job is of a truck with a {drive} actuator, the code of one with a {case['drive']} one."
        return page("frame/missing.html", {"what": what}, status=422)
    return save(case_code.added(visit.job, case, visit.content), visit.at())


def _fits(drive: str, case: "Case") -> bool:
    return drive == case["drive"] or NOT_KNOWN in (drive, case["drive"])


def files(visit: Visit) -> Reply:
    return page("phone/files.html", {})


def _case(visit: Visit) -> "Case":
    return codec.decode(visit.field("code"), visit.content["case_code"])


def _not_read(visit: Visit, error: ValueError) -> Reply:
    return page("phone/case_read.html", {"typed": visit.field("code"), "error": str(error)}, status=422)


def _told(visit: Visit, case: "Case", error: str, status: int = 200) -> Reply:
    about = complaints.as_text(complaint.read(case, visit.content)[0], visit.content)
    context = {
        "code": case["code"],
        "groups": " ".join(checked_text.groups(case["code"])),
        "mended": case_code.mended(case),
        "facts": f"{about} · {actuator(case['drive'])} · {case['place']}",
        "findings": case_code.as_text(case, visit.content),
        "newer": case["newer"],
        "jobs": [row for row in listed(visit) if row["state"] == "open" and _fits(row["drive"], case)],
        "unit": visit.field("unit"),
        "complaint": visit.field("complaint"),
        "error": error,
    }
    return page("phone/case_text.html", context, status)


ROUTES: "list[Route]" = [
    ("GET", "/job/{job}/send", show),
    ("GET", "/case", ask),
    ("POST", "/case", read),
    ("POST", "/case/new", start),
    ("POST", "/job/{job}/case", add),
    ("GET", "/files", files),
]
