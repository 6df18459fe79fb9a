"""What the marks of a joint say: how far it turned, how far a lever went, where a drain points."""

from typing import TYPE_CHECKING, TypedDict

from pwa.app.joints import readings
from pwa.app.joints.readings import AFTER, BEFORE
from pwa.app.kinds.joints import short
from pwa.app.record import jobs
from pwa.engine.clocking import drain, lever, turning

if TYPE_CHECKING:
    from pwa.app.kinds.data import DrainReading, Tolerance, TravelLimits
    from pwa.app.protocol import RecordOf
    from pwa.app.record.jobs import Job
    from pwa.app.shapes import Content, Joint

MARKS_OF_VERDICT = {"within": "good", "out": "bad", "cannot tell": "unsure", "": "plain"}


class Result(TypedDict):
    """`verdict` is "within", "out", "cannot tell", or "" while the shop has set nothing to judge by."""

    sentence: str
    verdict: str
    mark: str  # the picture beside the words


def tolerance(job: "Job", joint: str) -> "RecordOf[Tolerance] | None":
    return jobs.latest(job["settled"], "tolerance", joint=joint)


def limits(job: "Job", joint: str) -> "RecordOf[TravelLimits] | None":
    """Least and most travel of a lever, and its length."""
    return jobs.latest(job["settled"], "travel-limits", joint=joint)


def result(job: "Job", joint: "Joint") -> "Result | None":
    """What both sides of a joint say, as soon as there is enough of it."""
    measure = {"angle": _turn, "travel": _travel, "drain": _drain}.get(joint["marks"])
    return measure(job, joint) if measure else None


def missing(job: "Job", content: "Content") -> "list[str]":
    """Joints that were marked and are not shown to be right."""
    found = []
    for joint in content["joints"]:
        name, first = joint["name"], readings.moments(joint)[0]
        if not readings.marks(job, joint["key"], first):
            continue
        said = result(job, joint)
        if said is None and joint["marks"] == "angle":
            found.append(f"Clocking: {name} was marked before and is not compared yet.")
        elif said is None:
            found.append(f"Marks: {name} is marked on one side only.")
        elif said["verdict"] not in ("", "within"):
            title = "Clocking" if joint["marks"] == "angle" else "Marks"
            found.append(f"{title}: {name}. {said['sentence']}")
    return found


def _turn(job: "Job", joint: "Joint") -> "Result | None":
    """The rotation of a joint, once both readings and a tolerance are there."""
    before, after = (readings.together(job, joint["key"], moment) for moment in (BEFORE, AFTER))
    allowed = tolerance(job, joint["key"])
    if not (before and after and allowed):
        return None
    same, note = _same_view(job, joint)
    data = allowed["data"]
    found = turning.rotation(
        before,
        after,
        data["degrees"],
        joint["fixing"],
        data.get("bolts") or 0,
        same,
        data.get("diameter") or 0.0,
    )
    return _result(found["sentence"] + note, found["verdict"])


def _travel(job: "Job", joint: "Joint") -> "Result | None":
    first, second = (readings.together(job, joint["key"], moment) for moment in readings.STOPS)
    if not (first and second):
        return None
    same, note = _same_view(job, joint)
    allowed = limits(job, joint["key"])
    least, most = (allowed["data"]["least"], allowed["data"]["most"]) if allowed else (0.0, 0.0)
    length = allowed["data"].get("length", 0.0) if allowed else 0.0
    found = lever.travel(first, second, least, most, length, same)
    return _result(found["sentence"] + note, found["verdict"])


def _drain(job: "Job", joint: "Joint") -> "Result | None":
    """Where the drain points now; where it pointed before stands beside it."""
    before, after = (_pointing(job, joint, moment) for moment in (BEFORE, AFTER))
    latest = after or before
    if latest is None:
        return None
    allowed = tolerance(job, joint["key"])
    found = drain.judged(latest, allowed["data"]["degrees"] if allowed else 0.0)
    said = f"{'After closing' if after else 'Before opening'}: {found['sentence']}"
    if after and before:
        said += f" Before opening: {short(before)}."
    return _result(said, found["verdict"])


def _pointing(job: "Job", joint: "Joint", moment: str) -> "DrainReading | None":
    """Of the last photo that counts."""
    found: DrainReading | None = None
    for record in readings.marks(job, joint["key"], moment):
        reading = record["data"]["reading"]
        if "off" in reading:
            found = reading
    return found


def _same_view(job: "Job", joint: "Joint") -> "tuple[bool, str]":
    """Whether both photos are from one place, which only one photo a side can be; and what to say of it."""
    first, second = (readings.marks(job, joint["key"], moment) for moment in readings.moments(joint))
    if not any(record["data"].get("same_view") for record in second):
        return False, ""
    if len(first) == len(second) == 1:
        return True, ""
    return False, " With several photos of a side nothing cancels, though some are from the same place."


def _result(sentence: str, verdict: str) -> Result:
    return {"sentence": sentence, "verdict": verdict, "mark": MARKS_OF_VERDICT[verdict]}
