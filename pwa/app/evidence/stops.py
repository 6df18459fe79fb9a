"""The stop rules that stand for a job, and what lifts one: somebody says how it was put right.

Every answer raises them, also one that two people dispute. A rule is lifted against the answers that its
writer saw; the same answer given anew raises it again.
"""

from typing import TYPE_CHECKING

from pwa.app.content import find, name_of
from pwa.app.evidence.situation import here
from pwa.app.kinds.names import outcome_label
from pwa.app.record import jobs
from pwa.app.record.chain import draft
from pwa.engine.evidence import stops, truck

if TYPE_CHECKING:
    from typing import Any

    from pwa.app.kinds.data import StopLifted
    from pwa.app.protocol import Draft, RecordOf
    from pwa.app.record.jobs import Job
    from pwa.app.shapes import Content
    from pwa.engine.evidence.stops import Stop


def standing(job: "Job", content: "Content") -> "list[Stop]":
    """The rules that stand, the gravest first."""
    said: dict[str, list[str]] = {}
    for record in jobs.of_kind(job["heads"], "finding"):
        said.setdefault(record["data"]["finding"], []).append(record["data"]["outcome"])
    opened = truck.opened_with(here(job)["opened"], content["model"]["openings"])
    lifted = [rule["key"] for rule in content["model"]["stops"] if _lifted(job, rule)]
    return stops.standing(content["model"]["stops"], said, opened, lifted)


def because(stop: "Stop", job: "Job", content: "Content") -> "list[str]":
    """What raised a rule, in words."""
    words = []
    for record in jobs.of_kind(job["heads"], "finding"):
        data = record["data"]
        if data["finding"] in stop["findings"]:
            label = outcome_label(content, data["finding"], data["outcome"])
            words.append(f"{name_of(content['findings'], data['finding'])}: {label}")
    return words + [name_of(content["openings"], key) for key in stop["openings"]]


def lift(job: "Job", content: "Content", stop: str, how: str) -> "list[Draft]":
    """The draft that lifts a rule against what raises it now."""
    rule: Any = find(content["model"]["stops"], stop)
    data: StopLifted = {"stop": stop, "how": how, "seen": jobs.ids(_raising(job, rule))}
    return [draft(job["id"], "stop-lifted", data, jobs.ids(_said(job, stop)))]


def _lifted(job: "Job", rule: "Any") -> bool:
    seen = [id for record in _said(job, rule["key"]) for id in record["data"]["seen"]]
    return all(record["id"] in seen for record in _raising(job, rule))


def _said(job: "Job", stop: str) -> "list[RecordOf[StopLifted]]":
    return jobs.of_kind(job["heads"], "stop-lifted", stop=stop)


def _raising(job: "Job", rule: "Any") -> "list[Any]":
    return [
        record
        for record in jobs.of_kind(job["heads"], "finding")
        if record["data"]["outcome"] in rule["raised_by"].get(record["data"]["finding"], [])
    ]
