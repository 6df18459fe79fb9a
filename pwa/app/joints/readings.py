"""Which photos of a joint's side count, and what their readings say together.

A photo counts once its marks are tapped, until somebody says that it does not. Marks tapped again on the same
photo replace those before; marks on another photo stand beside them. In older jobs those replaced the side's
earlier marks as well: their records say so themselves, and count as they did.
"""

from typing import TYPE_CHECKING

from pwa.app.record import jobs
from pwa.engine.clocking import agreement

if TYPE_CHECKING:
    from typing import Any

    from pwa.app.kinds.data import AngleReading, DrainReading, Marks, Photo
    from pwa.app.protocol import RecordOf
    from pwa.app.record.jobs import Job
    from pwa.app.shapes import Joint
    from pwa.engine.clocking.witness import Reading

BEFORE, AFTER = "before", "after"
STOPS = ("open-stop", "closed-stop")
NAMES = {BEFORE: "Before opening", AFTER: "After closing",
         "open-stop": "Against the open stop", "closed-stop": "Against the closed stop"}  # fmt: skip
# What a reading of an older version may lack, as its absence was understood then.
OLDER = {"limit": 0.0, "perspective": "removed", "shift": 0.0, "nearness": 0.0, "advice": ""}


def moments(joint: "Joint") -> "tuple[str, str]":
    """Both sides of a joint: of a lever its stops, else before opening and after closing."""
    return STOPS if joint["marks"] == "travel" else (BEFORE, AFTER)


def name(moment: str) -> str:
    return NAMES[moment]


def marked(job: "Job", joint: str, moment: str) -> "list[RecordOf[Marks]]":
    """The marks of each marked photo, whether it counts or not, in the order the photos were taken."""
    tapped = jobs.of_kind(job["settled"], "marks", joint=joint, moment=moment)
    found = {record["data"]["photo"]: record for record in tapped}
    order = [record["data"]["sha256"] for record in photos(job, joint, moment)]
    order += [record["data"]["photo"] for record in tapped]
    return [found[sha256] for at, sha256 in enumerate(order) if sha256 in found and sha256 not in order[:at]]


def marks(job: "Job", joint: str, moment: str) -> "list[RecordOf[Marks]]":
    """Those that count, one record a photo."""
    return [
        record
        for record in marked(job, joint, moment)
        if not left_out(job, joint, moment, record["data"]["photo"])
    ]


def photos(job: "Job", joint: str, moment: str) -> "list[RecordOf[Photo]]":
    return jobs.of_kind(job["heads"], "photo", joint=joint, moment=moment)


def left_out(job: "Job", joint: str, moment: str, sha256: str) -> str:
    """Why a photo does not count, "" if it does."""
    said = jobs.latest(job["settled"], "photo-counts", joint=joint, moment=moment, photo=sha256)
    return said["data"].get("reason") or "no reason given" if said and not said["data"]["counts"] else ""


def together(job: "Job", joint: str, moment: str) -> "Reading | None":
    """What the photos of one side say; several of them as `agreement.of` does, with its `sentence`."""
    found = [
        _whole(record["data"]["reading"])
        for record in marks(job, joint, moment)
        if "off" not in record["data"]["reading"]  # of a drain
    ]
    if len(found) < 2:
        return found[0] if found else None
    return agreement.of(found)


def _whole(reading: "AngleReading | DrainReading") -> "Reading":
    whole: Any = dict(OLDER)
    whole["noise"] = reading["u"]
    whole.update(reading)
    found: Reading = whole
    return found
