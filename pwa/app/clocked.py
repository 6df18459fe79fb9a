"""How far each joint has turned between its marks before opening and after closing, and what shows it."""

from typing import TYPE_CHECKING

from pwa.app import job as jobs
from pwa.app import taps, when
from pwa.engine import clocking

if TYPE_CHECKING:
    from typing import Any

    from pwa.app.job import Job
    from pwa.app.protocol import Content, Record
    from pwa.app.visit import Visit
    from pwa.engine.clocking import Rotation

BEFORE, AFTER = "before", "after"
MOMENTS = (BEFORE, AFTER)
MARKS_OF_VERDICT = {"within": "good", "out": "bad", "cannot tell": "unsure"}


def marks(job: "Job", joint: str, moment: str) -> "Record | None":
    return jobs.latest(job["settled"], "marks", joint=joint, moment=moment)


def tolerance(job: "Job", joint: str) -> "Record | None":
    return jobs.latest(job["settled"], "tolerance", joint=joint)


def photo(job: "Job", joint: str, moment: str) -> "Record | None":
    """The photo that counts: the one that is marked, else the last one."""
    marked = marks(job, joint, moment)
    found = jobs.latest(job["heads"], "photo", sha256=marked["data"]["photo"]) if marked else None
    return found or jobs.latest(job["heads"], "photo", joint=joint, moment=moment)


def rotation(job: "Job", joint: "dict[str, Any]") -> "Rotation | None":
    """The rotation of a joint, once both readings and a tolerance are there."""
    before, after = marks(job, joint["key"], BEFORE), marks(job, joint["key"], AFTER)
    allowed = tolerance(job, joint["key"])
    if not (before and after and allowed):
        return None
    return clocking.rotation(
        before["data"]["reading"],
        after["data"]["reading"],
        allowed["data"]["degrees"],
        joint["fixing"],
        allowed["data"].get("bolts") or 0,
        bool(after["data"].get("same_view")),
        allowed["data"].get("diameter") or 0.0,
    )


def missing(job: "Job", content: "Content") -> "list[str]":
    """Joints that were marked and are not shown to be back in place."""
    found = []
    for joint in content["joints"]:
        if marks(job, joint["key"], BEFORE):
            turned = rotation(job, joint)
            if turned is None:
                found.append(f"Clocking: {joint['name']} was marked before and is not compared yet.")
            elif turned["verdict"] != "within":
                found.append(f"Clocking: {joint['name']}. {turned['sentence']}")
    return found


def side(visit: "Visit", joint: "dict[str, Any]", moment: str) -> "dict[str, Any]":
    """One side of a joint to show: its photo with what is tapped on it, every reading, what was written."""
    job, key = visit.job, joint["key"]
    marked, shot = marks(job, key, moment), photo(job, key, moment)
    written = jobs.latest(job["settled"], "written", joint=key, moment=moment)
    checked = (shot["data"].get("checked") if shot else None) or {}
    return {
        "moment": moment,
        "photo": shot["data"] if shot else None,
        "shown": bool(shot and shot["data"].get("width")),
        "problems": checked.get("problems") or [],
        "drawing": taps.drawing(shot["data"], taps.of_record(marked, shot)) if shot else None,
        "reading": taps.words(marked["data"]["reading"]) if marked else "",
        "advice": marked["data"]["reading"].get("advice", "") if marked else "",
        "earlier": _earlier(visit, key, moment, marked),
        "written": written["data"]["text"] if written else "",
    }


def summary(visit: "Visit", joint: "dict[str, Any]") -> "dict[str, Any] | None":
    """A joint as the report shows it; None when nobody has photographed or written anything of it."""
    sides = [side(visit, joint, moment) for moment in MOMENTS]
    allowed, turned = tolerance(visit.job, joint["key"]), rotation(visit.job, joint)
    if not allowed and not any(item["photo"] or item["written"] for item in sides):
        return None
    return {
        "key": joint["key"],
        "name": joint["name"],
        "write": joint["write"],
        "sides": sides,
        "tolerance": allowed["data"] if allowed else None,
        "turned": turned,
        "mark": MARKS_OF_VERDICT[turned["verdict"]] if turned else "",
    }


def _earlier(visit: "Visit", joint: str, moment: str, counts: "Record | None") -> "list[str]":
    """Every other reading of this side, by whom and when: re-marking replaces a reading and deletes none."""
    lines = []
    for record in jobs.of_kind(visit.records, "marks", joint=joint, moment=moment):
        if jobs.counts(record) and (counts is None or record["id"] != counts["id"]):
            found = record["data"]["reading"]
            said = f"{found['angle']:.1f}° ± {taps.NORMAL * found['u']:.1f}°"
            time = when.local(record["time"], visit.request["zone"])
            lines.append(f"{said} by {record['author']}, {time}")
    return lines
