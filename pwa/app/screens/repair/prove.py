"""Prove: each check after the repair, with its result and number."""

from typing import TYPE_CHECKING

from pwa.app.content import find
from pwa.app.evidence import proofs
from pwa.app.gate import gate
from pwa.app.kinds.repair import FAILED, PASSED, applies
from pwa.app.record import jobs
from pwa.app.record.chain import draft
from pwa.app.visit import Reply, Visit, page, save
from pwa.app.worksheets import expected, listing
from pwa.engine.numbers import units

if TYPE_CHECKING:
    from pwa.app.kinds.data import Proof
    from pwa.app.shapes import Proof as Asked
    from pwa.app.visit import Context, Route

NOT_NEEDED = "does not apply"
RESULTS = [
    {"key": PASSED, "label": "Passed"},
    {"key": FAILED, "label": "Failed"},
    {"key": NOT_NEEDED, "label": "Does not apply"},
]
NONE = "none"  # no code came back
DRIVE = "road-test"  # the proof whose value is a boost


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
        raise ValueError("Choose passed or failed, or that it does not apply.")
    if result == NOT_NEEDED:
        if not note:
            raise ValueError("Write why it does not apply to this repair.")
        return {"proof": proof["key"], "result": FAILED, "applies": False, "note": note}
    value = ""
    if proof["answer"] == "number" and typed:
        value = _in_unit(typed, proof["unit"])
    elif proof["answer"] == "codes":
        value = typed or (NONE if result == PASSED else "")
    if proof["answer"] == "number" and result == PASSED and not value:
        raise ValueError(f"Type the value in {proof['unit']}.")
    if result != PASSED and not value and not note:
        raise ValueError("Write what happened, so that the next person knows.")
    data: Proof = {
        "proof": proof["key"],
        "result": result,
        "value": value,
        "unit": proof["unit"],
        "note": note,
    }
    against = expected.boost(visit) if proof["key"] == DRIVE and value else None
    if against:
        if result == PASSED and not note and expected.is_low(float(value), against):
            raise ValueError(
                f"{value} kPa is too little: {expected.as_text(against)}. "
                "Choose failed, or write why it passes."
            )
        data["against"] = expected.as_text(against)
    return data


def _in_unit(typed: str, unit: str) -> str:
    """What was typed, in any unit of the quantity, as a number in the proof's own unit."""
    for quantity, scales in units.UNITS.items():
        if unit in scales:
            factor, offset = scales[unit]
            return f"{(units.parse(typed, quantity, unit) - offset) / factor:.5g}"
    return f"{units.split(typed)[0]:.5g}"


def _page(visit: Visit, wrong: str, error: str, status: int = 200) -> Reply:
    done, asked = proofs.results(visit.job), proofs.needed(visit.job, visit.content)
    needed = [proof["key"] for proof in asked]
    against = expected.boost(visit)
    rows: list[Context] = []
    for proof in visit.content["proofs"]:
        if proof["key"] not in needed and proof["key"] not in done and proof["key"] != wrong:
            continue
        row: Context = dict(proof)
        row["done"] = _done(done.get(proof["key"]))
        row["against"] = expected.as_text(against) if against and proof["key"] == DRIVE else ""
        row["unknown"] = proof["key"] == DRIVE and not against
        is_wrong = proof["key"] == wrong
        row["error"] = error if is_wrong else ""
        row["typed"] = {name: visit.field(name) if is_wrong else "" for name in ("result", "value", "note")}
        rows.append(row)
    left = len([row for row in rows if not row["done"] and row["key"] in needed])
    failed = [row["name"] for row in rows if row["done"] and row["done"]["mark"] == "bad"]
    context = {
        "rows": rows,
        "results": RESULTS,
        "left": left,
        "failed": failed,
        "repaired": bool(jobs.of_kind(visit.job["settled"], "repair")),
        "offered": listing.at_step(visit, "prove"),
    }
    return page("repair/prove.html", context, status)


def _done(said: "Proof | None") -> "Context | None":
    if said is None:
        return None
    passed, fits = said["result"] == PASSED, applies(said)
    return {
        "result": said["result"] if fits else NOT_NEEDED,
        "mark": "good" if passed else "bad" if fits else "unsure",
        "value": said.get("value", ""),
        "unit": said.get("unit", ""),
        "note": said.get("note", ""),
        "against": said.get("against", ""),
    }


ROUTES: "list[Route]" = [("GET", "/job/{job}/prove", show), ("POST", "/job/{job}/prove", write)]
