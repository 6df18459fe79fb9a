"""A joint to show, on its own page and in the report: each side with its photos, readings and words."""

from typing import TYPE_CHECKING

from pwa.app import when
from pwa.app.joints import readings, taps, verdict
from pwa.app.kinds.joints import short
from pwa.app.record import jobs

if TYPE_CHECKING:
    from typing import Any

    from pwa.app.protocol import Record
    from pwa.app.shapes import Joint
    from pwa.app.visit import Visit


def side(visit: "Visit", joint: "Joint", moment: str) -> "dict[str, Any]":
    """One side: its photos with what is tapped on them, what they say together, every other reading."""
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


def summary(visit: "Visit", joint: "Joint") -> "dict[str, Any] | None":
    """A joint as the report shows it; None when nobody has photographed or written anything of it."""
    sides = [side(visit, joint, moment) for moment in readings.moments(joint)]
    allowed, limits = verdict.tolerance(visit.job, joint["key"]), verdict.limits(visit.job, joint["key"])
    if not allowed and not limits and not any(item["shots"] or item["written"] for item in sides):
        return None
    return {
        "key": joint["key"],
        "name": joint["name"],
        "marks": joint["marks"],
        "write": joint["write"],
        "sides": sides,
        "tolerance": allowed["data"] if allowed else None,
        "limits": limits["data"] if limits else None,
        "turned": verdict.result(visit.job, joint),
    }


def shown(item: "dict[str, Any]") -> bool:
    """Whether a side has a photo that a browser can show."""
    return bool(item["best"] and item["best"]["shown"])


def _shots(visit: "Visit", joint: "Joint", moment: str, marked: "list[Record]") -> "list[dict[str, Any]]":
    """Every marked photo, and the last one taken: it waits for its marks, or is the one there is."""
    photos = {record["data"]["sha256"]: record for record in readings.photos(visit.job, joint["key"], moment)}
    found: list[dict[str, Any]] = []
    for record in marked:
        photo = photos.get(record["data"]["photo"])
        if photo:
            reason = readings.left_out(visit.job, joint["key"], moment, record["data"]["photo"])
            number = 0 if reason else 1 + len([shot for shot in found if shot["number"]])
            found.append(_shot(photo, joint, record, number, reason))
    last = jobs.latest(visit.job["heads"], "photo", joint=joint["key"], moment=moment)
    if last and last["data"]["sha256"] not in [shot["photo"]["sha256"] for shot in found]:
        found.append(_shot(last, joint, None, 0, ""))
    return found


def _shot(
    photo: "Record", joint: "Joint", marks: "Record | None", number: int, reason: str
) -> "dict[str, Any]":
    data = photo["data"]
    reading = marks["data"]["reading"] if marks else None
    lacking = taps.lacking(joint, data)
    return {
        "photo": data,
        "number": number,  # as `agreement` counts them; 0 if it does not count
        "left_out": reason,
        "shown": bool(data.get("width")),
        "problems": ((data.get("checked") or {}).get("problems") or []) + ([lacking] if lacking else []),
        "tappable": bool(data.get("width")) and joint["marks"] != "photo" and not lacking,
        "drawing": taps.drawing(data, taps.of_record(marks), joint, reading),
        "marks": marks["data"] if marks else None,
        "reading": taps.words(reading) if reading else "",
        "advice": reading.get("advice", "") if reading else "",
    }


def _best(shots: "list[dict[str, Any]]") -> "dict[str, Any] | None":
    """The surest photo stands for its side where only one can."""
    return min(shots, key=lambda shot: shot["marks"]["reading"]["u"]) if shots else None


def _untapped(
    visit: "Visit", shots: "list[dict[str, Any]]", moment: str, joint: str
) -> "list[dict[str, str]]":
    """Photos taken earlier on which nothing was tapped: retaken, or still to do."""
    known = [shot["photo"]["sha256"] for shot in shots]
    return [
        {"sha256": record["data"]["sha256"], "time": when.local(record["time"], visit.request["zone"])}
        for record in readings.photos(visit.job, joint, moment)
        if record["data"]["sha256"] not in known and record["data"].get("width")
    ]


def _earlier(visit: "Visit", joint: str, moment: str, marked: "list[Record]") -> "list[str]":
    """Every other reading of this side, by whom and when: re-marking replaces a reading and deletes none."""
    current, lines = jobs.ids(marked), []
    for record in jobs.of_kind(visit.records, "marks", joint=joint, moment=moment):
        if jobs.counts(record) and record["id"] not in current:
            time = when.local(record["time"], visit.request["zone"])
            lines.append(f"{short(record['data']['reading'])} by {record['author']}, {time}")
    return lines
