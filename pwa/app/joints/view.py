"""A joint to show, on its own page and in the report: each side with its photos, readings and words."""

from typing import TYPE_CHECKING, TypedDict

from pwa.app import when
from pwa.app.joints import readings, taps, verdict
from pwa.app.kinds.joints import short
from pwa.app.record import jobs

if TYPE_CHECKING:
    from pwa.app.joints.taps import Drawing
    from pwa.app.joints.verdict import Result
    from pwa.app.kinds.data import Marks, Photo, Tolerance, TravelLimits
    from pwa.app.protocol import RecordOf
    from pwa.app.shapes import Joint
    from pwa.app.visit import Visit
    from pwa.engine.clocking.witness import Reading


class Shot(TypedDict):
    """A photo with what is tapped on it."""

    photo: "Photo"
    number: int  # as `agreement` counts the photos of a side; 0 if it does not count
    left_out: str  # why it does not count
    shown: bool
    problems: "list[str]"
    tappable: bool
    drawing: "Drawing"
    marks: "Marks | None"
    reading: str
    advice: str


class Untapped(TypedDict):
    sha256: str
    time: str


class Side(TypedDict):
    """One side of a joint."""

    moment: str
    name: str
    shots: "list[Shot]"
    best: "Shot | None"  # stands for its side where only one can
    counting: int
    together: "Reading | None"  # of several photos
    latest: bool  # of several photos the last one counts
    untapped: "list[Untapped]"
    earlier: "list[str]"  # every other reading, by whom and when
    written: str


class View(TypedDict):
    """Both sides of a joint, what the shop allows, and what comes of it."""

    key: str
    name: str
    marks: str
    write: str
    sides: "list[Side]"
    tolerance: "Tolerance | None"
    limits: "TravelLimits | None"
    turned: "Result | None"


def of(visit: "Visit", joint: "Joint") -> View:
    allowed, limits = verdict.tolerance(visit.job, joint["key"]), verdict.limits(visit.job, joint["key"])
    return {
        "key": joint["key"],
        "name": joint["name"],
        "marks": joint["marks"],
        "write": joint["write"],
        "sides": [side(visit, joint, moment) for moment in readings.moments(joint)],
        "tolerance": allowed["data"] if allowed else None,
        "limits": limits["data"] if limits else None,
        "turned": verdict.result(visit.job, joint),
    }


def is_empty(view: View) -> bool:
    """Whether nobody has photographed, set or written anything of it: then the report leaves it out."""
    said = view["tolerance"] or view["limits"] or [item for item in view["sides"] if item["written"]]
    return not said and not any(item["shots"] for item in view["sides"])


def is_shown(item: Side) -> bool:
    """Whether a side has a photo that a browser can show."""
    return bool(item["best"] and item["best"]["shown"])


def side(visit: "Visit", joint: "Joint", moment: str) -> Side:
    job, key = visit.job, joint["key"]
    written = jobs.latest(job["settled"], "written", joint=key, moment=moment)
    marked = readings.marked(job, key, moment)
    shots = _shots(visit, joint, moment, marked)
    counting = [shot for shot in shots if shot["number"]]
    said = readings.together(job, key, moment) if len(counting) > 1 and joint["marks"] != "drain" else None
    return {
        "moment": moment,
        "name": readings.name(moment),
        "shots": shots,
        "best": _best(counting) or (shots[-1] if shots else None),
        "counting": len(counting),
        "together": said,
        "latest": len(counting) > 1 and joint["marks"] == "drain",
        "untapped": _untapped(visit, shots, moment, key) if joint["marks"] != "photo" else [],
        "earlier": _earlier(visit, key, moment, marked),
        "written": written["data"]["text"] if written else "",
    }


def _shots(visit: "Visit", joint: "Joint", moment: str, marked: "list[RecordOf[Marks]]") -> "list[Shot]":
    """Every marked photo, and the last one taken: it waits for its marks, or is the one there is."""
    photos = {record["data"]["sha256"]: record for record in readings.photos(visit.job, joint["key"], moment)}
    found: list[Shot] = []
    for record in marked:
        photo = photos.get(record["data"]["photo"])
        if photo:
            reason = readings.left_out(visit.job, joint["key"], moment, record["data"]["photo"])
            number = 0 if reason else 1 + len([shot for shot in found if shot["number"]])
            found.append(_shot(photo["data"], joint, record["data"], number, reason))
    last = jobs.latest(visit.job["heads"], "photo", joint=joint["key"], moment=moment)
    if last and last["data"]["sha256"] not in [shot["photo"]["sha256"] for shot in found]:
        found.append(_shot(last["data"], joint, None, 0, ""))
    return found


def _shot(photo: "Photo", joint: "Joint", marks: "Marks | None", number: int, reason: str) -> Shot:
    reading = marks["reading"] if marks else None
    lacking, checked = taps.lacking(joint, photo), photo.get("checked")
    return {
        "photo": photo,
        "number": number,
        "left_out": reason,
        "shown": bool(photo.get("width")),
        "problems": (checked["problems"] if checked else []) + ([lacking] if lacking else []),
        "tappable": bool(photo.get("width")) and joint["marks"] != "photo" and not lacking,
        "drawing": taps.drawing(photo, taps.of_marks(marks), joint, reading),
        "marks": marks,
        "reading": taps.words(reading) if reading else "",
        "advice": reading.get("advice", "") if reading else "",
    }


def _best(shots: "list[Shot]") -> "Shot | None":
    """The surest photo."""
    surest: Shot | None = None
    least = 0.0
    for shot in shots:
        u = shot["marks"]["reading"]["u"] if shot["marks"] else 0.0
        if surest is None or u < least:
            surest, least = shot, u
    return surest


def _untapped(visit: "Visit", shots: "list[Shot]", moment: str, joint: str) -> "list[Untapped]":
    """Photos taken earlier on which nothing was tapped: retaken, or still to do."""
    known = [shot["photo"]["sha256"] for shot in shots]
    return [
        {"sha256": record["data"]["sha256"], "time": when.local(record["time"], visit.request["zone"])}
        for record in readings.photos(visit.job, joint, moment)
        if record["data"]["sha256"] not in known and record["data"].get("width")
    ]


def _earlier(visit: "Visit", joint: str, moment: str, marked: "list[RecordOf[Marks]]") -> "list[str]":
    """Every other reading of this side, by whom and when: re-marking replaces a reading and deletes none."""
    current, lines = jobs.ids(marked), []
    for record in jobs.of_kind(visit.records, "marks", joint=joint, moment=moment):
        if jobs.counts(record) and record["id"] not in current:
            time = when.local(record["time"], visit.request["zone"])
            lines.append(f"{short(record['data']['reading'])} by {visit.author(record)}, {time}")
    return lines
