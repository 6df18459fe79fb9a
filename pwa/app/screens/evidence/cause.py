"""Root cause: each upstream cause is named, excluded, or consciously left open with a reason."""

from typing import TYPE_CHECKING

from pwa.app.evidence import causes, isolation
from pwa.app.record import jobs
from pwa.app.record.chain import draft
from pwa.app.visit import Reply, Visit, page, save

if TYPE_CHECKING:
    from pwa.app.kinds.data import Cause as Decided
    from pwa.app.shapes import Cause
    from pwa.app.visit import Context, Route

DECISIONS = [
    {"key": "named", "label": "This caused it"},
    {"key": "excluded", "label": "Checked and excluded"},
    {"key": "left open", "label": "Left open"},
]
ALL_OPEN = "rest"  # the form that leaves every undecided cause open for one reason


def show(visit: Visit) -> Reply:
    return _page(visit, "", "")


def decide(visit: Visit) -> Reply:
    key, decision, reason = visit.field("cause"), visit.field("decision"), visit.field("reason")
    if decision not in [item["key"] for item in DECISIONS]:
        return _page(visit, key, "Choose one of the three.", 422)
    if not reason:
        what = "what you saw" if decision == "named" else "why"
        return _page(visit, key, f"Write {what} in a few words; the next person needs it.", 422)
    if key == ALL_OPEN:
        keys = [cause["key"] for cause in causes.undecided(visit.job, visit.content)]
    else:
        keys = [cause["key"] for cause in causes.upstream(visit.job, visit.content) if cause["key"] == key]
    if not keys:
        return page("frame/missing.html", {"what": "This version knows no such cause."}, status=404)
    drafts = []
    for item in keys:
        data: Decided = {"cause": item, "decision": decision, "reason": reason}
        earlier = jobs.of_kind(visit.job["heads"], "cause", cause=item)
        drafts.append(draft(visit.job["id"], "cause", data, jobs.ids(earlier)))
    return save(drafts, visit.at("cause"))


def _page(visit: Visit, wrong: str, error: str, status: int = 200) -> Reply:
    decided = {
        record["data"]["cause"]: record["data"] for record in jobs.of_kind(visit.job["settled"], "cause")
    }
    labels = {item["key"]: item["label"] for item in DECISIONS}
    disputed = _disputed(visit)
    rows: list[Context] = []
    for cause, suspicion in _most_suspected_first(visit):
        row: Context = dict(cause)
        row["suspicion"] = suspicion
        row["disputed"] = cause["key"] in disputed
        data = decided.get(cause["key"])
        row["decided"] = ""
        if data:  # a newer version may know more decisions
            row["decided"] = f"{labels.get(data['decision'], data['decision'])}: {data['reason']}"
        row["error"] = error if cause["key"] == wrong else ""
        rows.append(row)
    context = {
        "rows": rows,
        "left": len(causes.undecided(visit.job, visit.content)),
        "decisions": DECISIONS,
        "error": error if wrong == ALL_OPEN else "",
    }
    return page("evidence/cause.html", context, status)


def _most_suspected_first(visit: Visit) -> "list[tuple[Cause, str]]":
    """The upstream causes and how probable the answers make each; "" where the answers cannot all be true."""
    known = causes.upstream(visit.job, visit.content)
    if not known:
        return []
    try:
        found = isolation.suspects(visit.job, visit.content)
    except ValueError:
        return [(cause, "") for cause in known]
    rows = []
    for item in found:  # in order of probability
        rows += [(cause, isolation.percent(item["p"])) for cause in known if cause["key"] == item["cause"]]
    return rows


def _disputed(visit: Visit) -> "list[str]":
    """Causes on which two people decided differently."""
    return [
        conflict["records"][0]["data"]["cause"]
        for conflict in visit.job["conflicts"]
        if conflict["kind"] == "cause"
    ]


ROUTES: "list[Route]" = [("GET", "/job/{job}/cause", show), ("POST", "/job/{job}/cause", decide)]
