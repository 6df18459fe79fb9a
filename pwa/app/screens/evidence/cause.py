"""Root cause: what was confirmed, and each cause named, excluded, or consciously left open with a reason."""

from typing import TYPE_CHECKING

from pwa.app.content import name_of
from pwa.app.evidence import causes, isolation
from pwa.app.kinds.evidence import EXCLUDED, LEFT_OPEN, NAMED, NOT_FOUND
from pwa.app.record import jobs
from pwa.app.record.chain import draft
from pwa.app.visit import Reply, Visit, page, save
from pwa.engine.evidence import sides

if TYPE_CHECKING:
    from pwa.app.kinds.data import Cause as Decided
    from pwa.app.shapes import Cause
    from pwa.app.visit import Context, Route

DECISIONS = [
    {"key": NAMED, "label": "Confirmed: this was it"},
    {"key": EXCLUDED, "label": "Checked and excluded"},
    {"key": LEFT_OPEN, "label": "Left open"},
]
ALL_OPEN = "rest"  # the form that leaves every upstream cause open that is undecided and unlikely
UNKNOWN = "This version knows no such cause."


def show(visit: Visit) -> Reply:
    return _page(visit, "", "")


def decide(visit: Visit) -> Reply:
    key, decision, reason = visit.field("cause"), visit.field("decision"), visit.field("reason")
    if decision not in [item["key"] for item in DECISIONS]:
        return _page(visit, key, "Choose one of the three.", 422)
    keys = _meant(visit, key, decision)
    if not keys:
        return page("frame/missing.html", {"what": UNKNOWN}, status=404)
    if not reason:
        what = "what you saw" if decision == NAMED else "why"
        return _page(visit, key, f"Write {what} in a few words; the next person needs it.", 422)
    confirmed = [cause["name"] for cause in causes.named(visit.job, visit.content)]
    if key == NOT_FOUND and confirmed:
        return _page(
            visit, key, f"Confirmed already: {', '.join(confirmed)}. Decide on that again first.", 422
        )
    drafts = []
    for item in keys:
        data: Decided = {"cause": item, "decision": decision, "reason": reason}
        earlier = jobs.of_kind(visit.job["heads"], "cause", cause=item)
        if decision == NAMED:  # a fault was found after all
            earlier += jobs.of_kind(visit.job["heads"], "cause", cause=NOT_FOUND)
        drafts.append(draft(visit.job["id"], "cause", data, jobs.ids(earlier)))
    return save(drafts, visit.at("cause"))


def _meant(visit: Visit, key: str, decision: str) -> "list[str]":
    """The causes that a form speaks of: one, or the rest of those upstream."""
    if key == NOT_FOUND:
        return [key] if decision == LEFT_OPEN else []
    if key == ALL_OPEN:
        return _rest(visit)
    return [cause["key"] for cause in causes.of_job(visit.job, visit.content) if cause["key"] == key]


def _rest(visit: Visit) -> "list[str]":
    """What one reason may leave open or exclude: nothing that is more likely than not."""
    likely = causes.chances(visit.job, visit.content)
    return [
        cause["key"]
        for cause in causes.undecided(visit.job, visit.content)
        if likely.get(cause["key"], 0.0) <= causes.HALF
    ]


def _page(visit: Visit, wrong: str, error: str, status: int = 200) -> Reply:
    decided, likely = causes.decisions(visit.job), causes.chances(visit.job, visit.content)
    undecided = causes.undecided(visit.job, visit.content)
    asked = wrong or visit.asked("cause")
    rows = [
        _row(visit, cause, likely, error if cause["key"] == wrong else "")
        for cause in _shown(visit, likely, asked)
    ]
    shown = [row["key"] for row in rows]
    no_fault = decided.get(NOT_FOUND)
    context: Context = {
        "rows": rows,
        "left": len(undecided),
        "rest": len(_rest(visit)),
        "named": [cause["name"] for cause in causes.named(visit.job, visit.content)],
        "not_found": no_fault["reason"] if no_fault else "",
        "lacking": causes.missing(visit.job, visit.content, undecided),
        "decisions": DECISIONS,
        "others": _others(visit, shown),
        "not_found_error": error if wrong == NOT_FOUND else "",
        "error": error if wrong == ALL_OPEN else "",
    }
    return page("evidence/cause.html", context, status)


def _row(visit: Visit, cause: "Cause", likely: "dict[str, float]", error: str) -> "Context":
    labels = {item["key"]: item["label"] for item in DECISIONS}
    data = causes.decisions(visit.job).get(cause["key"])
    return {
        "key": cause["key"],
        "name": cause["name"],
        "shows": cause["shows"],
        "system": sides.name_of(cause["system"]),
        "suspicion": isolation.percent(likely[cause["key"]]) if cause["key"] in likely else "",
        "disputed": cause["key"] in _disputed(visit),
        # A newer version may know more decisions.
        "decided": f"{labels.get(data['decision'], data['decision'])}: {data['reason']}" if data else "",
        "repairs": [name_of(visit.content["repairs"], key) for key in sorted(cause["put_right"])],
        "error": error,
    }


def _shown(visit: Visit, likely: "dict[str, float]", asked: str) -> "list[Cause]":
    """The cause asked for, then those that are likely, decided or upstream, the most probable first."""
    decided = causes.decisions(visit.job)
    kept = [
        cause
        for cause in causes.of_job(visit.job, visit.content)
        if cause["upstream"]
        or cause["key"] == asked
        or cause["key"] in decided
        or likely.get(cause["key"], 0.0) > causes.HALF
        or cause["key"] in _disputed(visit)
    ]
    return sorted(
        kept,
        key=lambda cause: (cause["key"] != asked, -round(likely.get(cause["key"], 0.0), 9), cause["key"]),
    )


def _others(visit: Visit, shown: "list[str]") -> "list[Context]":
    """Every other cause, by where it lies, so that what was found can be named."""
    groups: list[Context] = []
    for system in [sides.CONTROL, sides.MECHANISM] + [key for key, _ in sides.SYSTEMS]:
        rows = [
            {"key": cause["key"], "name": cause["name"]}
            for cause in causes.of_job(visit.job, visit.content)
            if cause["system"] == system and cause["key"] not in shown
        ]
        if rows:
            groups.append({"title": sides.name_of(system), "rows": rows})
    return groups


def _disputed(visit: Visit) -> "list[str]":
    """Causes on which two people decided differently."""
    return [
        conflict["records"][0]["data"]["cause"]
        for conflict in visit.job["conflicts"]
        if conflict["kind"] == "cause"
    ]


ROUTES: "list[Route]" = [("GET", "/job/{job}/cause", show), ("POST", "/job/{job}/cause", decide)]
