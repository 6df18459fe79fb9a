"""Make safe: each caution that applies here and now is read and accepted, with the time of it."""

from typing import TYPE_CHECKING

from pwa.app import cautions, when
from pwa.app import job as jobs
from pwa.app.records import draft
from pwa.app.visit import Reply, Visit, page, save

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
    context = {"first": waiting[0] if waiting else None, "rows": rows, "left": len(waiting)}
    return page("safe.html", context)


def accept(visit: Visit) -> Reply:
    key = visit.field("caution")
    if key not in [caution["key"] for caution in visit.content["cautions"]]:
        return page("missing.html", {"what": "This caution does not exist in this version."}, status=422)
    back = visit.at("safe")
    if key in visit.job["cautions"]:
        return save([], back)
    return save([draft(visit.job["id"], "caution-accepted", {"caution": key})], back)


ROUTES: "list[Route]" = [("GET", "/job/{job}/safe", show), ("POST", "/job/{job}/safe", accept)]
