"""Make safe: each caution that applies here and now is read and accepted, with the time of it."""

from typing import TYPE_CHECKING

from pwa.app import cautions, when
from pwa.app.record import jobs
from pwa.app.record.chain import draft
from pwa.app.visit import Reply, Visit, page, save
from pwa.app.worksheets import listing

if TYPE_CHECKING:
    from typing import Any

    from pwa.app.visit import Route


def show(visit: Visit) -> Reply:
    accepted = jobs.of_kind(visit.job["heads"], "caution-accepted")
    times = {
        record["data"]["caution"]: when.local(record["time"], visit.request["zone"]) for record in accepted
    }
    rows: list[dict[str, Any]] = []
    for caution in cautions.applying(visit.job, visit.content):
        row = dict(caution)
        row["accepted"] = times.get(caution["key"], "")
        rows.append(row)
    waiting = [row for row in rows if not row["accepted"]]
    first = waiting[0] if waiting else None
    context = {
        "first": first,
        "where": _distance(visit, first, visit.asked("where")) if first else None,
        "rows": rows,
        "left": len(waiting),
        "offered": listing.at_step(visit, "safe"),
    }
    return page("job/safe.html", context)


def accept(visit: Visit) -> Reply:
    """Accept one caution; with the distances shown, the record keeps their words, for the law may change."""
    for caution in visit.content["cautions"]:
        if caution["key"] == visit.field("caution"):
            return _accept(visit, caution)
    return page("frame/missing.html", {"what": "This caution does not exist in this version."}, status=422)


def _accept(visit: Visit, caution: "dict[str, Any]") -> Reply:
    back = visit.at("safe")
    if caution["key"] in visit.job["cautions"]:
        return save([], back)
    data = {"caution": caution["key"]}
    where = _distance(visit, caution, visit.field("where"))
    if where:
        data["place"], data["rule"] = where["place"], where["rule"]
        data["source"], data["as_of"] = where["cited"], where["as_of"]
    return save([draft(visit.job["id"], "caution-accepted", data)], back)


def _distance(visit: Visit, caution: "dict[str, Any]", key: str) -> "dict[str, Any] | None":
    """What one jurisdiction wants, with its source in words; None when none is chosen."""
    for distance in caution["distances"]:
        if distance["key"] == key:
            found = dict(distance)
            found["cited"] = visit.content["sources"][distance["source"]]["text"]
            return found
    return None


ROUTES: "list[Route]" = [("GET", "/job/{job}/safe", show), ("POST", "/job/{job}/safe", accept)]
