"""Close up: a torque sheet for each place, with the shop's value and its source, and each bolt ticked."""

from typing import TYPE_CHECKING, TypedDict

from pwa.app.bolts import diagram, torque_sheet
from pwa.app.bolts.torque_sheet import FIELDS, UNITS, both
from pwa.app.content import find
from pwa.app.gate import gate
from pwa.app.record import jobs
from pwa.app.record.chain import draft
from pwa.app.visit import Reply, Visit, page, save
from pwa.app.worksheets import listing
from pwa.engine.numbers import units

if TYPE_CHECKING:
    from pwa.app.kinds.data import Fastener, Torque
    from pwa.app.protocol import RecordOf
    from pwa.app.shapes import Choice
    from pwa.app.visit import Route


class Bolt(diagram.Bolt):
    """A bolt with the value it was ticked with, and how far that was off; "" before."""

    actual: str
    off: str


class SheetView(TypedDict):
    """A torque sheet, its bolts drawn, with what to do next."""

    count: int
    kind: str
    flange: str
    size: str
    font: str
    bolts: "list[Bolt]"
    torque: str
    source: str
    plan: "list[str]"
    warnings: "list[str]"
    unit: str
    asks: str  # what to read off the wrench
    setting: str  # of the wrench, where an extension changes it
    next: "Bolt | None"


def show_list(visit: Visit) -> Reply:
    held = gate(visit, "fasteners")
    if held:
        return held
    rows = []
    for place in visit.content["fasteners"]:
        sheet = _sheet(visit, place["key"])
        state = "No value entered yet"
        if sheet:
            done = len(_ticks(visit, sheet))
            state = f"{done} of {sheet['data']['count']} torqued to {both(sheet['data']['torque'])}"
        mark = "done" if sheet and len(_ticks(visit, sheet)) == sheet["data"]["count"] else ""
        rows.append({"key": place["key"], "name": place["name"], "state": state, "mark": mark})
    return page("repair/fasteners.html", {"rows": rows, "offered": listing.at_step(visit, "fasteners")})


def show(visit: Visit) -> Reply:
    return gate(visit, "fasteners") or _page(visit, {}, "")


def enter(visit: Visit) -> Reply:
    """The shop's value for this place. A new value starts a new sheet: bolts are torqued to it again."""
    typed = {name: visit.field(name) for name in FIELDS}
    try:
        data = torque_sheet.read(typed, visit.params["place"])
    except ValueError as error:
        return _page(visit, typed, str(error), 422)
    earlier = jobs.of_kind(visit.job["heads"], "fastener", place=visit.params["place"])
    return save(
        [draft(visit.job["id"], "fastener", data, jobs.ids(earlier))],
        visit.at("fasteners", visit.params["place"]),
    )


def tick(visit: Visit) -> Reply:
    """One bolt with the value the wrench showed, or the angle it was turned by."""
    sheet = _sheet(visit, visit.params["place"])
    if sheet is None:
        return _page(visit, {}, "Enter the torque and where it comes from first.", 422)
    wanted, typed = sheet["data"], visit.field("actual")
    data: Torque = {"fastener": sheet["id"], "bolt": 0, "actual": wanted["torque"], "typed": typed}
    try:
        if wanted.get("turn"):
            data["turned"] = units.parse(typed, "angle", "°")
        else:
            shown = units.parse(typed, "torque", wanted["unit"])
            data["actual"] = shown * wanted["torque"] / wanted["setting"]  # at the bolt, behind the extension
        data["bolt"] = int(visit.field("bolt"))
    except ValueError as error:
        return _page(visit, {}, f"The value at the wrench: {error}", 422)
    if not 1 <= data["bolt"] <= wanted["count"]:
        return _page(visit, {}, "There is no such bolt on this sheet.", 422)
    earlier = [
        record
        for record in jobs.of_kind(visit.job["heads"], "torque", fastener=sheet["id"])
        if record["data"]["bolt"] == data["bolt"]
    ]
    return save(
        [draft(visit.job["id"], "torque", data, jobs.ids(earlier))],
        visit.at("fasteners", visit.params["place"]),
    )


