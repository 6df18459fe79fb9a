"""Repair: what each would cost and leave, what was chosen to be done, and what has to be done beside it."""

from typing import TYPE_CHECKING, TypedDict

from pwa.app.content import find
from pwa.app.evidence import isolation, plan, prices
from pwa.app.gate import gate
from pwa.app.record import jobs
from pwa.app.record.chain import draft
from pwa.app.screens.evidence import stops
from pwa.app.visit import Reply, Visit, page, save
from pwa.engine.evidence.case import of_type

if TYPE_CHECKING:
    from pwa.app.kinds.data import Repair
    from pwa.app.visit import Route


class Chosen(TypedDict):
    """A repair that is going to be done."""

    name: str
    text: str
    needs: "list[str]"
    note: str


class Row(TypedDict):
    """One repair alone under the evidence, chances in words."""

    name: str
    cost: str
    search: str  # what of it goes into finding the place; "" where the place is known
    cures: str
    width: str
    comes_back: str
    with_upstream: str  # "" where nothing upstream bears on it
    assumes: "list[str]"


class Weighed(TypedDict):
    plan: "plan.Plan"
    come_back_cost: str
    own: bool  # the shop gave its own prices
    rows: "list[Row]"


def show(visit: Visit) -> Reply:
    return gate(visit, "repair") or _page(visit, "")


def choose(visit: Visit) -> Reply:
    key = visit.field("repair")
    if find(visit.content["repairs"], key) is None:
        return _page(visit, "Choose what is done.", 422)
    data: Repair = {"repair": key, "note": visit.field("note")}
    earlier = jobs.of_kind(visit.job["heads"], "repair", repair=key)
    return save([draft(visit.job["id"], "repair", data, jobs.ids(earlier))], visit.at("repair"))


def _page(visit: Visit, error: str, status: int = 200) -> Reply:
    chosen = {
        record["data"]["repair"]: record["data"] for record in jobs.of_kind(visit.job["settled"], "repair")
    }
    drive = visit.job["opened"]["drive"]
    off = visit.shop["prices"]["off"]
    possible = [
        item
        for item in visit.content["repairs"]
        if of_type(item["drives"], drive) and not item["retired"] and item["key"] not in off
    ]
    rows: list[Chosen] = []
    for item in visit.content["repairs"]:
        if item["key"] in chosen:
            note = chosen[item["key"]].get("note", "")
            rows.append({"name": item["name"], "text": item["text"], "needs": item["needs"], "note": note})
    stopped = stops.shown(visit)
    weighed = None if stops.untouchable(stopped) else _weighed(visit)
    context = {
        "options": [{"key": item["key"], "label": item["name"]} for item in possible],
        "chosen": rows,
        "stops": stopped,
        "error": error,
        "typed": visit.field("note"),
        "weighed": weighed,
        "plan": weighed["plan"] if weighed else None,
    }
    return page("repair/repair.html", context, status)


def _weighed(visit: Visit) -> "Weighed | None":
    """The plan and the repairs under the evidence; None where the answers cannot all be true."""
    try:
        best, options = isolation.options(visit.job, visit.content, visit.shop)
    except ValueError:
        return None
    return {
        "plan": plan.told(best, visit.content, visit.shop),
        "come_back_cost": prices.as_text(prices.come_back(visit.shop), visit.shop),
        "own": bool(visit.shop["prices"]["rate"]),
        "rows": [
            {
                "name": option["name"],
                "cost": prices.as_text(option["cost"], visit.shop),
                "search": prices.as_text(option["search"], visit.shop) if option["search"] else "",
                "cures": isolation.percent(option["cures"]),
                "width": f"{100 * option['cures']:.1f}",
                "comes_back": isolation.percent(option["comes_back"]),
                "with_upstream": isolation.percent(option["with_upstream"]) if option["assumes"] else "",
                "assumes": [f"{item['name']} ({isolation.percent(item['p'])})" for item in option["assumes"]],
            }
            for option in options
        ],
    }


ROUTES: "list[Route]" = [("GET", "/job/{job}/repair", show), ("POST", "/job/{job}/repair", choose)]
