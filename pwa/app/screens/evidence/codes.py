"""Codes: typed as the display shows them, decoded, and kept even when nobody knows them."""

from typing import TYPE_CHECKING, TypedDict

from pwa.app.evidence import code_findings, code_meaning, findings
from pwa.app.evidence.code_meaning import YES
from pwa.app.kinds.names import NOT_CHECKED
from pwa.app.record import jobs
from pwa.app.record.chain import draft
from pwa.app.visit import Reply, Visit, page, save
from pwa.engine.codes import dtc

if TYPE_CHECKING:
    from pwa.app.kinds.data import Code
    from pwa.app.protocol import Draft, RecordOf
    from pwa.app.shapes import Finding
    from pwa.app.visit import Context, Route

BY = "code"  # who answered a finding: a code, or that there is none
STATUSES = (
    {"key": code_findings.ACTIVE, "label": "Active now"},
    {"key": code_findings.STORED, "label": "Stored, not active"},
    {"key": "", "label": "Not known"},
)


class Row(TypedDict):
    """A code with what it means, as the page lists it; `ask` when somebody has to say what it is about."""

    id: str
    text: str
    kind: str
    about: str
    ask: bool
    label: str
    detail: str


def show(visit: Visit) -> Reply:
    return _page(visit, "", "")


def add(visit: Visit) -> Reply:
    typed = visit.field("typed")
    try:
        read = dtc.reports(typed)
    except ValueError as error:
        return _page(visit, typed, str(error), 422)
    if not any(report["codes"] for report in read["reports"]):
        if read["problems"]:
            return _page(visit, typed, " ".join(read["problems"]), 422)
        return _page(
            visit, typed, "These bytes say that no code is active. Press “No other codes” instead.", 422
        )
    status = visit.field("status")
    if status not in [item["key"] for item in STATUSES]:
        status = ""
    entries = [_entry(typed, status, report, code) for report in read["reports"] for code in report["codes"]]
    try:
        made = drafts(visit, entries)
    except ValueError as error:
        return _page(visit, typed, str(error), 422)
    return save(made, visit.at("codes"))


def _entry(typed: str, status: str, report: "dtc.Report", code: "dtc.Code") -> "Code":
    data: Code = {
        "typed": typed,
        "message": report["message"],
        "source": report["source"],
        "kind": code["kind"],
        "key": code["key"],
        "spn": code["spn"],
        "fmi": code["fmi"],
        "occurrences": code["occurrences"],
        "lamps": code["lamps"],
        "candidates": code["candidates"],
        "failure": code["failure"],
    }
    if status and not report["message"]:  # a message says itself whether its codes are active
        data["status"] = status
    return data


def drafts(visit: Visit, entries: "list[Code]") -> "list[Draft]":
    """The records of codes, and of the findings they answer; raises as `findings.answer`."""
    made: list[Draft] = [draft(visit.job["id"], "code", data) for data in entries]
    return made + _answers(visit, _standing(visit), entries)


def say_about(visit: Visit) -> Reply:
    """What a code is about that this version does not know, as somebody says who does."""
    id, about = visit.field("code"), visit.field("about")
    said = [record for record in jobs.of_kind(visit.job["heads"], "code") if record["id"] == id]
    if not said or about not in visit.content["codes"]["systems"]:
        return _page(visit, "", "Choose what the code is about.", 422)
    data = said[0]["data"].copy()
    data["about"] = about
    made: list[Draft] = [draft(visit.job["id"], "code", data, [id])]
    return save(made + _answers(visit, _standing(visit), [data], said[0]["data"]), visit.at("codes"))


def no_others(visit: Visit) -> Reply:
    return save(cleared(visit), visit.at("codes"))


def cleared(visit: Visit) -> "list[Draft]":
    """What no code can be about is answered: no such code."""
    made: list[Draft] = []
    for finding in _to_clear(visit):
        made += findings.answer(visit, finding["key"], finding["outcomes"][0]["key"], BY)
    return made