def _page(visit: Visit, typed: "dict[str, str]", error: str, status: int = 200) -> Reply:
    place = find(visit.content["fasteners"], visit.params["place"])
    if place is None:
        return page("frame/missing.html", {"what": "This version knows no such place."}, status=404)
    sheet = _sheet(visit, place["key"])
    context = {
        "place": place,
        "typed": {name: typed.get(name, "") for name in FIELDS},
        "error": error,
        "kinds": diagram.KINDS,
        "units": UNITS,
        "choices": _choices(visit),
        "bolt_open": any(typed.get(name) for name in torque_sheet.BOLT),
        "sheet": _sheet_view(visit, sheet) if sheet else None,
    }
    return page("repair/fastener.html", context, status)


def _choices(visit: Visit) -> "dict[str, list[Choice]]":
    """Classes and states of the thread, as the worksheet that checks a torque has them."""
    measure = find(visit.content["measures"], torque_sheet.CHECK)
    if measure is None:
        return {"strength": [], "meant": [], "surface": []}
    return {item["key"]: item["choices"] for item in measure["inputs"] if item["choices"]}


def _sheet_view(visit: Visit, sheet: "RecordOf[Fastener]") -> SheetView:
    data, ticks = sheet["data"], _ticks(visit, sheet)
    drawn = diagram.drawing(data["count"], data["kind"])
    bolts = [_bolt(bolt, data, ticks.get(bolt["bolt"])) for bolt in drawn["bolts"]]
    waiting = [bolt for bolt in bolts if not bolt["actual"]]
    return {
        "count": drawn["count"],
        "kind": drawn["kind"],
        "flange": drawn["flange"],
        "size": drawn["size"],
        "font": drawn["font"],
        "bolts": bolts,
        "torque": both(data["torque"]),
        "source": data["source"],
        "plan": torque_sheet.plan(data),
        "warnings": _warnings(data),
        "unit": "°" if data.get("turn") else data["unit"],
        "asks": "how far it was turned after the torque" if data.get("turn") else "what the wrench showed",
        "setting": both(data["setting"]) if data["extension"] else "",
        "next": waiting[0] if waiting else None,
    }


def _bolt(bolt: diagram.Bolt, data: "Fastener", done: "Torque | None") -> Bolt:
    return {
        "bolt": bolt["bolt"],
        "turn": bolt["turn"],
        "x": bolt["x"],
        "y": bolt["y"],
        "actual": _ticked(done) if done else "",
        "off": torque_sheet.off(data, done) if done else "",
    }


def _warnings(data: "Fastener") -> "list[str]":
    """A sheet of another version may name a bolt that nobody here knows."""
    try:
        return torque_sheet.warnings(data)
    except ValueError as error:
        return [str(error)]


def _ticked(tick: "Torque") -> str:
    turned = tick.get("turned")
    return both(tick["actual"]) + (f" and {turned:g}°" if turned is not None else "")


def _sheet(visit: Visit, place: str) -> "RecordOf[Fastener] | None":
    return jobs.latest(visit.job["settled"], "fastener", place=place)


def _ticks(visit: Visit, sheet: "RecordOf[Fastener]") -> "dict[int, Torque]":
    """Bolt number -> what was ticked."""
    ticks = jobs.of_kind(visit.job["settled"], "torque", fastener=sheet["id"])
    return {record["data"]["bolt"]: record["data"] for record in ticks}


ROUTES: "list[Route]" = [
    ("GET", "/job/{job}/fasteners", show_list),
    ("GET", "/job/{job}/fasteners/{place}", show),
    ("POST", "/job/{job}/fasteners/{place}", enter),
    ("POST", "/job/{job}/fasteners/{place}/tick", tick),
]
