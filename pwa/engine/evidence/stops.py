"""Stop rules: what must not be done as a truck stands, before any plan or check.

A rule stands while an answer raises it (an outcome in `raised_by`), or while something that it names (`open`)
is off the truck. Answers that do not count as evidence raise it all the same: here the careful reading holds.
"""

from typing import TYPE_CHECKING, TypedDict

from pwa.engine.evidence import truck

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from typing import Any

    Rule = Mapping[str, Any]  # of the compiled model
    Finding = dict[str, Any]

SAYS = ("do not touch yet", "do not start", "do not drive")  # the gravest first
NAMES = ("Do not touch yet", "Do not start", "Do not drive")
FROM = {"do not start": "idle", "do not drive": "load"}  # what the engine must not do, and more


class Stop(TypedDict):
    """A rule that stands; `findings` are the answers that raised it, `openings` what is off."""

    stop: str
    says: str
    name: str
    title: str
    why: str
    lifts: str
    caution: "list[str]"
    findings: "list[str]"
    openings: "list[str]"


def standing(
    rules: "Iterable[Rule]", said: "Mapping[str, list[str]]", opened: "list[str]", lifted: "list[str]"
) -> "list[Stop]":
    """The rules that stand, the gravest first.

    Args:
        said: finding -> each outcome that somebody saw.
        opened: what is off the truck, with all that had to be off before.
        lifted: rules of which somebody said that what raised them is put right; what is off stays off.
    """
    found: list[Stop] = []
    # Sorted by a key of its own each, for a sort need not keep what is even in order.
    for rule in sorted(rules, key=lambda rule: (SAYS.index(rule["says"]), rule["order"], rule["key"])):
        raised = [
            finding
            for finding in sorted(rule["raised_by"])
            if rule["key"] not in lifted
            and any(outcome in rule["raised_by"][finding] for outcome in said.get(finding, []))
        ]
        off = [key for key in rule["open"] if key in opened]
        if raised or off:
            found.append(_stop(rule, raised, off))
    return found


def _stop(rule: "Rule", raised: "list[str]", off: "list[str]") -> Stop:
    name = NAMES[SAYS.index(rule["says"])]
    return {
        "stop": rule["key"],
        "says": rule["says"],
        # What is only off is put back; what an answer raised is towed.
        "name": f"{name}: tow" if rule["says"] == SAYS[2] and raised else name,
        "title": rule["title"],
        "why": rule["why"],
        "lifts": rule["lifts"],
        "caution": list(rule["caution"]),
        "findings": raised,
        "openings": off,
    }


def against(item: "Finding", stops: "list[Stop]") -> "list[str]":
    """Why a check must not be made now, in words. What only an opening raised ends when that is put back."""
    return [
        f"{stop['name']}: {stop['title']}"
        for stop in stops
        if stop["findings"] and _forbids(stop["says"], item)
    ]


def _forbids(says: str, item: "Finding") -> bool:
    if says == SAYS[0]:  # only questions and what is read from the cab are left
        return item["way"] not in truck.TIMELESS
    return item["way"] != "asked" and truck.RUNNING.index(item["running"]) >= truck.RUNNING.index(FROM[says])
