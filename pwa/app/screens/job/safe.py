"""Make safe: each caution that applies here and now is read and accepted, with the time of it."""

from typing import TYPE_CHECKING

from pwa.app import cautions, when
from pwa.app.content import find
from pwa.app.record import jobs
from pwa.app.record.chain import draft
from pwa.app.visit import Reply, Visit, page, save
from pwa.app.worksheets import listing

if TYPE_CHECKING:
    from typing import Any

    from pwa.app.kinds.data import CautionAccepted
    from pwa.app.shapes import Caution
    from pwa.app.visit import Route


def show(visit: Visit) -> Reply:
    accepted = jobs.of_kind(visit.job["heads"], "caution-accepted")
    times = {
        record["data"]["caution"]: when.local(record["time"], visit.request["zone"]) for record in accepted
    }
    rows: list[dict[str, Any]] = []
    applying = cautions.applying(visit.job, visit.content)
    for caution in applying:
        row: dict[str, Any] = dict(caution)
        row["accepted"] = times.get(caution["key"], "")
        rows.append(row)
    waiting = [caution for caution in applying if not times.get(caution["key"])]
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
    caution, back = find(visit.content["cautions"], visit.field("caution")), visit.at("safe")
    if caution is None:
        return page(
            "frame/missing.html", {"what": "This caution does not exist in this version."}, status=422
        )
    if caution["key"] in visit.job["cautions"]:
        return save([], back)
    data: CautionAccepted = {"caution": caution["key"]}
    where = _distance(visit, caution, visit.field("where"))
    if where:
        data["place"], data["rule"] = where["place"], where["rule"]
        data["source"], data["as_of"] = where["cited"], where["as_of"]
    return save([draft(visit.job["id"], "caution-accepted", data)], back)


def _distance(visit: Visit, caution: "Caution", key: str) -> "dict[str, Any] | None":
    """What one jurisdiction wants, with its source in words; None when none is chosen."""
    distance = find(caution["distances"], key)
    if distance is None:
        return None
    found: dict[str, Any] = dict(distance)
    found["cited"] = visit.content["sources"][distance["source"]]["text"]
    return found


ROUTES: "list[Route]" = [("GET", "/job/{job}/safe", show), ("POST", "/job/{job}/safe", accept)]
