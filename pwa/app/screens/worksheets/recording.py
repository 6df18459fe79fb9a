"""Recordings: the page that reads a file on this device, and what of it goes into the job.

The file is read by a worker of the page (phone/recording.js) and stays where it is; the job gets the reading
of the part that was judged, a summary of the file, and the trouble codes a person takes over.
"""

import json
from typing import TYPE_CHECKING

from pwa.app.gate import gate
from pwa.app.kinds import check
from pwa.app.record import jobs, seen
from pwa.app.screens.evidence import codes
from pwa.app.screens.worksheets import measure
from pwa.app.visit import Reply, Visit, page, save
from pwa.app.worksheets import view
from pwa.app.worksheets.view import RECORDED
from pwa.app.worksheets.worksheet import Worksheet

if TYPE_CHECKING:
    from pwa.app.kinds.data import Code, Reading
    from pwa.app.shapes import Measure
    from pwa.app.visit import Route

JUDGE_FIRST = "Judge a part of the recording first, then save it."
JUDGED = ("verdict", "limits", "limit_source", "log")  # what the page says of a part that was judged


def show(visit: Visit) -> Reply:
    return gate(visit, "measure") or _page(visit, "")


def show_alone(visit: Visit) -> Reply:
    return _page(visit, "")


def write(visit: Visit) -> Reply:
    data = _reading(visit.field("kept"))
    if data is None:
        return _page(visit, JUDGE_FIRST, 422)
    try:
        drafts = measure.drafts(visit, _measure(visit), data, {})
    except ValueError as error:
        return _page(visit, str(error), 422)
    return save(drafts, visit.at("measure", RECORDED))


def take_code(visit: Visit) -> Reply:
    """A trouble code of the recording comes into the job, once."""
    typed = visit.field("code")
    try:
        report = _report(typed, visit.field("file"))
    except (ValueError, IndexError):
        return _not_taken(visit, "This is no trouble code.")
    already = [record["data"] for record in jobs.of_kind(visit.job["heads"], "code")]
    same = [data for data in already if _same(data, report)]
    try:
        drafts = [] if same else codes.drafts(visit, [report])
    except ValueError as error:
        return _not_taken(visit, str(error))
    return save(drafts, visit.at("recording", "codes") + "?seen=" + seen.in_address(visit.had["text"]))


def _not_taken(visit: Visit, error: str) -> Reply:
    return page("recordings/taken.html", {"taken": [], "error": error, "known": visit.had["text"]}, 422)


def show_taken(visit: Visit) -> Reply:
    """The fragment below the recording's codes: which ones the job has."""
    taken = [codes.label(record["data"]) for record in jobs.of_kind(visit.job["heads"], "code")]
    known = seen.with_own(
        seen.of_address(visit.asked("seen")), visit.job["id"], visit.records, visit.request["device"]["id"]
    )
    return page("recordings/taken.html", {"taken": taken, "error": "", "known": known})


def _page(visit: Visit, error: str, status: int = 200) -> Reply:
    form = visit.request["form"] if visit.job["id"] else {}
    context = view.context(visit.content, Worksheet(_measure(visit), form), None, "")
    context["saved_error"] = error
    return page("recordings/recording.html", context, status)


def _measure(visit: Visit) -> "Measure":
    return next(item for item in visit.content["measures"] if item["key"] == RECORDED)


def _reading(text: str) -> "Reading | None":
    """The reading of a judged part; None for anything that was not made by this version's own page."""
    try:
        kept = json.loads(text)
    except ValueError:
        return None
    if not isinstance(kept, dict) or any(kept.get(name) is None for name in JUDGED):
        return None
    data: Reading = {
        "measure": RECORDED,
        "typed": {},
        "units": {},
        "values": {},
        "limits": kept["limits"],
        "limit_source": kept["limit_source"],
        "verdict": kept["verdict"],
        "refused": "",
        "log": kept["log"],
    }
    return data if check.understood("reading", data) else None


def _report(text: str, file: str) -> "Code":
    """A code as the recording's page sends it; see `pwa/app/recordings/view.py`.

    Raises:
        ValueError: it is none.
    """
    key, message, sender, count, candidates, lamps = text.split("|")
    spn, fmi = [int(part) for part in key.split("/")]
    return {
        "typed": f"{key}, from the recording {file}" if file else key,
        "message": message,
        "source": int(sender),
        "kind": "j1939",
        "key": key,
        "spn": spn,
        "fmi": fmi,
        "occurrences": int(count) if count else None,
        "lamps": [lamp for lamp in lamps.split(";") if lamp],
        "candidates": [int(part) for part in candidates.split()],
        "failure": None,
    }


def _same(data: "Code", report: "Code") -> bool:
    return all(data.get(name) == report.get(name) for name in ("key", "message", "source"))


ROUTES: "list[Route]" = [
    ("GET", "/job/{job}/recording", show),
    ("POST", "/job/{job}/recording", write),
    ("GET", "/job/{job}/recording/codes", show_taken),
    ("POST", "/job/{job}/recording/codes", take_code),
    ("GET", "/worksheets/recording", show_alone),
]
