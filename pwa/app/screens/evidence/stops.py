"""Stop rules above a page, and saying how one was put right."""

from typing import TYPE_CHECKING, TypedDict

from pwa.app import cautions
from pwa.app.content import find
from pwa.app.evidence import stops
from pwa.app.visit import Reply, Visit, page, save
from pwa.engine.evidence.stops import SAYS

if TYPE_CHECKING:
    from pwa.app.visit import Route

UNSAID = "Write how it was put right, and who saw it."


class Shown(TypedDict):
    """A rule as a page shows it; `raised` by an answer, else only by what is off."""

    key: str
    says: str
    name: str
    title: str
    why: str
    lifts: str
    because: "list[str]"
    cautions: "list[str]"
    raised: bool


class Look(TypedDict):
    """One of the looks that come before everything else: its answers can do nothing but stop the work."""

    finding: str
    name: str
    answered: bool


def shown(visit: Visit) -> "list[Shown]":
    return [
        {
            "key": stop["stop"],
            "says": stop["says"],
            "name": stop["name"],
            "title": stop["title"],
            "why": stop["why"],
            "lifts": stop["lifts"],
            "because": stops.because(stop, visit.job, visit.content),
            "cautions": [
                item["title"]
                for item in cautions.applying(visit.job, visit.content)
                if item["key"] in stop["caution"]
            ],
            "raised": bool(stop["findings"]),
        }
        for stop in stops.standing(visit.job, visit.content)
    ]


def untouchable(stops: "list[Shown]") -> bool:
    """Whether a rule stands under which no plan is shown: nothing may be touched yet."""
    return any(stop["raised"] and stop["says"] == SAYS[0] for stop in stops)


def looks(visit: Visit) -> "list[Look]":
    """The findings that no cause shows and that raise a stop rule."""
    raising = {key for rule in visit.content["stops"] for key in rule["raised_by"]}
    return [
        {"finding": item["key"], "name": item["name"], "answered": item["key"] in visit.job["findings"]}
        for item in visit.content["findings"]
        if item["key"] in raising and not item["shown_by"]
    ]


def ask(visit: Visit) -> Reply:
    return _page(visit, visit.asked("stop"), "")


def lift(visit: Visit) -> Reply:
    key, how = visit.field("stop"), visit.field("how")
    if find(visit.content["stops"], key) is None or not how:
        return _page(visit, key, UNSAID)
    return save(stops.lift(visit.job, visit.content, key, how), visit.at("isolate"))


def _page(visit: Visit, key: str, error: str) -> Reply:
    rule = find(visit.content["stops"], key)
    if rule is None:
        return page("frame/missing.html", {"what": "This version knows no such rule."}, status=422)
    context = {"rule": rule, "error": error, "typed": visit.field("how")}
    return page("evidence/stop_lifted.html", context, 422 if error else 200)


ROUTES: "list[Route]" = [("GET", "/job/{job}/stop", ask), ("POST", "/job/{job}/stop", lift)]
