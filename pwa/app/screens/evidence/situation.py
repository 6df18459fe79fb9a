"""Where the truck stands now; the checks that are offered, and what answers prove, depend on it."""

from typing import TYPE_CHECKING, TypedDict

from pwa.app.evidence.situation import here, tools
from pwa.app.kinds.situation import ASSEMBLED, HEATS, PLACES, STATES
from pwa.app.record import jobs
from pwa.app.record.chain import draft
from pwa.app.visit import Reply, Visit, page, save

if TYPE_CHECKING:
    from pwa.app.kinds.data import Here
    from pwa.app.visit import Route


class Tick(TypedDict):
    key: str
    label: str
    ticked: bool


def show(visit: Visit) -> Reply:
    now = here(visit.job)
    known = tools(visit.content)
    context = {
        "now": now,
        "places": PLACES,
        "heats": HEATS,
        "states": STATES,
        "openings": _ticks(
            [(item["key"], item["name"]) for item in visit.content["openings"]], now["opened"]
        ),
        "tools": [{"key": tool, "label": tool, "ticked": tool not in now["without"]} for tool in known],
    }
    return page("evidence/situation.html", context)


def say(visit: Visit) -> Reply:
    data: Here = {
        "place": _one_of(PLACES, visit.field("place"), here(visit.job)["place"]),
        "heat": _one_of(HEATS, visit.field("heat"), ""),
        "state": _one_of(STATES, visit.field("state"), ASSEMBLED),
        "without": [tool for tool in tools(visit.content) if tool not in visit.fields("tool")],
        "opened": [
            item["key"] for item in visit.content["openings"] if item["key"] in visit.fields("opened")
        ],
    }
    earlier = jobs.of_kind(visit.job["heads"], "here")
    return save([draft(visit.job["id"], "here", data, jobs.ids(earlier))], visit.at("isolate"))


def _one_of(options: "list[dict[str, str]]", key: str, otherwise: str) -> str:
    return key if key in [option["key"] for option in options] else otherwise


def _ticks(options: "list[tuple[str, str]]", ticked: "list[str]") -> "list[Tick]":
    return [{"key": key, "label": label, "ticked": key in ticked} for key, label in options]


ROUTES: "list[Route]" = [("GET", "/job/{job}/here", show), ("POST", "/job/{job}/here", say)]
