"""Isolate: where the evidence stands, what to check next and why, and what each answer has moved."""

from typing import TYPE_CHECKING, TypedDict

from pwa.app.content import find, name_of
from pwa.app.evidence import answered, causal_chain, complaints, findings, isolation, plan
from pwa.app.evidence.situation import here
from pwa.app.kinds.names import check_name
from pwa.app.kinds.situation import as_text
from pwa.app.record import jobs
from pwa.app.record.chain import draft
from pwa.app.screens.evidence import check_card, codes
from pwa.app.screens.evidence import stops as stop_rules
from pwa.app.visit import Reply, Visit, page, save
from pwa.engine.evidence import sides
from pwa.engine.evidence.case import NOT_KNOWN
from pwa.engine.evidence.scan import NOTHING_FOUND

if TYPE_CHECKING:
    from pwa.app.kinds.data import Skipped
    from pwa.app.visit import Context, Route
    from pwa.engine.evidence.advice import Isolation, Suspect

SUSPECTS_SHOWN = 6
OUTSIDE_NAMED = 0.2  # chance of "not the VGT" from which its systems are named
SYSTEM_NAMED, SYSTEMS_SHOWN = 0.02, 5
SKIPS = {"later": "Not now", "here": "Cannot do here", "again": isolation.AGAIN}


class Suspected(TypedDict):
    name: str
    system: str
    percent: str
    width: str  # of its bar, of 100


def show(visit: Visit) -> Reply:
    try:
        found = isolation.isolate(visit.job, visit.content, visit.shop)
    except ValueError as error:
        rows = answered.unjudged(visit)
        told = {"error": str(error), "answered": rows, "stops": stop_rules.shown(visit)}
        return page("evidence/isolate_contradiction.html", told)
    check = None if found["enough"] and not visit.asked("check") else check_card.chosen(visit, found)
    said = complaints.of(visit.job["opened"], visit.content)
    stopped = stop_rules.shown(visit)
    context: Context = {
        "areas": isolation.mosaic(dict(found["standing"])),
        "standing": [
            {"key": key, "words": words, "percent": isolation.percent(found["standing"][key])}
            for key, words in sides.STANDING
        ],
        "outside": _outside(found),
        "upstream": isolation.percent(found["upstream"]),
        "sure": found["sure"],
        "stops": stopped,
        "untouchable": stop_rules.untouchable(stopped),
        "unlooked": len([item for item in stop_rules.looks(visit) if not item["answered"]]),
        "here": as_text(here(visit.job), visit.content),
        "plan": plan.told(found["plan"], visit.content, visit.shop),
        "enough": found["enough"],
        "going_on": check_card.going_on(found),
        "chain": causal_chain.picture(visit.content, found["suspects"], found["chances"], said),
        "later": [check_card.later(item) for item in found["later"][: check_card.CHECKS_SHOWN]],
        "conflict": found["conflict"],
        "not_known": visit.job["opened"]["drive"] == NOT_KNOWN,
        "suspects": [_suspect(item) for item in found["suspects"][:SUSPECTS_SHOWN]],
        "check": check,
        "others": check_card.others(found, check),
        "answered": answered.answered(visit, found),
        "moved": answered.moved(visit, found, visit.asked("moved")),
        "disputed": _disputed(visit),
        "skipped": [
            {"finding": key, "name": check_name(visit.content, key)}
            for key in isolation.skipped(visit.job)
            if key not in visit.job["findings"]
        ],
        "error": "",
    }
    return page("evidence/isolate.html", context)


def answer(visit: Visit) -> Reply:
    finding, outcome = visit.field("finding"), visit.field("outcome")
    try:
        if find(visit.content["scans"], finding) and outcome == NOTHING_FOUND:
            return save(codes.cleared(visit), visit.at("isolate"))
        drafts = findings.answer(visit, finding, outcome, "answer")
    except ValueError as error:
        return page("frame/missing.html", {"what": str(error)}, status=422)
    return save(drafts, visit.at("isolate") + "?moved=" + finding)


def skip(visit: Visit) -> Reply:
    finding, reason = visit.field("finding"), SKIPS.get(visit.field("reason"), "Not now")
    if find(visit.content["findings"], finding) is None and find(visit.content["scans"], finding) is None:
        return page("frame/missing.html", {"what": "This version knows no such check."}, status=422)
    data: Skipped = {"finding": finding, "reason": reason}
    if reason == SKIPS["here"]:
        data["place"] = here(visit.job)["place"]
    earlier = jobs.of_kind(visit.job["heads"], "skipped", finding=finding)
    return save([draft(visit.job["id"], "skipped", data, jobs.ids(earlier))], visit.at("isolate"))


def _outside(found: "Isolation") -> "list[str]":
    """Which systems "not the VGT" means, each with its chance, once that is worth a look."""
    if found["standing"][sides.NOT_VGT] < OUTSIDE_NAMED:
        return []
    likely = [item for item in found["outside"] if item["p"] >= SYSTEM_NAMED][:SYSTEMS_SHOWN]
    return [f"{item['name']} {isolation.percent(item['p'])}" for item in likely]


def _disputed(visit: Visit) -> "list[str]":
    """Names of the checks that have two different answers."""
    return [
        name_of(visit.content["findings"], conflict["records"][0]["data"]["finding"])
        for conflict in visit.job["conflicts"]
        if conflict["kind"] == "finding"
    ]


def _suspect(item: "Suspect") -> Suspected:
    return {
        "name": item["name"],
        "system": sides.name_of(item["system"]),
        "percent": isolation.percent(item["p"]),
        "width": f"{100 * item['p']:.1f}",
    }


ROUTES: "list[Route]" = [
    ("GET", "/job/{job}/isolate", show),
    ("POST", "/job/{job}/isolate", answer),
    ("POST", "/job/{job}/isolate/skip", skip),
]
