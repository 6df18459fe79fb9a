"""A check as a page offers it: what it asks and takes, what it would change, and where it is answered."""

from typing import TYPE_CHECKING, TypedDict

from pwa.app import cautions
from pwa.app.content import find, name_of
from pwa.app.evidence import answer_order, isolation, prices
from pwa.app.evidence.code_findings import WAY
from pwa.engine.evidence import advice, case, truck
from pwa.engine.numbers.rounding import half_up

if TYPE_CHECKING:
    from pwa.app.shapes import Finding
    from pwa.app.visit import Visit
    from pwa.engine.evidence.advice import Isolation
    from pwa.engine.evidence.value import Change, Check, Outcome

CHECKS_SHOWN = 6
STANDS = {
    "off": "Engine off",
    "key on": "Key on, engine off",
    "idle": "Engine idling",
    "load": "Engine under load",
    "road": "On the road",
}
WARMTH = {"cold": ", cold", "hot": ", warm"}


class Line(TypedDict):
    """A check in a list; `saves` is "" where it saves nothing worth saying."""

    finding: str
    name: str
    why: str
    minutes: str
    saves: str


class Later(TypedDict):
    """A check that lacks something here and now."""

    finding: str
    name: str
    needs: str


class Card(Line):
    """A check with all that its own page says."""

    question: str
    outcomes: "list[Outcome]"
    how: str
    wrong: str  # what a wrong answer costs
    source: str
    tools: "list[str]"
    needs: "list[str]"
    stand: str  # how the truck must stand for it
    openings: "list[str]"
    changes: "list[str]"  # in the plan, as sentences
    unsafe: "list[str]"  # cautions that it wants and nobody has accepted
    measure: str  # the measure that answers it, if there is one
    by_codes: bool


def chosen(visit: "Visit", found: "Isolation") -> "Card | None":
    """The check the person picked, else the one worth most."""
    wanted = visit.asked("check")
    first = [] if wanted or worthwhile(found["checks"]) else advice.only_closed(found["later"])
    for check in first + found["checks"] + found["later"]:
        if check["finding"] == wanted or not wanted:
            return _card(visit, check)
    known = find(visit.content["findings"], wanted)
    return _card(visit, _unweighed(visit, known)) if known else None


def worthwhile(checks: "list[Check]") -> bool:
    return any(check["saves"] > check["minutes"] for check in checks)


def others(found: "Isolation", shown: "Card | None") -> "list[Line]":
    """The best checks beside the one that is shown already."""
    here = shown["finding"] if shown else ""
    rest = [check for check in found["checks"] if check["finding"] != here]
    return [_line(check) for check in rest[:CHECKS_SHOWN]]


def going_on(found: "Isolation") -> "Line | None":
    """The best check that is left, for who wants to go on."""
    return _line(found["checks"][0]) if found["checks"] else None


def later(check: "Check") -> Later:
    return {"finding": check["finding"], "name": check["name"], "needs": ", ".join(check["needs"])}


def _unweighed(visit: "Visit", known: "Finding") -> "Check":
    """A check that the advice does not offer: it is answered, of no use, or not to be made here and now."""
    needs, opens = _lacks(visit, known["key"])
    minutes = visit.content["model"]["openings"]
    return {
        "finding": known["key"],
        "answers": [known["key"]],
        "name": known["name"],
        "question": known["question"],
        "outcomes": known["outcomes"],
        "worth": 0.0,
        "saves": 0.0,
        "promises": 0.0,
        "minutes": known["minutes"] + sum([float(minutes[key]["minutes"]) for key in opens]),
        "opens": opens,
        "closes": [],
        "needs": needs,
        "tools": known["tools"],
        "caution": known["caution"],
        "speaks": [],
        "why": "",
        "changes": [],
    }


def _lacks(visit: "Visit", finding: str) -> "tuple[list[str], list[str]]":
    """What a check lacks here and now, and what must come off for it, whether it is answered or not."""
    here, model = isolation.situation(visit.job, visit.content, visit.shop), visit.content["model"]
    here["skipped"] = []
    findings = {item["name"]: item for item in model["variables"] if item["kind"] == "finding"}
    for item in case.open_checks(findings, {}, here, model["openings"]):
        if item["name"] == finding:
            return item["needs"], [key for key in item["opens"] if not key.startswith(truck.BACK)]
    return [], []


def _line(check: "Check") -> Line:
    return {
        "finding": check["finding"],
        "name": check["name"],
        "why": check["why"],
        "minutes": f"{check['minutes']:g}",
        "saves": f"{half_up(check['saves']):.0f}" if check["saves"] >= 0.5 else "",
    }


def _card(visit: "Visit", check: "Check") -> Card:
    """A check that a measurement answers leads to that measurement's page."""
    content, line = visit.content, _line(check)
    known = find(content["findings"], check["finding"])
    scan = find(content["scans"], check["finding"])
    measures = [item["key"] for item in content["measures"] if item["finding"] == check["finding"]]
    waiting = cautions.missing(visit.job, content)
    return {
        "finding": line["finding"],
        "name": line["name"],
        "why": line["why"],
        "minutes": line["minutes"],
        "saves": line["saves"],
        "question": check["question"],
        "outcomes": answer_order.in_order(check["outcomes"]),
        "how": known["how"] if known else scan["how"] if scan else "",
        "wrong": known["wrong"] if known else scan["wrong"] if scan else "",
        "source": _source(visit, known),
        "tools": check["tools"],
        "needs": check["needs"],
        "stand": _stand(known) if known else "",
        "openings": [name_of(content["openings"], key) for key in check["opens"]],
        "changes": [_change(visit, item, check["outcomes"]) for item in check["changes"]],
        "unsafe": [item["title"] for item in waiting if known and item["key"] in known["caution"]],
        "measure": measures[-1] if measures else "",
        "by_codes": bool(scan or (known and known["way"] == WAY)),
    }


def _stand(known: "Finding") -> str:
    """How the truck must stand; a question needs nothing of it."""
    return "" if known["way"] == "asked" else STANDS[known["running"]] + WARMTH.get(known["heat"], "")


def _source(visit: "Visit", known: "Finding | None") -> str:
    source = visit.content["sources"].get(known["source"]) if known else None
    return f"{source['text']} ({source['kind']})" if source else ""


def _change(visit: "Visit", change: "Change", outcomes: "list[Outcome]") -> str:
    """What an outcome would change in the repair, as a sentence."""
    parts = []
    if change["more"]:
        parts.append("then also: " + ", ".join(prices.named(visit.content, change["more"])))
    if change["less"]:
        parts.append("then not: " + ", ".join(prices.named(visit.content, change["less"])))
    outcome = find(outcomes, change["outcome"])
    return f"“{outcome['label'] if outcome else ''}”, {'; '.join(parts)}."
