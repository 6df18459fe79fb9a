"""Notes, the timeline of everything, corrections, and settling what two people wrote differently."""

from typing import TYPE_CHECKING

from pwa.app.record import chain, jobs
from pwa.app.record.chain import draft
from pwa.app.story import CORRECTABLE, TITLES, tell
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
    heads = set(jobs.ids(chain.heads(visit.records)))
    entries: list[dict[str, Any]] = []
    for record in reversed(visit.records):
        entry: dict[str, Any] = dict(tell(record, visit))
        entry["replaced"] = record["id"] not in heads
        entries.append(entry)
    return page("job/timeline.html", {"entries": entries})


def ask_correction(visit: Visit) -> Reply:
    record = _correctable(visit)
    if record is None:
        return _not_correctable()
    return _correction_form(
        visit, record, record["data"].get("text") or record["data"].get("caption", ""), ""
    )


def correct(visit: Visit) -> Reply:
    record = _correctable(visit)
    if record is None:
        return _not_correctable()
    text = visit.field("text")
    if not text and record["kind"] == "note":
        return _correction_form(visit, record, "", "The note is empty.", 422)
    data = dict(record["data"])
    data["text" if record["kind"] == "note" else "caption"] = text
    return save([draft(visit.job["id"], record["kind"], data, [record["id"]])], visit.at("timeline"))


def _correctable(visit: Visit) -> "Record | None":
    for record in visit.job["heads"]:
        if record["id"] == visit.params["record"] and record["kind"] in CORRECTABLE:
            return record
    return None


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
            "title": TITLES.get(conflict["kind"], conflict["kind"]).rstrip(":."),
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
    return save([draft(visit.job["id"], record["kind"], record["data"], replaced)], visit.at())


ROUTES: "list[Route]" = [
    ("GET", "/job/{job}/note", ask),
    ("POST", "/job/{job}/note", write),
    ("GET", "/job/{job}/timeline", timeline),
    ("GET", "/job/{job}/correct/{record}", ask_correction),
    ("POST", "/job/{job}/correct/{record}", correct),
    ("GET", "/job/{job}/settle", show_conflicts),
    ("POST", "/job/{job}/settle", settle),
]
