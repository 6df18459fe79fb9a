"""Isolate: where the evidence stands, what to check next and why, and what each answer has moved."""

from typing import TYPE_CHECKING

from pwa.app import causal_chain, cautions, findings, isolation, prices
from pwa.app import job as jobs
from pwa.app.here import here
from pwa.app.records import draft
from pwa.app.screens.codes import CODE_FINDINGS
from pwa.app.screens.here import told
from pwa.app.story import name_of, outcome_label
from pwa.app.visit import Reply, Visit, page, save
from pwa.engine.rounding import half_up

if TYPE_CHECKING:
    from typing import Any

    from pwa.app.visit import Route
    from pwa.engine.advice import Isolation

SUSPECTS_SHOWN = 6
CHECKS_SHOWN = 6
CAUSES_NAMED = 3
TELLING = 0.1  # how often a cause must show an outcome to be named for it
LITTLE = 0.26  # change in log odds, a factor of 1.3, below which an answer says little
STRONGEST = 3.0  # change in log odds (a factor of 20) that fills the bar
SKIPS = {"later": "Not now", "here": "Cannot do here", "again": isolation.AGAIN}
SIDES = ("electrical", "mechanical", "upstream")


def show(visit: Visit) -> Reply:
    try:
        found = isolation.isolate(visit.job, visit.content, visit.shop)
    except ValueError as error:
        return _contradiction(visit, str(error))
    check = None if found["enough"] and not visit.asked("check") else _chosen(visit, found)
    context: dict[str, Any] = {
        "areas": isolation.mosaic(dict(found["standing"])),
        "standing": [
            {"key": key, "words": words, "percent": isolation.percent(found["standing"][key])}
            for key, words in isolation.WORDS
        ],
        "upstream": isolation.percent(found["upstream"]),
        "sure": found["sure"],
        "here": told(visit),
        "plan": _plan(visit, found),
        "enough": found["enough"],
        "going_on": _going_on(found),
        "chain": causal_chain.picture(visit.content, found["suspects"], found["chances"]),
        "later": [_later(item) for item in found["later"][:CHECKS_SHOWN]],
        "conflict": found["conflict"],
        "suspects": [_suspect(item) for item in found["suspects"][:SUSPECTS_SHOWN]],
        "check": check,
        "others": _others(found, check),
        "answered": _answered(visit, found),
        "moved": _moved(visit, found, visit.asked("moved")),
        "disputed": _disputed(visit),
        "skipped": [
            {"finding": key, "name": name_of(visit.content, "findings", key)}
            for key in isolation.skipped(visit.job)
            if key not in visit.job["findings"]
        ],
        "error": "",
    }
    return page("isolate.html", context)


def answer(visit: Visit) -> Reply:
    finding, outcome = visit.field("finding"), visit.field("outcome")
    known = _finding(visit, finding)
    allowed = [item["key"] for item in known["outcomes"]] + [jobs.NOT_CHECKED] if known else []
    if outcome not in allowed:
        return page("missing.html", {"what": "This version knows no such check or answer."}, status=422)
    drafts = findings.answer(visit.job, finding, outcome, "answer")
    return save(drafts, visit.at("isolate") + "?moved=" + finding)


def skip(visit: Visit) -> Reply:
    finding, reason = visit.field("finding"), SKIPS.get(visit.field("reason"), "Not now")
    if _finding(visit, finding) is None:
        return page("missing.html", {"what": "This version knows no such check."}, status=422)
    data = {"finding": finding, "reason": reason}
    if reason == SKIPS["here"]:
        data["place"] = here(visit.job)["place"]
    earlier = jobs.of_kind(visit.job["heads"], "skipped", finding=finding)
    return save([draft(visit.job["id"], "skipped", data, jobs.ids(earlier))], visit.at("isolate"))


