"""Make safe: each caution that applies here and now is read and accepted, with the time of it."""

from typing import TYPE_CHECKING

from pwa.app import cautions, when
from pwa.app.content import find
from pwa.app.record import jobs
from pwa.app.record.chain import draft
from pwa.app.screens.evidence import stops
from pwa.app.visit import Reply, Visit, page, save
from pwa.app.worksheets import listing

if TYPE_CHECKING:
    from pwa.app.kinds.data import CautionAccepted
    from pwa.app.shapes import Distance
    from pwa.app.visit import Route


def show(visit: Visit) -> Reply:
    accepted = jobs.of_kind(visit.job["heads"], "caution-accepted")
    times = {
        record["data"]["caution"]: when.local(record["time"], visit.request["zone"]) for record in accepted
    }
    applying = cautions.applying(visit.job, visit.content)
    waiting = [caution for caution in applying if caution["key"] not in times]
    first = waiting[0] if waiting else None
    where = find(first["distances"], visit.asked("where")) if first else None
    context = {
        "first": first,
        "where": where,
        "cited": _cited(visit, where) if where else "",
        "rows": [{"title": item["title"], "accepted": times.get(item["key"], "")} for item in applying],
        "left": len(waiting),
        "stops": stops.shown(visit),
        "looks": stops.looks(visit),
        "offered": listing.at_step(visit, "safe"),
    }
    return page("job/safe.html", context)


def accept(visit: Visit) -> Reply:
    """Accept one caution; with the distances shown, the record keeps their words, for the law may change."""
    caution, back = find(visit.content["cautions"], visit.field("caution")), visit.at("safe")
    if caution is None:
        return page(
            "frame/missing.html", {"what": "This caution does not exist in this version."}, status=422
        )
    if caution["key"] in visit.job["cautions"]:
        return save([], back)
    data: CautionAccepted = {"caution": caution["key"]}
    where = find(caution["distances"], visit.field("where"))
    if where:
        data["place"], data["rule"] = where["place"], where["rule"]
        data["source"], data["as_of"] = _cited(visit, where), where["as_of"]
    return save([draft(visit.job["id"], "caution-accepted", data)], back)


def _cited(visit: Visit, where: "Distance") -> str:
    """The source of what one jurisdiction wants, in words."""
    return visit.content["sources"][where["source"]]["text"]


ROUTES: "list[Route]" = [("GET", "/job/{job}/safe", show), ("POST", "/job/{job}/safe", accept)]