def _standing(visit: Visit) -> "list[Code]":
    return [record["data"] for record in jobs.of_kind(visit.job["heads"], "code")]


def _answers(
    visit: Visit, before: "list[Code]", fresh: "list[Code]", instead: "Code | None" = None
) -> "list[Draft]":
    """The findings that fresh codes answer, `instead` of an old one, and those that must be open again."""
    tables, made = visit.content["codes"], []
    was = code_findings.answers(tables, before)
    told = code_findings.answers(tables, [code for code in before if code is not instead] + fresh)
    new = code_findings.answers(tables, fresh)
    for finding in sorted(told):
        if finding in new or was.get(finding) != told[finding]:
            made += findings.answer(visit, finding, YES, BY, code_findings.weights(told[finding]))
    again = [finding for finding in sorted(was) if finding not in told]
    again += [name for name in code_findings.could(tables, fresh) if name not in told and name not in again]
    for finding in again:
        if _by_codes(visit, finding):
            made += findings.answer(visit, finding, NOT_CHECKED, BY)
    return made


def _by_codes(visit: Visit, finding: str) -> bool:
    """Whether the answer that stands was given here, and not by a person who looked again."""
    heads = jobs.of_kind(visit.job["heads"], "finding", finding=finding)
    return bool(heads) and all(record["data"].get("by") == BY for record in heads)


def _to_clear(visit: Visit) -> "list[Finding]":
    found = code_findings.cleared(visit.content, _standing(visit))
    return [item for item in found if item["key"] not in visit.job["findings"]]


def _page(visit: Visit, typed: str, error: str, status: int = 200) -> Reply:
    tables, codes = visit.content["codes"], jobs.of_kind(visit.job["heads"], "code")
    left = code_findings.could(tables, [record["data"] for record in codes])
    context: Context = {
        "codes": [_row(visit, record) for record in codes],
        "typed": typed,
        "error": error,
        "clears": len(_to_clear(visit)),
        "open": [
            item["name"]
            for item in code_findings.of_codes(visit.content)
            if item["key"] in left and item["key"] not in visit.job["findings"]
        ],
        "systems": sorted(
            [{"key": key, "label": tables["systems"][key]["name"]} for key in tables["systems"]],
            key=lambda item: item["label"],
        ),
        "statuses": STATUSES,
        "chosen": visit.field("status") if error else "",
    }
    return page("evidence/codes.html", context, status)


def _row(visit: Visit, record: "RecordOf[Code]") -> Row:
    data, tables = record["data"], visit.content["codes"]
    found = code_findings.meanings(tables, data)
    known = tables["systems"].get(found[0]["system"])
    return {
        "id": record["id"],
        "text": found[0]["text"] if len(found) == 1 else "One of several parameters: look it up.",
        "kind": found[0]["kind"],
        "about": known["name"] if known and len(found) == 1 else "",
        "ask": not code_meaning.is_known(tables, data),
        "label": label(data),
        "detail": _detail(data),
    }


def label(data: "Code") -> str:
    """The code as a display would show it."""
    return f"SPN {data['spn']} FMI {data['fmi']}" if data.get("kind") == "j1939" else str(data["key"])


def _detail(data: "Code") -> str:
    parts = []
    if code_findings.is_stored(data):
        parts.append("was active before, so it counts less")
    if data.get("source") is not None:
        parts.append(f"from control module {data['source']}")
    if data.get("occurrences") is not None:
        parts.append(f"seen {data['occurrences']} times")
    if data.get("lamps"):
        parts.append("lamps: " + ", ".join(data["lamps"]))
    if len(data.get("candidates") or []) > 1:
        others = ", ".join([str(spn) for spn in data["candidates"]])
        parts.append(f"old conversion method, the SPN is one of {others}")
    return "; ".join(parts)


ROUTES: "list[Route]" = [
    ("GET", "/job/{job}/codes", show),
    ("POST", "/job/{job}/codes", add),
    ("POST", "/job/{job}/codes/done", no_others),
    ("POST", "/job/{job}/codes/about", say_about),
]