def _chosen(visit: Visit, found: "Isolation") -> "dict[str, Any] | None":
    """The check the person picked, else the one worth most."""
    wanted = visit.asked("check")
    known = _finding(visit, wanted) if wanted else None
    for check in found["checks"]:
        if check["finding"] == wanted or not wanted:
            return _with_measure(visit, dict(check))
    if known is None:
        return None
    fields = ("name", "question", "minutes", "tools", "outcomes", "how")
    chosen = {name: known[name] for name in fields}
    chosen["finding"], chosen["why"], chosen["needs"] = wanted, "", []
    return _with_measure(visit, chosen)


def _others(found: "Isolation", shown: "dict[str, Any] | None") -> "list[dict[str, Any]]":
    """The best checks beside the one that is shown already."""
    here = shown["finding"] if shown else ""
    rest = [dict(check) for check in found["checks"] if check["finding"] != here]
    return [_with_minutes(check) for check in rest[:CHECKS_SHOWN]]


def _going_on(found: "Isolation") -> "dict[str, Any] | None":
    """The best check that is left, for who wants to go on."""
    return _with_minutes(dict(found["checks"][0])) if found["checks"] else None


def _later(check: "Any") -> "dict[str, Any]":
    return {"finding": check["finding"], "name": check["name"], "needs": ", ".join(check["needs"])}


def _plan(visit: Visit, found: "Isolation") -> "dict[str, Any]":
    """The repair that costs least as things are."""
    plan = found["plan"]
    return {
        "repairs": prices.named(visit.content, plan["repairs"]),
        "cost": prices.told(plan["cost"], visit.shop),
        "comes_back": isolation.percent(plan["comes_back"]),
    }


def _with_minutes(check: "dict[str, Any]") -> "dict[str, Any]":
    check["minutes"] = f"{check['minutes']:g}"
    check["saves"] = f"{half_up(check['saves']):.0f}" if check.get("saves", 0) >= 0.5 else ""
    return check


def _with_measure(visit: Visit, check: "dict[str, Any]") -> "dict[str, Any]":
    """A check that a measurement answers leads to that measurement's page."""
    check["measure"] = ""
    for measure in visit.content["measures"]:
        if measure["finding"] == check["finding"]:
            check["measure"] = measure["key"]
    known = _finding(visit, check["finding"])
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


def _source(visit: Visit, known: "dict[str, Any] | None") -> str:
    source = visit.content["sources"].get(known["source"]) if known else None
    return f"{source['text']} ({source['kind']})" if source else ""


def _change(visit: Visit, change: "dict[str, Any]", labels: "dict[str, str]") -> str:
    """What an outcome would change in the repair, as a sentence."""
    parts = []
    if change["more"]:
        parts.append("then also: " + ", ".join(prices.named(visit.content, change["more"])))
    if change["less"]:
        parts.append("then not: " + ", ".join(prices.named(visit.content, change["less"])))
    return f"“{labels[change['outcome']]}”, {'; '.join(parts)}."


def _answered(visit: Visit, found: "Isolation") -> "list[dict[str, Any]]":
    reasons = {reason["finding"]: reason for reason in found["reasons"]}
    rows: list[dict[str, Any]] = []
    for record in reversed(jobs.of_kind(visit.job["settled"], "finding")):
        key, outcome = record["data"]["finding"], record["data"]["outcome"]
        if outcome != jobs.NOT_CHECKED:
            row = {
                "finding": key,
                "name": name_of(visit.content, "findings", key),
                "answer": outcome_label(visit.content, key, outcome),
                "bars": _bars(reasons[key]) if key in reasons else [],
                "little": key in reasons and not _moves(reasons[key]),
                "idle": key in found["uncounted"],
                "partly": _partly(visit, record["data"]),
            }
            rows.append(row)
    return rows


def _partly(visit: Visit, data: "dict[str, Any]") -> str:
    """A reading near its limit counts partly for either outcome."""
    shares: dict[str, float] = data.get("weights") or {}
    known = _finding(visit, data["finding"])
    if not shares or known is None:
        return ""
    parts = [
        f"{isolation.percent(shares[item['key']])} “{item['label']}”"
        for item in known["outcomes"]
        if shares.get(item["key"], 0) > 0
    ]
    return "Near its limit, so it counts " + ", ".join(parts) + "."


