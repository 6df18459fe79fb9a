"""What people say of a joint: its tolerance or limits and their source, which photos count, what they saw."""

from typing import TYPE_CHECKING

from pwa.app.joints import readings
from pwa.app.record import jobs
from pwa.app.record.chain import draft
from pwa.app.screens.joints.joints import asked, joint_page, unknown
from pwa.app.visit import Reply, Visit, save
from pwa.engine.numbers import units

if TYPE_CHECKING:
    from collections.abc import Callable

    from pwa.app.kinds.data import PhotoCounts, Tolerance, TravelLimits, Written
    from pwa.app.protocol import Draft
    from pwa.app.shapes import Joint
    from pwa.app.visit import Route

    Make = Callable[[Visit, Joint], Draft]


class NotHere(Exception):
    """The address names something that this joint does not have."""


def set_tolerance(visit: Visit) -> Reply:
    return _save(visit, _tolerance)


def set_limits(visit: Visit) -> Reply:
    return _save(visit, _limits)


def say_counts(visit: Visit) -> Reply:
    return _save(visit, _counts)


def write_down(visit: Visit) -> Reply:
    return _save(visit, _written)


def _save(visit: Visit, make: "Make") -> Reply:
    """Save what `make` reads from the form, or show the joint again with what is wrong with it."""
    joint = asked(visit)
    if joint is None:
        return unknown()
    try:
        made = make(visit, joint)
    except NotHere:
        return unknown()
    except ValueError as error:
        return joint_page(visit, joint, str(error))
    return save([made], visit.at("joint", joint["key"]))


def _tolerance(visit: Visit, joint: "Joint") -> "Draft":
    degrees = _number(visit, "degrees", "angle", "Tolerance")
    across = _number(visit, "diameter", "length", "Diameter") if visit.field("diameter") else 0.0
    _insist(across >= 0, "The diameter of the rim is more than 0 mm.")
    _insist(0 < degrees <= 90, "The tolerance is more than 0° and at most 90°.")
    _insist(visit.field("source"), "Write where the tolerance comes from.")
    data: Tolerance = {
        "joint": joint["key"],
        "degrees": degrees,
        "source": visit.field("source"),
        "bolts": visit.whole("bolts"),
        "diameter": across,
    }
    earlier = jobs.of_kind(visit.job["heads"], "tolerance", joint=joint["key"])
    return draft(visit.job["id"], "tolerance", data, jobs.ids(earlier))


def _limits(visit: Visit, joint: "Joint") -> "Draft":
    """Least and most travel of a lever and, if known, its length: the maker's or the shop's, never ours."""
    if joint["marks"] != "travel":
        raise NotHere
    least, most = (_number(visit, name, "angle", "Limits") for name in ("least", "most"))
    length = _number(visit, "length", "length", "Limits") if visit.field("length") else 0.0
    _insist(
        0 <= least < most <= 180, "The least travel is 0° or more, the most is more than that, up to 180°."
    )
    _insist(length >= 0, "The length of the lever is more than 0 mm.")
    _insist(visit.field("source"), "Write where the limits come from.")
    data: TravelLimits = {
        "joint": joint["key"],
        "least": least,
        "most": most,
        "length": length,
        "source": visit.field("source"),
    }
    earlier = jobs.of_kind(visit.job["heads"], "travel-limits", joint=joint["key"])
    return draft(visit.job["id"], "travel-limits", data, jobs.ids(earlier))


def _counts(visit: Visit, joint: "Joint") -> "Draft":
    """One photo does not count, with the reason; said again, it counts. Nothing is deleted either way."""
    key, moment, sha256 = joint["key"], visit.params["moment"], visit.params["photo"]
    if not jobs.of_kind(visit.job["heads"], "photo", joint=key, moment=moment, sha256=sha256):
        raise NotHere
    counts, reason = visit.field("counts") == "yes", visit.field("reason")
    _insist(counts or reason, "Write why the photo does not count.")
    data: PhotoCounts = {
        "counts": counts,
        "reason": reason,
        "joint": key,
        "moment": moment,
        "photo": sha256,
    }
    earlier = jobs.of_kind(visit.job["heads"], "photo-counts", joint=key, moment=moment, photo=sha256)
    return draft(visit.job["id"], "photo-counts", data, jobs.ids(earlier))


def _written(visit: Visit, joint: "Joint") -> "Draft":
    """What no photo measures, such as the threads that show: in words, before and after."""
    moment, text = visit.params["moment"], visit.field("text")
    if moment not in readings.moments(joint):
        raise NotHere
    _insist(text, f"Write it down first: {joint['write'].lower()}.")
    data: Written = {"joint": joint["key"], "moment": moment, "text": text}
    earlier = jobs.of_kind(visit.job["heads"], "written", joint=joint["key"], moment=moment)
    return draft(visit.job["id"], "written", data, jobs.ids(earlier))


def _number(visit: Visit, field: str, quantity: str, label: str) -> float:
    try:
        return units.parse(visit.field(field), quantity, "°" if quantity == "angle" else "mm")
    except ValueError as error:
        raise ValueError(f"{label}: {error}") from None


def _insist(fits: "bool | str", otherwise: str) -> None:
    if not fits:
        raise ValueError(otherwise)


ROUTES: "list[Route]" = [
    ("POST", "/job/{job}/joint/{joint}/tolerance", set_tolerance),
    ("POST", "/job/{job}/joint/{joint}/limits", set_limits),
    ("POST", "/job/{job}/joint/{joint}/written/{moment}", write_down),
    ("POST", "/job/{job}/joint/{joint}/counts/{moment}/{photo}", say_counts),
]
