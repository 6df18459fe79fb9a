"""A check as a page offers it: what it asks and takes, what it would change, and where it is answered."""

from typing import TYPE_CHECKING

from pwa.app import cautions
from pwa.app.evidence import prices
from pwa.app.evidence.answered import known_finding
from pwa.app.screens.evidence.codes import CODE_FINDINGS
from pwa.engine.numbers.rounding import half_up

if TYPE_CHECKING:
    from typing import Any

    from pwa.app.visit import Visit
    from pwa.engine.evidence.advice import Isolation

CHECKS_SHOWN = 6


def chosen(visit: "Visit", found: "Isolation") -> "dict[str, Any] | None":
    """The check the person picked, else the one worth most."""
    wanted = visit.asked("check")
    known = known_finding(visit, wanted) if wanted else None
    for check in found["checks"]:
        if check["finding"] == wanted or not wanted:
            return _with_measure(visit, dict(check))
    if known is None:
        return None
    fields = ("name", "question", "minutes", "tools", "outcomes", "how")
    chosen = {name: known[name] for name in fields}
    chosen["finding"], chosen["why"], chosen["needs"] = wanted, "", []
    return _with_measure(visit, chosen)


def others(found: "Isolation", shown: "dict[str, Any] | None") -> "list[dict[str, Any]]":
    """The best checks beside the one that is shown already."""
    here = shown["finding"] if shown else ""
    rest = [dict(check) for check in found["checks"] if check["finding"] != here]
    return [_with_minutes(check) for check in rest[:CHECKS_SHOWN]]


def going_on(found: "Isolation") -> "dict[str, Any] | None":
    """The best check that is left, for who wants to go on."""
    return _with_minutes(dict(found["checks"][0])) if found["checks"] else None


def later(check: "Any") -> "dict[str, Any]":
    return {"finding": check["finding"], "name": check["name"], "needs": ", ".join(check["needs"])}


def _with_minutes(check: "dict[str, Any]") -> "dict[str, Any]":
    check["minutes"] = f"{check['minutes']:g}"
    check["saves"] = f"{half_up(check['saves']):.0f}" if check.get("saves", 0) >= 0.5 else ""
    return check


def _with_measure(visit: "Visit", check: "dict[str, Any]") -> "dict[str, Any]":
    """A check that a measurement answers leads to that measurement's page."""
    check["measure"] = ""
    for measure in visit.content["measures"]:
        if measure["finding"] == check["finding"]:
            check["measure"] = measure["key"]
    known = known_finding(visit, check["finding"])
    check["how"] = known["how"] if known else ""
    check["wrong"] = known["wrong"] if known else ""
    check["source"] = _source(visit, known)
    names = {item["key"]: item["name"] for item in visit.content["openings"]}
    check["openings"] = [names.get(key, key) for key in check.get("opens", [])]
    labels = {item["key"]: item["label"] for item in check["outcomes"]}
    check["changes"] = [_change(visit, item, labels) for item in check.get("changes", [])]
    _with_minutes(check)
    check["by_codes"] = check["finding"].startswith(CODE_FINDINGS)
    wanted = known["caution"] if known else []
    waiting = cautions.missing(visit.job, visit.content)
    check["unsafe"] = [caution["title"] for caution in waiting if caution["key"] in wanted]
    return check


def _source(visit: "Visit", known: "dict[str, Any] | None") -> str:
    source = visit.content["sources"].get(known["source"]) if known else None
    return f"{source['text']} ({source['kind']})" if source else ""


def _change(visit: "Visit", change: "dict[str, Any]", labels: "dict[str, str]") -> str:
    """What an outcome would change in the repair, as a sentence."""
    parts = []
    if change["more"]:
        parts.append("then also: " + ", ".join(prices.named(visit.content, change["more"])))
    if change["less"]:
        parts.append("then not: " + ", ".join(prices.named(visit.content, change["less"])))
    return f"“{labels[change['outcome']]}”, {'; '.join(parts)}."