def _bars(reason: "Any") -> "list[dict[str, Any]]":
    """How far a finding moved each side, as a bar from the middle: right for, left against."""
    if not _moves(reason):
        return []
    bars: list[dict[str, Any]] = []
    for side in SIDES:
        moved = reason["moves"][side]
        length = min(abs(moved) / STRONGEST, 1.0) * 50
        bars.append(
            {
                "side": side,
                "x": f"{50 - length if moved < 0 else 50:.1f}",
                "width": f"{length:.1f}",
                "words": _strength(moved),
            }
        )
    return bars


def _moves(reason: "Any") -> bool:
    return any(abs(reason["moves"][side]) >= LITTLE for side in SIDES)


def _strength(moved: float) -> str:
    """A change in log odds in words: a factor of 1.3, 3 and 10 are the steps."""
    size = abs(moved)
    if size < LITTLE:
        return "says little"
    how = "slightly" if size < 1.1 else "clearly" if size < 2.3 else "strongly"
    return f"{how} {'for' if moved > 0 else 'against'}"


def _moved(visit: Visit, found: "Isolation", finding: str) -> "dict[str, Any] | None":
    """What the answer just given has moved: each side's probability before and after, and why."""
    for reason in found["reasons"]:
        if reason["finding"] == finding:
            return {
                "name": name_of(visit.content, "findings", finding),
                "answer": outcome_label(visit.content, finding, reason["outcome"]),
                "why": _why(visit, finding, reason["outcome"]),
                "sides": [
                    {
                        "side": side,
                        "before": isolation.percent(reason["before"][side]),
                        "after": isolation.percent(reason["after"][side]),
                    }
                    for side in SIDES
                ],
            }
    return None


def _why(visit: Visit, finding: str, outcome: str) -> str:
    """Which causes show this outcome most, or what the normal outcome speaks against."""
    known = _finding(visit, finding)
    if known is None:
        return ""
    state = [item["key"] for item in known["outcomes"]].index(outcome)
    shown = [
        (sum(chances) if state == 0 else chances[state - 1], cause)
        for cause, chances in known["shown_by"].items()
    ]
    strongest = sorted([(-chance, cause) for chance, cause in shown if chance >= TELLING])[:CAUSES_NAMED]
    names = ", ".join([name_of(visit.content, "causes", cause) for _, cause in strongest])
    if not names:
        return "No cause shows this often."
    return f"It speaks {'for' if state else 'against'}: {names}."


def _disputed(visit: Visit) -> "list[str]":
    """Names of the checks that have two different answers."""
    return [
        name_of(visit.content, "findings", conflict["records"][0]["data"]["finding"])
        for conflict in visit.job["conflicts"]
        if conflict["kind"] == "finding"
    ]


def _suspect(item: "Any") -> "dict[str, Any]":
    return {
        "name": item["name"],
        "fault": item["fault"],
        "percent": isolation.percent(item["p"]),
        "width": f"{100 * item['p']:.1f}",
    }


def _finding(visit: Visit, key: str) -> "dict[str, Any] | None":
    for finding in visit.content["findings"]:
        if finding["key"] == key:
            return dict(finding)
    return None


def _contradiction(visit: Visit, error: str) -> Reply:
    """Answers that cannot all be true: shown, so that one of them can be taken back."""
    rows = [
        {
            "finding": record["data"]["finding"],
            "name": name_of(visit.content, "findings", record["data"]["finding"]),
            "answer": outcome_label(visit.content, record["data"]["finding"], record["data"]["outcome"]),
            "bars": [],
            "idle": False,
            "partly": "",
            "little": False,
        }
        for record in jobs.of_kind(visit.job["settled"], "finding")
        if record["data"]["outcome"] != jobs.NOT_CHECKED
    ]
    return page("isolate_contradiction.html", {"error": error, "answered": rows})


ROUTES: "list[Route]" = [
    ("GET", "/job/{job}/isolate", show),
    ("POST", "/job/{job}/isolate", answer),
    ("POST", "/job/{job}/isolate/skip", skip),
]
