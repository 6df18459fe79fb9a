"""Worksheets: every measure of the handbook alone, without a job. Nothing is saved."""

from typing import TYPE_CHECKING

from pwa.app.screens.worksheets.measure import asked, judged, longer, unknown
from pwa.app.visit import Reply, Visit, page
from pwa.app.worksheets import listing, view, worksheet
from pwa.app.worksheets.worksheet import Worksheet

if TYPE_CHECKING:
    from pwa.app.visit import Route
    from pwa.engine.measures.verdict import Verdict


def show_list(visit: Visit) -> Reply:
    return page(
        "worksheets/work_list.html",
        {"groups": listing.alone(visit.content["measures"]), "kind": visit.asked("kind")},
    )


def show(visit: Visit) -> Reply:
    measure = asked(visit)
    return unknown() if measure is None else _form(visit, Worksheet(measure, {}), None)


def work_out(visit: Visit) -> Reply:
    measure = asked(visit)
    if measure is None:
        return unknown()
    sheet = Worksheet(measure, visit.request["form"])
    if sheet.text(worksheet.MORE):
        return _form(visit, sheet, None)
    sheet.require(source=False)
    verdict = sheet.verdict()
    return _form(visit, sheet, verdict, 200 if verdict else 422)


def preview(visit: Visit) -> Reply:
    measure = asked(visit)
    return unknown() if measure is None else judged(visit, Worksheet(measure, visit.request["form"]))


def rows(visit: Visit) -> Reply:
    measure = asked(visit)
    return unknown() if measure is None else longer(visit, measure)


def _form(visit: Visit, sheet: Worksheet, verdict: "Verdict | None", status: int = 200) -> Reply:
    context = view.context(visit.content, sheet, verdict, "/worksheets/" + sheet.measure["key"])
    return page("worksheets/work.html", context, status)


ROUTES: "list[Route]" = [
    ("GET", "/worksheets", show_list),
    ("GET", "/worksheets/{measure}", show),
    ("POST", "/worksheets/{measure}", work_out),
    ("POST", "/worksheets/{measure}/preview", preview),
    ("POST", "/worksheets/{measure}/rows", rows),
]
