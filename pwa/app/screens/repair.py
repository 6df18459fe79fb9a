"""Repair: what was chosen to be done, and what has to be done beside it."""

from typing import TYPE_CHECKING

from pwa.app import cautions
from pwa.app import job as jobs
from pwa.app.records import draft
from pwa.app.visit import Reply, Visit, page, save

if TYPE_CHECKING:
    from typing import Any

    from pwa.app.visit import Route


def show(visit: Visit) -> Reply:
    return cautions.hold(visit, "repair") or _page(visit, "")


def choose(visit: Visit) -> Reply:
    key = visit.field("repair")
    if key not in [repair["key"] for repair in visit.content["repairs"]]:
        return _page(visit, "Choose what is done.", 422)
    data = {"repair": key, "note": visit.field("note")}
    earlier = jobs.of_kind(visit.job["heads"], "repair", repair=key)
    return save([draft(visit.job["id"], "repair", data, jobs.ids(earlier))], visit.at("repair"))


def _page(visit: Visit, error: str, status: int = 200) -> Reply:
    chosen = {
        record["data"]["repair"]: record["data"] for record in jobs.of_kind(visit.job["settled"], "repair")
    }
    options = [{"key": item["key"], "label": item["name"]} for item in visit.content["repairs"]]
    rows: list[dict[str, Any]] = []
    for item in visit.content["repairs"]:
        if item["key"] in chosen:
            note = chosen[item["key"]].get("note", "")
            rows.append({"name": item["name"], "text": item["text"], "needs": item["needs"], "note": note})
    context = {"options": options, "chosen": rows, "error": error, "typed": visit.field("note")}
    return page("repair.html", context, status)


ROUTES: "list[Route]" = [("GET", "/job/{job}/repair", show), ("POST", "/job/{job}/repair", choose)]
