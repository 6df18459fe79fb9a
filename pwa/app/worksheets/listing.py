"""Which measures are offered where: in the job at the step that needs them, and alone by kind."""

from typing import TYPE_CHECKING, TypedDict

from pwa.app.record import jobs
from pwa.engine.evidence.case import of_type

if TYPE_CHECKING:
    from pwa.app.protocol import Record
    from pwa.app.shapes import Measure
    from pwa.app.visit import Visit

# The kinds in the order in which a job meets them.
KINDS = [
    ("electrical", "Electrical"),
    ("network", "Data bus"),
    ("sweep", "Actuator sweep"),
    ("air", "Air and boost"),
    ("clearances", "Shaft play"),
    ("fasteners", "Fasteners"),
    ("heat", "Heat"),
    ("proof", "Proof"),
]
# Steps whose own screen offers its measures; those of every other step stand on the list of measurements.
OWN_SCREEN = ("safe", "fasteners", "prove")
# A worksheet that draws and judges nothing, so it is a page of its own: the kind it stands under.
DRAWN: "dict[str, Entry]" = {"fasteners": {"key": "order", "title": "Order of tightening, drawn"}}


class Entry(TypedDict):
    key: str
    title: str


class Row(Entry):
    """A measure of the job, with how far it is."""

    state: str
    mark: str


class Group(TypedDict):
    """The measures of one kind."""

    key: str
    title: str
    rows: "list[Row]"
    done: int


class Alone(TypedDict):
    """The worksheets of one kind."""

    key: str
    title: str
    rows: "list[Entry]"


def at_step(visit: "Visit", step: str) -> "list[Row]":
    """Rows for the measures that one step offers, with how far each is."""
    done = _readings(visit)
    return [_row(measure, done) for measure in _of_drive(visit) if measure["step"] == step]


def on_list(visit: "Visit") -> "list[Group]":
    """Groups by kind for the list of measurements, each with its rows."""
    listed = [measure for measure in _of_drive(visit) if measure["step"] not in OWN_SCREEN]
    readings = _readings(visit)
    groups: list[Group] = []
    for key, title in KINDS:
        rows = [_row(measure, readings) for measure in listed if measure["kind"] == key]
        done = len([row for row in rows if row["mark"]])
        if rows:
            groups.append({"key": key, "title": title, "rows": rows, "done": done})
    return groups


def alone(measures: "list[Measure]") -> "list[Alone]":
    """All measures by kind, for the handbook's worksheets."""
    groups: list[Alone] = []
    for key, title in KINDS:
        found: list[Entry] = [
            {"key": item["key"], "title": item["title"]} for item in measures if item["kind"] == key
        ]
        if found and key in DRAWN:
            found.append(DRAWN[key])
        if found:
            groups.append({"key": key, "title": title, "rows": found})
    return groups


def _of_drive(visit: "Visit") -> "list[Measure]":
    drive = visit.job["opened"]["drive"]
    return [item for item in visit.content["measures"] if of_type(item["drives"], drive)]


def _readings(visit: "Visit") -> "dict[str, Record]":
    """The latest settled reading of each measure."""
    return {record["data"]["measure"]: record for record in jobs.of_kind(visit.job["settled"], "reading")}


def _row(measure: "Measure", readings: "dict[str, Record]") -> Row:
    record = readings.get(measure["key"])
    state = "Not yet"
    if record:
        verdict = record["data"]["verdict"]
        state = verdict["sentence"] if verdict else "Kept as typed, without a verdict"
    return {
        "key": measure["key"],
        "title": measure["title"],
        "state": state,
        "mark": "done" if record else "",
    }
