"""Prove: each check after the repair, with its result and number."""

from typing import TYPE_CHECKING

from pwa.app.content import find
from pwa.app.gate import gate
from pwa.app.kinds.repair import FAILED, PASSED
from pwa.app.record import jobs
from pwa.app.record.chain import draft
from pwa.app.visit import Reply, Visit, page, save
from pwa.app.worksheets import listing
from pwa.engine.numbers import units

if TYPE_CHECKING:
    from pwa.app.kinds.data import Proof
    from pwa.app.shapes import Proof as Asked
    from pwa.app.visit import Context, Route

RESULTS = [{"key": PASSED, "label": "Passed"}, {"key": FAILED, "label": "Failed"}]
NONE = "none"  # no code came back


def show(visit: Visit) -> Reply:
    return gate(visit, "prove") or _page(visit, "", "")


def write(visit: Visit) -> Reply:
    proof = find(visit.content["proofs"], visit.field("proof"))
    if proof is None:
        return page("frame/missing.html", {"what": "This version knows no such proof."}, status=404)
    try:
        data = _data(visit, proof)
    except ValueError as error:
        return _page(visit, proof["key"], str(error), 422)
    earlier = jobs.of_kind(visit.job["heads"], "proof", proof=proof["key"])
    return save([draft(visit.job["id"], "proof", data, jobs.ids(earlier))], visit.at("prove"))


def _data(visit: Visit, proof: "Asked") -> "Proof":
    """The record's data. A proof that passed has its value; one that failed has that or a note."""
    result, typed, note = visit.field("result"), visit.field("value"), visit.field("note")
    if result not in [item["key"] for item in RESULTS]:
        raise ValueError("Choose passed or failed.")
    value = ""
    if proof["answer"] == "number" and typed:
        value = _in_unit(typed, proof["unit"])
    elif proof["answer"] == "codes":
        value = typed or (NONE if result == PASSED else "")
    if proof["answer"] == "number" and result == PASSED and not value:
        raise ValueError(f"Type the value in {proof['unit']}.")
    if result != PASSED and not value and not note:
        raise ValueError("Write what happened, so that the next person knows.")
    return {"proof": proof["key"], "result": result, "value": value, "unit": proof["unit"], "note": note}


def _in_unit(typed: str, unit: str) -> str:
    """What was typed, in any unit of the quantity, as a number in the proof's own unit."""
    for quantity, scales in units.UNITS.items():
        if unit in scales:
            factor, offset = scales[unit]
            return f"{(units.parse(typed, quantity, unit) - offset) / factor:.5g}"
    return f"{units.split(typed)[0]:.5g}"


def _page(visit: Visit, wrong: str, error: str, status: int = 200) -> Reply:
    done = {
        record["data"]["proof"]: {
            name: record["data"].get(name, "") for name in ("result", "value", "unit", "note")
        }
        for record in jobs.of_kind(visit.job["settled"], "proof")
    }
    rows: list[Context] = []
    for proof in visit.content["proofs"]:
        row: Context = dict(proof)
        row["done"] = done.get(proof["key"])
        is_wrong = proof["key"] == wrong
        row["error"] = error if is_wrong else ""
        row["typed"] = {name: visit.field(name) if is_wrong else "" for name in ("result", "value", "note")}
        rows.append(row)
    left = len([row for row in rows if not row["done"]])
    failed = [row["name"] for row in rows if row["done"] and row["done"]["result"] != PASSED]
    context = {
        "rows": rows,
        "results": RESULTS,
        "left": left,
        "failed": failed,
        "offered": listing.at_step(visit, "prove"),
    }
    return page("repair/prove.html", context, status)


ROUTES: "list[Route]" = [("GET", "/job/{job}/prove", show), ("POST", "/job/{job}/prove", write)]
