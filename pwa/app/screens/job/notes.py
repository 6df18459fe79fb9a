"""Notes, the timeline of everything, corrections, and settling what two people wrote differently."""

from typing import TYPE_CHECKING

from pwa.app.kinds.table import KINDS
from pwa.app.record import chain
from pwa.app.record.chain import draft
from pwa.app.screens.job import aside, withdraw
from pwa.app.story import changed_by, tell, title
from pwa.app.visit import Reply, Visit, page, save

if TYPE_CHECKING:
    from typing import Any

    from pwa.app.protocol import Record
    from pwa.app.visit import Route


def ask(visit: Visit) -> Reply:
    return page("job/note.html", {"typed": "", "error": ""})


def write(visit: Visit) -> Reply:
    text = visit.field("text")
    if not text:
        return page("job/note.html", {"typed": "", "error": "The note is empty."}, status=422)
    return save([draft(visit.job["id"], "note", {"text": text})], visit.at("timeline"))


def timeline(visit: Visit) -> Reply:
    entries = [
        {
            "told": tell(record, visit),
            "replaced": record["id"] in visit.job["replaced"],
            "changed_by": "; ".join(changed_by(record, visit)),
        }
        for record in reversed(visit.records)
    ]
    context = {
        "entries": entries,
        "can_go": [record["id"] for record in visit.records if withdraw.can_go(record)],
        "can_aside": [record["id"] for record in visit.records if aside.can(visit, record)],
    }
    return page("job/timeline.html", context)


def ask_correction(visit: Visit) -> Reply:
    record = _correctable(visit)
    if record is None:
        return _not_correctable()
    return _correction_form(visit, record, record["data"].get(_field(record).name, ""), "")


def correct(visit: Visit) -> Reply:
    record = _correctable(visit)
    if record is None:
        return _not_correctable()
    text, field = visit.field("text"), _field(record)
    if not text and field.needed:
        return _correction_form(visit, record, "", f"The {record['kind']} is empty.", 422)
    data = dict(record["data"])
    data[field.name] = text
    return save([chain.again(record, data, [record["id"]])], visit.at("timeline"))


def _correctable(visit: Visit) -> "Record | None":
    for record in visit.job["heads"]:
        if record["id"] == visit.params["record"] and _is_correctable(record):
            return record
    return None


def _is_correctable(record: "Record") -> bool:
    kind = KINDS.get(record["kind"])
    return bool(kind and kind.corrects)


def _field(record: "Record") -> "Any":
    """The field of words that a correction writes anew."""
    kind = KINDS[record["kind"]]
    return next(field for field in kind.fields if field.name == kind.corrects)


def _not_correctable() -> Reply:
    return page(
        "frame/missing.html", {"what": "This entry was corrected already or is not here."}, status=404
    )


def _correction_form(visit: Visit, record: "Record", typed: str, error: str, status: int = 200) -> Reply:
    entry = tell(record, visit)
    context = {"entry": entry, "kind": record["kind"], "typed": typed, "error": error}
    return page("job/correct.html", context, status)


def show_conflicts(visit: Visit) -> Reply:
    conflicts = [
        {
            "title": title(conflict["kind"]).rstrip(":."),
            "entries": [tell(record, visit) for record in conflict["records"]],
        }
        for conflict in visit.job["conflicts"]
    ]
    return page("job/settle.html", {"conflicts": conflicts})


def settle(visit: Visit) -> Reply:
    """Write anew what counts, in a record that replaces all the answers the person saw."""
    kept = [record for record in visit.job["heads"] if record["id"] == visit.field("keep")]
    if not kept:
        return page(
            "frame/missing.html",
            {"what": "Somebody settled this already. Look at the job again."},
            status=404,
        )
    record = kept[0]
    here = {head["id"] for head in visit.job["heads"]}
    replaced = [item for item in visit.fields("replaces") if item in here]
    return save([chain.again(record, record["data"], replaced)], visit.at())


ROUTES: "list[Route]" = [
    ("GET", "/job/{job}/note", ask),
    ("POST", "/job/{job}/note", write),
    ("GET", "/job/{job}/timeline", timeline),
    ("GET", "/job/{job}/correct/{record}", ask_correction),
    ("POST", "/job/{job}/correct/{record}", correct),
    ("GET", "/job/{job}/settle", show_conflicts),
    ("POST", "/job/{job}/settle", settle),
]
