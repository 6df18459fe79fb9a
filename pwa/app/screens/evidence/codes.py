"""Codes: typed as the display shows them, decoded, and kept even when nobody knows them."""

from typing import TYPE_CHECKING

from pwa.app.evidence import code_meaning, findings
from pwa.app.record import jobs
from pwa.app.record.chain import draft
from pwa.app.visit import Reply, Visit, page, save
from pwa.engine.codes import dtc

if TYPE_CHECKING:
    from pwa.app.kinds.data import Code
    from pwa.app.protocol import Draft
    from pwa.app.visit import Route

CODE_FINDINGS = "code-"  # the findings that only codes answer have keys that start so


class Row(code_meaning.Meaning):
    """A code with what it means, as the page lists it."""

    key: str
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
    entries = [_entry(typed, report, code) for report in read["reports"] for code in report["codes"]]
    try:
        made = drafts(visit, entries)
    except ValueError as error:
        return _page(visit, typed, str(error), 422)
    return save(made, visit.at("codes"))


def _entry(typed: str, report: "dtc.Report", code: "dtc.Code") -> "Code":
    return {
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


def drafts(visit: Visit, entries: "list[Code]") -> "list[Draft]":
    """The records of codes, and of the findings they answer; raises as `findings.answer`."""
    made: list[Draft] = []
    said: set[str] = set()
    for data in entries:
        made.append(draft(visit.job["id"], "code", data))
        found = code_meaning.of_code(visit.content["codes"], data)
        # An old layout of the bytes leaves several parameters possible: shown, but no evidence.
        sure = len(data["candidates"]) <= 1
        if sure and found["finding"] and found["finding"] not in said:
            said.add(found["finding"])
            made += findings.answer(visit, found["finding"], found["outcome"], "code")
    return made


def no_others(visit: Visit) -> Reply:
    """What no code has answered so far is answered: no such code."""
    made: list[Draft] = []
    for finding in visit.content["findings"]:
        key = finding["key"]
        if key.startswith(CODE_FINDINGS) and key not in visit.job["findings"]:
            made += findings.answer(visit, key, finding["outcomes"][0]["key"], "code")
    return save(made, visit.at("codes"))


def _page(visit: Visit, typed: str, error: str, status: int = 200) -> Reply:
    rows = [_row(visit, record["data"]) for record in jobs.of_kind(visit.job["heads"], "code")]
    open_ends = [
        finding
        for finding in visit.content["findings"]
        if finding["key"].startswith(CODE_FINDINGS) and finding["key"] not in visit.job["findings"]
    ]
    context = {"codes": rows, "typed": typed, "error": error, "open": len(open_ends)}
    return page("evidence/codes.html", context, status)


def _row(visit: Visit, data: "Code") -> Row:
    found = code_meaning.of_code(visit.content["codes"], data)
    return {
        "text": found["text"],
        "kind": found["kind"],
        "finding": found["finding"],
        "outcome": found["outcome"],
        "key": data["key"],
        "label": label(data),
        "detail": _detail(data),
    }


def label(data: "Code") -> str:
    """The code as a display would show it."""
    return f"SPN {data['spn']} FMI {data['fmi']}" if data.get("kind") == "j1939" else str(data["key"])


def _detail(data: "Code") -> str:
    parts = []
    if data.get("message") == "DM2":
        parts.append("was active before")
    if data.get("source") is not None:
        parts.append(f"from control unit {data['source']}")
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
]
