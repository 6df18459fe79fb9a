"""How far each joint has turned between its marks before opening and after closing."""

from typing import TYPE_CHECKING

from pwa.app import job as jobs
from pwa.engine import clocking

if TYPE_CHECKING:
    from typing import Any

    from pwa.app.job import Job
    from pwa.app.protocol import Content, Record
    from pwa.engine.clocking import Rotation

BEFORE, AFTER = "before", "after"


def marks(job: "Job", joint: str, moment: str) -> "Record | None":
    return jobs.latest(job["settled"], "marks", joint=joint, moment=moment)


def tolerance(job: "Job", joint: str) -> "Record | None":
    return jobs.latest(job["settled"], "tolerance", joint=joint)


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
