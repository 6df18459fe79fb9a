"""The list of jobs, and starting one."""

from typing import TYPE_CHECKING, TypedDict

from pwa.app import closing, when
from pwa.app.evidence import complaints
from pwa.app.kinds.job import ACTUATORS
from pwa.app.kinds.situation import PLACES
from pwa.app.record import chain, jobs
from pwa.app.visit import Reply, Visit, page, save

if TYPE_CHECKING:
    from typing import Any

    from pwa.app.kinds.data import JobOpened
    from pwa.app.visit import Context, Route

OTHER = {"key": "other", "label": "Other or not known"}
MOST_HOURS = 1e6
FIELDS = ("unit", "complaint", "place", "drive", "engine", "distance", "hours")


class Row(TypedDict):
    """A job in the list."""

    id: str
    unit: str
    complaint: str
    started: str
    by: str
    state: str  # of `closing`
    drive: str


def show_list(visit: Visit) -> Reply:
    enrolled = visit.request["status"].get("enrolled", False)
    return page("job/jobs.html", {"jobs": listed(visit), "enrolled": enrolled})


def listed(visit: Visit) -> "list[Row]":
    """Every job that is here, the newest first."""
    heads = jobs.standing(visit.records)
    opened = jobs.of_kind(heads, "job-opened")
    closings: dict[str, list[Any]] = {}
    for end in jobs.of_kind(heads, "job-closed"):
        closings.setdefault(end["job"], []).append(end)
    newest_first = sorted(opened, key=lambda record: record["id"], reverse=True)
    rows: list[Row] = []
    for record in newest_first:
        if all(row["id"] != record["job"] for row in rows):
            rows.append(
                {
                    "id": record["job"],
                    "unit": record["data"]["unit"],
                    "complaint": record["data"]["complaint"],
                    "started": when.local(record["time"], visit.request["zone"]),
                    "by": visit.author(record),
                    "state": closing.state(closings.get(record["job"], [])),
                    "drive": record["data"]["drive"],
                }
            )
    return rows


def ask(visit: Visit) -> Reply:
    return _form(visit, dict.fromkeys(FIELDS, ""), "", 200)


def start(visit: Visit) -> Reply:
    typed = {name: visit.field(name) for name in FIELDS}
    error = _error(typed)
    if error:
        return _form(visit, typed, error, 422)
    data: JobOpened = {
        "unit": typed["unit"],
        "complaint": typed["complaint"],
        "place": typed["place"],
        "drive": typed["drive"],
        "engine": typed["engine"],
        "distance": typed["distance"],
        "hours": _hours(typed["hours"]),
    }
    said = complaints.chosen(visit.content, visit.fields("complaints"))
    if said:
        data["complaints"] = said
    job = chain.uuid7(visit.request["now"], visit.request["random"][-20:])
    return save([chain.draft(job, "job-opened", data)], "/job/" + job)


def _error(typed: "dict[str, str]") -> str:
    """What is wrong or missing, "" if nothing is."""
    if not typed["unit"]:
        return "Say which truck it is: anything that tells it from the others will do."
    if not typed["complaint"]:
        return "Write the complaint in a few words."
    if typed["drive"] not in [drive["key"] for drive in ACTUATORS]:
        return "Choose what drives the vane actuator; the checks depend on it."
    if typed["place"] not in [place["key"] for place in PLACES]:
        return "Choose where you are; the cautions depend on it."
    if typed["hours"] and _hours(typed["hours"]) is None:
        return f"Engine hours are a number, not “{typed['hours']}”. Leave the field empty if unknown."
    return ""


def _hours(text: str) -> "float | None":
    try:
        hours = float(text.replace(",", "."))
    except ValueError:
        return None
    return hours if 0 <= hours <= MOST_HOURS else None


def _form(visit: Visit, typed: "dict[str, str]", error: str, status: int) -> Reply:
    engines = [{"key": item["key"], "label": item["name"]} for item in visit.content["engines"]]
    if all(engine["key"] != OTHER["key"] for engine in engines):
        engines.append(OTHER)
    context: Context = {
        "typed": typed,
        "error": error,
        "places": PLACES,
        "drives": ACTUATORS,
        "engines": engines,
    }
    context["taps"] = complaints.taps(visit.content, visit.fields("complaints"))
    return page("job/new.html", context, status)


ROUTES: "list[Route]" = [
    ("GET", "/", show_list),
    ("GET", "/job/new", ask),
    ("POST", "/job/new", start),
]
