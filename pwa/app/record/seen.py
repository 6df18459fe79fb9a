"""What a page showed, carried by each of its forms: a record may replace only what its writer saw.

A clock alone does not say it: a phone's older record may arrive after the page was made. So a form carries,
of the job that it writes to, each device's highest number among the records its page was made from, and how
many of them there were. A form is then answered from those records alone, as a phone without signal would
have done at the moment of the page; what came meanwhile meets it as any two copies meet.

A device is told by the last letters of its id, which are random; the first ones are a time. Two devices that
end alike, or a record that came late from below the highest number, make the count wrong: then none of them
counts as seen, which replaces too little and never too much.
"""

from typing import TYPE_CHECKING, TypedDict

if TYPE_CHECKING:
    from pwa.app.protocol import Draft, Record

    Marks = dict[str, tuple[int, int]]  # by the end of a device's id: its highest number, and how many

FIELD = "layby-seen"  # of a form; frame/forms.html writes it
TAIL = 8


class Seen(TypedDict):
    """`records` are those to answer from, the job's first one always among them."""

    text: str  # what the forms of the answer say in their turn
    records: "list[Record]"
    surely: "list[Record]"  # those of them that the page was certainly made from


def of(field: str, job: str, records: "list[Record]") -> Seen:
    """What the page had seen of a job with these records, by its form's field.

    With "", of a new page, or with a field of another job or of an older version: all of them.
    """
    marks = _read(field, job)
    if marks is None:
        return {"text": as_text(job, records), "records": records, "surely": records}
    below = [record for record in records if record["seq"] <= _mark(marks, record)[0]]
    count: dict[str, int] = {}
    for record in below:
        count[_tail(record["device"])] = count.get(_tail(record["device"]), 0) + 1
    surely = [record for record in below if count[_tail(record["device"])] <= _mark(marks, record)[1]]
    may = {record["id"] for record in below}
    given = [record for record in records if record["id"] in may or record["kind"] == "job-opened"]
    return {"text": field, "records": given, "surely": surely}


def with_own(field: str, job: str, records: "list[Record]", device: str) -> str:
    """What a page has seen that stays while its form is sent: as before, and what this device wrote since."""
    marks = _read(field, job)
    if marks is None:
        return as_text(job, records)
    own = _marks([record for record in records if record["device"] == device])
    marks.update(own)
    return _as_text(job, marks)


def in_address(field: str) -> str:
    """The same in the letters that an address of the notebook may have; no id has an underscore."""
    return field.replace(",", "__").replace(":", "_")


def of_address(text: str) -> str:
    return text.replace("__", ",").replace("_", ":")


def as_text(job: str, records: "list[Record]") -> str:
    """What a form says of a page that was made from these records of a job."""
    return _as_text(job, _marks(records))


def _marks(records: "list[Record]") -> "Marks":
    marks: Marks = {}
    for record in records:
        highest, count = _mark(marks, record)
        marks[_tail(record["device"])] = (max(highest, record["seq"]), count + 1)
    return marks


def _as_text(job: str, marks: "Marks") -> str:
    parts = [f"{device}:{marks[device][0]}:{marks[device][1]}" for device in sorted(marks)]
    return ",".join([_tail(job)] + parts)


def allowed(drafts: "list[Draft]", surely: "list[Record]") -> "list[Draft]":
    """The drafts, each replacing none but these records, and those only within its own job."""
    jobs = {record["id"]: record["job"] for record in surely}
    return [
        {
            "job": item["job"],
            "kind": item["kind"],
            "data": item["data"],
            "replaces": [old for old in item["replaces"] if jobs.get(old) == item["job"]],
        }
        for item in drafts
    ]


def _read(field: str, job: str) -> "Marks | None":
    about, *parts = field.split(",")
    if about != _tail(job):
        return None
    marks: Marks = {}
    for part in parts:
        device, *numbers = part.rsplit(":", 2)
        if len(numbers) == 2 and all(number.isdigit() for number in numbers):
            marks[device] = (int(numbers[0]), int(numbers[1]))
    return marks


def _mark(marks: "Marks", record: "Record") -> "tuple[int, int]":
    return marks.get(_tail(record["device"]), (0, 0))


def _tail(id: str) -> str:
    return id[-TAIL:]
