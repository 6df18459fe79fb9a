"""Measurements in a job: what is typed becomes a reading with its verdict, and the finding it answers."""

from typing import TYPE_CHECKING

from pwa.app.content import find
from pwa.app.evidence import findings
from pwa.app.gate import gate
from pwa.app.kinds.names import NOT_CHECKED
from pwa.app.record import jobs
from pwa.app.record.chain import draft
from pwa.app.recordings import kept
from pwa.app.visit import Reply, Visit, page, save
from pwa.app.worksheets import listing, view, worksheet
from pwa.app.worksheets.worksheet import WHOLE, Worksheet

if TYPE_CHECKING:
    from pwa.app.kinds.data import Reading
    from pwa.app.kinds.data import Verdict as Judged
    from pwa.app.protocol import Draft, Record, RecordOf
    from pwa.app.shapes import Measure
    from pwa.app.visit import Route
    from pwa.engine.measures.verdict import Verdict

BACK = {"safe": "Make safe", "fasteners": "Close up", "prove": "Prove"}  # steps that list their own measures


def show_list(visit: Visit) -> Reply:
    held = gate(visit, "measure")
    return held or page(
        "worksheets/measure_list.html", {"groups": listing.on_list(visit), "kind": visit.asked("kind")}
    )


def show(visit: Visit) -> Reply:
    measure = asked(visit)
    if measure is None:
        return unknown()
    held = gate(visit, measure["step"])
    if held:
        return held
    record = jobs.latest(visit.job["settled"], "reading", measure=measure["key"])
    if record:
        sheet = Worksheet(measure, worksheet.form_of(record["data"], measure))
        return _form(visit, sheet, record["data"]["verdict"], record)
    readings = [other["data"] for other in jobs.of_kind(visit.job["settled"], "reading")]
    form = worksheet.preferred(measure, readings, visit.content["measures"])
    return _form(visit, Worksheet(measure, form), None, None)


def preview(visit: Visit) -> Reply:
    """The verdict on what is typed so far; says nothing until all that is needed is there."""
    measure = asked(visit)
    if measure is None:
        return unknown()
    return judged(visit, Worksheet(measure, visit.request["form"]))


def rows(visit: Visit) -> Reply:
    """One table of the form again, with one row more."""
    measure = asked(visit)
    return unknown() if measure is None else longer(visit, measure)


def write(visit: Visit) -> Reply:
    measure = asked(visit)
    if measure is None:
        return unknown()
    sheet = Worksheet(measure, visit.request["form"])
    if sheet.text(worksheet.MORE):
        return _form(visit, sheet, None, None)
    sheet.require()
    verdict = _verdict(visit, sheet)
    if verdict is None and not (sheet.text("keep") and sheet.can_keep()):
        return _form(visit, sheet, None, None, 422)
    weights = sheet.likelihoods() if verdict and verdict["outcome"] else {}
    made = drafts(visit, measure, _data(sheet, verdict), weights)
    return save(made, visit.at("measure", measure["key"]))


def _verdict(visit: Visit, sheet: Worksheet) -> "Verdict | None":
    """As `Worksheet.verdict`, but None too where the finding has no such outcome: it is kept without one."""
    verdict = sheet.verdict()
    if verdict and verdict["outcome"] and sheet.measure["finding"]:
        try:
            findings.insist(visit.content, sheet.measure["finding"], verdict["outcome"])
        except ValueError as error:
            sheet.errors[WHOLE] = str(error)
            return None
    return verdict


def judged(visit: Visit, sheet: Worksheet) -> Reply:
    """The fragment below the form."""
    verdict = sheet.verdict() if sheet.complete() else None
    shown = view.shown(visit.content, sheet.measure, verdict)
    error = " ".join(sheet.problems()) if sheet.complete() else ""
    return page("worksheets/verdict.html", {"verdict": shown, "error": error})


def longer(visit: Visit, measure: "Measure") -> Reply:
    sheet = Worksheet(measure, visit.request["form"])
    for item in measure["inputs"]:
        if item["columns"] and item["key"] == sheet.text(worksheet.MORE):
            action = visit.request["path"][: -len("/rows")]
            return page("worksheets/rows.html", {"field": view.field(sheet, item), "action": action})
    return unknown()


def asked(visit: Visit) -> "Measure | None":
    return find(visit.content["measures"], visit.params["measure"])


def unknown() -> Reply:
    return page("frame/missing.html", {"what": "This version knows no such measurement."}, status=404)


def drafts(visit: Visit, measure: "Measure", data: "Reading", weights: "dict[str, float]") -> "list[Draft]":
    """The records of a reading and of what it answers; `weights` and errors as of `findings.answer`."""
    job, verdict = visit.job, data["verdict"]
    earlier = jobs.of_kind(job["heads"], "reading", measure=measure["key"])
    made = [draft(job["id"], "reading", data, jobs.ids(earlier))]
    outcome = verdict["outcome"] if verdict else ""
    if outcome and measure["finding"]:
        return made + findings.answer(visit, measure["finding"], outcome, "measure", weights)
    if _stood_on(job["settled"], measure["finding"], earlier):
        return made + findings.answer(visit, measure["finding"], NOT_CHECKED, "measure")
    return made


def _data(sheet: Worksheet, verdict: "Verdict | None") -> "Reading":
    """The reading as typed and as read."""
    return {
        "measure": sheet.measure["key"],
        "typed": sheet.typed,
        "units": sheet.units,
        "values": sheet.values,
        "limits": sheet.limits,
        "limit_source": sheet.source,
        "verdict": verdict,
        "refused": " ".join(sheet.problems()),
    }


def _stood_on(records: "list[Record]", finding: str, earlier: "list[RecordOf[Reading]]") -> bool:
    """Whether the finding's answer came from the readings that are now replaced."""
    standing = jobs.latest(records, "finding", finding=finding)
    if not finding or not standing or standing["data"].get("by") != "measure":
        return False
    said = [record["data"]["verdict"]["outcome"] for record in earlier if record["data"]["verdict"]]
    return standing["data"]["outcome"] in said


def _form(
    visit: Visit,
    sheet: Worksheet,
    verdict: "Verdict | Judged | None",
    record: "RecordOf[Reading] | None",
    status: int = 200,
) -> Reply:
    measure = sheet.measure
    step = measure["step"] if measure["step"] in BACK else "measure"
    context = view.context(visit.content, sheet, verdict, visit.at("measure", measure["key"]))
    context["refused"] = record["data"].get("refused", "") if record else ""
    context["recorded"] = kept.shown(record["data"]) if record else None
    context["step"] = {"key": step, "name": BACK.get(step, "Measure")}
    context["failed"] = status != 200
    context["keep"] = status != 200 and sheet.can_keep()
    if status == 200:  # nothing was asked to be judged
        context["wrong"], context["error"] = [], sheet.errors.get(WHOLE, "")
    return page("worksheets/measure.html", context, status)


ROUTES: "list[Route]" = [
    ("GET", "/job/{job}/measure", show_list),
    ("GET", "/job/{job}/measure/{measure}", show),
    ("POST", "/job/{job}/measure/{measure}", write),
    ("POST", "/job/{job}/measure/{measure}/preview", preview),
    ("POST", "/job/{job}/measure/{measure}/rows", rows),
]
