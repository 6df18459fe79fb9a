"""Prove: each check after the repair, with its result and number."""

from typing import TYPE_CHECKING

from pwa.app import cautions
from pwa.app import job as jobs
from pwa.app.records import draft
from pwa.app.visit import Reply, Visit, page, save

if TYPE_CHECKING:
    from typing import Any

    from pwa.app.visit import Route

RESULTS = [{"key": "passed", "label": "Passed"}, {"key": "failed", "label": "Failed"}]


def show(visit: Visit) -> Reply:
    return cautions.hold(visit, "prove") or _page(visit, "", "")


def write(visit: Visit) -> Reply:
    key, result, value = visit.field("proof"), visit.field("result"), visit.field("value")
    proof = None
    for item in visit.content["proofs"]:
        if item["key"] == key:
            proof = item
    if proof is None:
        return page("missing.html", {"what": "This version knows no such proof."}, status=404)
    if result not in [item["key"] for item in RESULTS]:
        return _page(visit, key, "Choose passed or failed.", 422)
    if proof["answer"] == "number" and not value:
        return _page(visit, key, f"Type the value in {proof['unit']}.", 422)
    data = {
        "proof": key,
        "result": result,
        "value": value,
        "unit": proof["unit"],
        "note": visit.field("note"),
    }
    earlier = jobs.of_kind(visit.job["heads"], "proof", proof=key)
    return save([draft(visit.job["id"], "proof", data, jobs.ids(earlier))], visit.at("prove"))


def _page(visit: Visit, wrong: str, error: str, status: int = 200) -> Reply:
    done = {record["data"]["proof"]: record["data"] for record in jobs.of_kind(visit.job["settled"], "proof")}
    rows: list[dict[str, Any]] = []
    for proof in visit.content["proofs"]:
        row = dict(proof)
        row["done"] = done.get(proof["key"])
        row["error"] = error if proof["key"] == wrong else ""
        rows.append(row)
    return page("prove.html", {"rows": rows, "results": RESULTS, "left": len(rows) - len(done)}, status)


ROUTES: "list[Route]" = [("GET", "/job/{job}/prove", show), ("POST", "/job/{job}/prove", write)]
