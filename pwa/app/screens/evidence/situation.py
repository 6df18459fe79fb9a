"""Where the truck stands now; the checks that are offered, and what answers prove, depend on it."""

from typing import TYPE_CHECKING, TypedDict

from pwa.app.evidence.situation import drafted, here, tools
from pwa.app.kinds.situation import HEATS, PLACES
from pwa.app.visit import Reply, Visit, page, save
from pwa.engine.evidence.case import of_type
from pwa.engine.evidence.truck import APART, HOUSING, opened_with

if TYPE_CHECKING:
    from pwa.app.kinds.situation import Here
    from pwa.app.visit import Route


class Tick(TypedDict):
    key: str
    label: str
    ticked: bool


def show(visit: Visit) -> Reply:
    now, known = here(visit.job), tools(visit.content)
    context = {
        "now": now,
        "places": PLACES,
        "heats": HEATS,
        "openings": _openings(visit, now["opened"]),
        "at_hand": len([tool for tool in known if tool not in now["without"]]),
        "tools": [{"key": tool, "label": tool, "ticked": tool not in now["without"]} for tool in known],
    }
    return page("evidence/situation.html", context)


def say(visit: Visit) -> Reply:
    opened = visit.fields("opened")
    if visit.field("state") == APART:  # from a page of an older version
        opened = opened + [HOUSING]
    now: Here = {
        "place": _one_of(PLACES, visit.field("place"), here(visit.job)["place"]),
        "heat": _one_of(HEATS, visit.field("heat"), ""),
        "without": [tool for tool in tools(visit.content) if tool not in visit.fields("tool")],
        "opened": opened_with(opened, visit.content["model"]["openings"]),
    }
    return save([drafted(visit.job, now)], visit.at("isolate"))


def _openings(visit: Visit, opened: "list[str]") -> "list[Tick]":
    """Those of this actuator type, and whatever else is open already."""
    drive = visit.job["opened"]["drive"]
    return [
        {"key": item["key"], "label": item["short"], "ticked": item["key"] in opened}
        for item in visit.content["openings"]
        if of_type(item["drives"], drive) or item["key"] in opened
    ]


def _one_of(options: "list[dict[str, str]]", key: str, otherwise: str) -> str:
    return key if key in [option["key"] for option in options] else otherwise


ROUTES: "list[Route]" = [("GET", "/job/{job}/here", show), ("POST", "/job/{job}/here", say)]
