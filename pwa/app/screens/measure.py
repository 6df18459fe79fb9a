"""Measurements: numbers typed at the truck become a verdict, and the verdict a finding."""

from typing import TYPE_CHECKING

from pwa.app import cautions, findings
from pwa.app import job as jobs
from pwa.app.records import draft
from pwa.app.visit import Reply, Visit, page, save
from pwa.engine import measures, units

if TYPE_CHECKING:
    from typing import Any

    from pwa.app.visit import Route
    from pwa.engine.measures.verdict import Verdict

QUANTITIES = {
    "V": "voltage",
    "mV": "voltage",
    "A": "current",
    "ohm": "resistance",
    "Ω": "resistance",
    "%": "percent",
    "°": "angle",
    "kPa": "pressure",
    "bar": "pressure",
    "s": "time",
    "m": "length",
    "mm": "length",
}


def show_list(visit: Visit) -> Reply:
    held = cautions.hold(visit, "measure")
    if held:
        return held
    done = {record["data"]["measure"]: record for record in jobs.of_kind(visit.job["settled"], "reading")}
    rows = []
    for measure in _available(visit):
        record = done.get(measure["key"])
        state = record["data"]["verdict"]["sentence"] if record else "Not measured"
        rows.append(
            {
                "key": measure["key"],
                "title": measure["title"],
                "state": state,
                "mark": "done" if record else "",
            }
        )
    return page("measure_list.html", {"rows": rows})


def show(visit: Visit) -> Reply:
    measure = _asked(visit)
    if measure is None:
        return _unknown()
    return cautions.hold(visit, "measure") or _form(visit, measure, {}, "", None)


def preview(visit: Visit) -> Reply:
    """The verdict on what is typed so far; says nothing until it can be computed."""
    measure = _asked(visit)
    if measure is None:
        return _unknown()
    if not all(visit.field(item["key"]) for item in measure["inputs"] if not item["optional"]):
        return page("verdict.html", {"verdict": None, "error": ""})
    verdict, error = _verdict(visit, measure)
    return page("verdict.html", {"verdict": _shown(visit, measure, verdict), "error": error})


def write(visit: Visit) -> Reply:
    measure = _asked(visit)
    if measure is None:
        return _unknown()
    verdict, error = _verdict(visit, measure)
    if verdict is None:
        return _form(visit, measure, visit.form_values(), error, None, 422)
    typed = {item["key"]: visit.field(item["key"]) for item in measure["inputs"]}
    values, limits = _values(visit, measure), _limits(visit, measure)
    data = {
        "measure": measure["key"],
        "typed": typed,
        "values": values,
        "limits": limits,
        "limit_source": visit.field("limit_source"),
        "verdict": verdict,
    }
    earlier = jobs.of_kind(visit.job["heads"], "reading", measure=measure["key"])
    drafts = [draft(visit.job["id"], "reading", data, jobs.ids(earlier))]
    if verdict["outcome"] and measure["finding"]:
        drafts += findings.answer(visit.job, measure["finding"], verdict["outcome"], "measure")
    return save(drafts, visit.at("measure", measure["key"]))


def _verdict(visit: Visit, measure: "dict[str, Any]") -> "tuple[Verdict | None, str]":
    try:
        values, limits = _values(visit, measure), _limits(visit, measure)
        return measures.calculate(measure["calculation"], values, limits), ""
    except ValueError as error:
        return None, str(error)


def _values(visit: Visit, measure: "dict[str, Any]") -> "dict[str, float]":
    values = {}
    for item in measure["inputs"]:
        typed = visit.field(item["key"])
        if typed:
            values[item["key"]] = _number(typed, item["unit"], item["label"])
        elif not item["optional"]:
            raise ValueError(f"Type the value for “{item['label']}”.")
    return values


def _limits(visit: Visit, measure: "dict[str, Any]") -> "dict[str, float]":
    """Each limit as the shop typed it, else as content has it, in the unit it is written in."""
    limits, changed = {}, False
    for item in measure["limits"]:
        typed = visit.field("limit_" + item["key"])
        limits[item["key"]] = _number(typed, item["unit"], item["label"]) if typed else item["value"]
        changed = changed or limits[item["key"]] != item["value"]
    if changed and not visit.field("limit_source"):
        raise ValueError("You changed a limit: write where the new value comes from.")
    return limits


def _number(typed: str, unit: str, label: str) -> float:
    try:
        return units.parse(typed, QUANTITIES.get(unit, unit), unit)
    except ValueError as error:
        raise ValueError(f"{label}: {error}") from None


def _form(
    visit: Visit,
    measure: "dict[str, Any]",
    typed: "dict[str, str]",
    error: str,
    verdict: "Verdict | None",
    status: int = 200,
) -> Reply:
    record = jobs.latest(visit.job["settled"], "reading", measure=measure["key"])
    if record and not typed:
        typed, verdict = record["data"]["typed"], record["data"]["verdict"]
    inputs = []
    for item in measure["inputs"]:
        row = dict(item)
        row["typed"] = typed.get(item["key"], "")
        inputs.append(row)
    limits = []
    for item in measure["limits"]:
        row = dict(item)
        row["typed"] = typed.get("limit_" + item["key"], "")
        row["cited"] = visit.content["sources"][item["source"]]["text"]
        limits.append(row)
    context = {
        "measure": measure,
        "inputs": inputs,
        "limits": limits,
        "error": error,
        "verdict": _shown(visit, measure, verdict),
    }
    return page("measure.html", context, status)


def _shown(visit: Visit, measure: "dict[str, Any]", verdict: "Verdict | None") -> "dict[str, Any] | None":
    """A verdict as the page shows it: numbers rounded, and good when it is the finding's normal outcome."""
    if verdict is None:
        return None
    normal = ""
    for finding in visit.content["findings"]:
        if finding["key"] == measure["finding"]:
            normal = finding["outcomes"][0]["key"]
    mark = "unsure" if not verdict["outcome"] else "good" if verdict["outcome"] == normal else "bad"
    details = [
        {"label": item["label"], "value": f"{item['value']:.4g}", "unit": item["unit"]}
        for item in verdict["details"]
    ]
    return {"mark": mark, "sentence": verdict["sentence"], "details": details}


def _available(visit: Visit) -> "list[dict[str, Any]]":
    return [item for item in visit.content["measures"] if visit.job["opened"]["drive"] in item["drives"]]


def _asked(visit: Visit) -> "dict[str, Any] | None":
    for measure in visit.content["measures"]:
        if measure["key"] == visit.params["measure"]:
            return dict(measure)
    return None


def _unknown() -> Reply:
    return page("missing.html", {"what": "This version knows no such measurement."}, status=404)


ROUTES: "list[Route]" = [
    ("GET", "/job/{job}/measure", show_list),
    ("GET", "/job/{job}/measure/{measure}", show),
    ("POST", "/job/{job}/measure/{measure}", write),
    ("POST", "/job/{job}/measure/{measure}/preview", preview),
]
