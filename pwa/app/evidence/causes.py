"""The causes that a job has to decide on, what was decided, and whether the fault was confirmed.

The turbo is usually the victim, so what is upstream is always asked for; naming one such cause answers for
those that are unlikely. What the evidence holds to be there more likely than not is decided in any case.
"""

from typing import TYPE_CHECKING

from pwa.app.content import name_of
from pwa.app.evidence import isolation
from pwa.app.kinds.evidence import LEFT_OPEN, NAMED, NOT_FOUND
from pwa.app.record import jobs
from pwa.engine.evidence.case import of_type

if TYPE_CHECKING:
    from pwa.app.kinds.data import Cause as Decided
    from pwa.app.record.jobs import Job
    from pwa.app.shapes import Cause, Content

HALF = 0.5  # a cause more probable than this is decided, whatever else is named


def of_job(job: "Job", content: "Content") -> "list[Cause]":
    """The causes that a truck with this type of actuator can have."""
    drive = job["opened"]["drive"]
    return [
        cause
        for cause in content["causes"]
        if cause["system"] != "effect" and of_type(cause["drives"], drive)
    ]


def upstream(job: "Job", content: "Content") -> "list[Cause]":
    return [cause for cause in of_job(job, content) if cause["upstream"]]


def chances(job: "Job", content: "Content") -> "dict[str, float]":
    """How probable the answers make each cause; {} where they cannot all be true, or no cause is known."""
    if not content["causes"]:
        return {}
    try:
        return {item["cause"]: item["p"] for item in isolation.suspects(job, content)}
    except ValueError:
        return {}


def decisions(job: "Job") -> "dict[str, Decided]":
    """Cause -> what was decided on it, where people agree."""
    return {record["data"]["cause"]: record["data"] for record in jobs.of_kind(job["settled"], "cause")}


def undecided(job: "Job", content: "Content") -> "list[Cause]":
    """The causes over half, and those upstream unless one of them is named, that nobody has decided."""
    decided, likely = decisions(job), chances(job, content)
    asked = [cause["key"] for cause in upstream(job, content)]
    if any(key in decided and decided[key]["decision"] == NAMED for key in asked):
        asked = []
    return [
        cause
        for cause in of_job(job, content)
        if cause["key"] not in decided and (likely.get(cause["key"], 0.0) > HALF or cause["key"] in asked)
    ]


def named(job: "Job", content: "Content") -> "list[Cause]":
    """The causes that were confirmed, of those that this version knows."""
    decided = decisions(job)
    return [
        cause
        for cause in content["causes"]
        if cause["key"] in decided and decided[cause["key"]]["decision"] == NAMED
    ]


def not_found(job: "Job") -> bool:
    """Whether somebody said, with a reason, that no fault was found."""
    said = decisions(job).get(NOT_FOUND)
    return said is not None and said["decision"] == LEFT_OPEN


def missing(job: "Job", content: "Content", undecided: "list[Cause]") -> "list[str]":
    """What the cause still lacks for closing the job as done, each a sentence that says what to do."""
    found = []
    left = [cause["name"] for cause in undecided]
    if left:
        first = ", ".join(left[:2]) + (f" and {len(left) - 2} more" if len(left) > 2 else "")
        found.append(f"Cause: name, exclude or leave open with a reason: {first}.")
    confirmed = named(job, content)
    # A newer version may know causes that this one does not: its word that one is there counts too.
    known = [data for data in decisions(job).values() if data["decision"] == NAMED]
    if not known and not not_found(job):
        found.append("Cause: name the fault that was confirmed, or say that none was found.")
    done = [record["data"]["repair"] for record in jobs.of_kind(job["settled"], "repair")]
    for cause in confirmed:
        if not any(repair in done for repair in cause["put_right"]):
            names = [f"“{name_of(content['repairs'], key)}”" for key in sorted(cause["put_right"])]
            found.append(f"Repair: record what cures “{cause['name']}”: {' or '.join(names)}.")
    if not known and not done and not not_found(job):
        found.append("Repair: say what was done.")
    return found
