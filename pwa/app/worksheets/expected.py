"""What boost to expect here, and what it was before the repair, where the worksheet for it was made."""

from typing import TYPE_CHECKING, TypedDict

from pwa.app.record import jobs
from pwa.engine.measures import air

if TYPE_CHECKING:
    from typing import Any

    from pwa.app.visit import Visit

MEASURE = "expected-boost"
DOUBT = 0.05  # taken off the least where the record does not say how much; as the worksheet's own limit


class Expected(TypedDict):
    """In kPa above the air outside. `before` is None where it was not read before a repair was recorded."""

    least: float
    most: float
    doubt: float  # share taken off the least
    before: "float | None"


def boost(visit: "Visit") -> "Expected | None":
    """From the last worksheet made, or None without one."""
    made = [
        record for record in jobs.of_kind(visit.records, "reading", measure=MEASURE) if jobs.counts(record)
    ]
    ranges = [(record, _range(record["data"])) for record in made]
    known = [(record, found) for record, found in ranges if found]
    if not known:
        return None
    repairs = [record for record in visit.records if record["kind"] == "repair" and jobs.counts(record)]
    order = jobs.ids(visit.records)
    first = order.index(repairs[0]["id"]) if repairs else len(order)
    before = [found[0] for record, found in known if order.index(record["id"]) < first]
    latest, (_, least, most) = known[-1]
    limits = latest["data"].get("limits") or {}
    return {
        "least": least,
        "most": most,
        "doubt": limits["margin"] / 100 if "margin" in limits else DOUBT,
        "before": before[-1] if before else None,
    }


def as_text(expected: Expected) -> str:
    """What a boost is held against, in words."""
    said = f"a healthy engine shows {expected['least']:.0f} to {expected['most']:.0f} kPa here"
    if expected["before"] is None:
        return said
    return f"{expected['before']:.0f} kPa before the repair; {said}"


def is_low(kpa: float, expected: Expected) -> bool:
    return kpa < expected["least"] * (1 - expected["doubt"])


def _range(data: "Any") -> "tuple[float, float, float] | None":
    """Boost, least and most in kPa, as the record's own numbers give them."""
    try:
        found, least, most = air.boost_range(data.get("values") or {})
    except (KeyError, TypeError, ValueError, ZeroDivisionError):
        return None
    return found / 1e3, least / 1e3, most / 1e3
