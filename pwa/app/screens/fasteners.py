"""Close up: a torque sheet for each place, with the shop's value and its source, and each bolt ticked."""

from typing import TYPE_CHECKING

from pwa.app import cautions, offer
from pwa.app import job as jobs
from pwa.app.records import draft
from pwa.app.story import name_of
from pwa.app.visit import Reply, Visit, page, save
from pwa.engine import fasteners, units

if TYPE_CHECKING:
    from typing import Any

    from pwa.app.protocol import Record
    from pwa.app.visit import Route

KINDS = [
    {"key": "cross", "label": "Cross"},
    {"key": "circle", "label": "Round and round"},
    {"key": "spiral", "label": "From the middle outwards"},
]
UNITS = [{"key": "N·m", "label": "N·m"}, {"key": "lb·ft", "label": "lb·ft"}]
FIELDS = ("count", "kind", "torque", "unit", "source", "wrench", "extension", "angle")
MOST_BOLTS = 36
TOOL_SCATTER = 0.04  # ISO 6789: a setting torque tool is within 4 % above 10 N·m
DRAWING = 100  # half the drawing's width; the bolt circle has 0.72 of it


def show_list(visit: Visit) -> Reply:
    held = cautions.hold(visit, "fasteners")
    if held:
        return held
    rows = []
    for place in visit.content["fasteners"]:
        sheet = _sheet(visit, place["key"])
        state = "No value entered yet"
        if sheet:
            done = len(_torqued(visit, sheet))
            state = f"{done} of {sheet['data']['count']} torqued to {_both(sheet['data']['torque'])}"
        mark = "done" if sheet and len(_torqued(visit, sheet)) == sheet["data"]["count"] else ""
        rows.append({"key": place["key"], "name": place["name"], "state": state, "mark": mark})
    return page("fasteners.html", {"rows": rows, "offered": offer.at_step(visit, "fasteners")})


def show(visit: Visit) -> Reply:
    return cautions.hold(visit, "fasteners") or _page(visit, {}, "")


def enter(visit: Visit) -> Reply:
    """The shop's value for this place. A new value starts a new sheet: bolts are torqued to it again."""
    typed = {name: visit.field(name) for name in FIELDS}
    try:
        data = _read(typed)
    except ValueError as error:
        return _page(visit, typed, str(error), 422)
    data["place"] = visit.params["place"]
    earlier = jobs.of_kind(visit.job["heads"], "fastener", place=visit.params["place"])
    return save(
        [draft(visit.job["id"], "fastener", data, jobs.ids(earlier))],
        visit.at("fasteners", visit.params["place"]),
    )


def tick(visit: Visit) -> Reply:
    """One bolt with the value the wrench showed."""
    sheet = _sheet(visit, visit.params["place"])
    if sheet is None:
        return _page(visit, {}, "Enter the torque and where it comes from first.", 422)
    typed = visit.field("actual")
    try:
        actual = units.parse(typed, "torque", sheet["data"]["unit"])
        bolt = int(visit.field("bolt"))
    except ValueError as error:
        return _page(visit, {}, f"The value at the wrench: {error}", 422)
    if not 1 <= bolt <= sheet["data"]["count"]:
        return _page(visit, {}, "There is no such bolt on this sheet.", 422)
    data = {"fastener": sheet["id"], "bolt": bolt, "actual": actual, "typed": typed}
    earlier = [
        record
        for record in jobs.of_kind(visit.job["heads"], "torque", fastener=sheet["id"])
        if record["data"]["bolt"] == bolt
    ]
    return save(
        [draft(visit.job["id"], "torque", data, jobs.ids(earlier))],
        visit.at("fasteners", visit.params["place"]),
    )


def _read(typed: "dict[str, str]") -> "dict[str, Any]":
    if not typed["source"]:
        raise ValueError(
            "Write where the torque comes from: the maker's manual and page, or who measured it."
        )
    if typed["unit"] not in [unit["key"] for unit in UNITS]:
        raise ValueError("Choose the unit of the torque.")
    if typed["kind"] not in [kind["key"] for kind in KINDS]:
        raise ValueError("Choose the order of tightening.")
    if not typed["count"].isdigit() or not 1 <= int(typed["count"]) <= MOST_BOLTS:
        raise ValueError(f"The number of fasteners is a whole number from 1 to {MOST_BOLTS}.")
    torque = units.parse(typed["torque"], "torque", typed["unit"])
    if torque <= 0:
        raise ValueError("The torque must be more than nothing.")
    data: dict[str, Any] = {
        "count": int(typed["count"]),
        "kind": typed["kind"],
        "torque": torque,
        "typed": typed["torque"],
        "unit": typed["unit"],
        "source": typed["source"],
        "wrench": None,
        "extension": None,
        "angle": None,
        "setting": torque,
    }
    if typed["extension"]:
        data["wrench"] = units.parse(typed["wrench"], "length", "mm")
        data["extension"] = units.parse(typed["extension"], "length", "mm")
        data["angle"] = units.parse(typed["angle"] or "0", "angle", "°")
        data["setting"] = fasteners.extension(torque, data["wrench"], data["extension"], data["angle"])
    return data


def _page(visit: Visit, typed: "dict[str, str]", error: str, status: int = 200) -> Reply:
    place = None
    for item in visit.content["fasteners"]:
        if item["key"] == visit.params["place"]:
            place = item
    if place is None:
        return page("missing.html", {"what": "This version knows no such place."}, status=404)
    sheet = _sheet(visit, place["key"])
    shown = {name: typed.get(name, "") for name in FIELDS}
    context = {
        "place": place,
        "typed": shown,
        "error": error,
        "kinds": KINDS,
        "units": UNITS,
        "sheet": _sheet_view(visit, sheet) if sheet else None,
    }
    return page("fastener.html", context, status)


def _sheet_view(visit: Visit, sheet: "Record") -> "dict[str, Any]":
    data, torqued = sheet["data"], _torqued(visit, sheet)
    order = fasteners.pattern(data["count"], data["kind"])
    places = fasteners.positions(data["count"])
    bolts: list[dict[str, Any]] = []
    for turn in range(len(order)):
        bolt = order[turn]
        x, y = places[bolt - 1]
        actual = torqued.get(bolt)
        off = actual is not None and abs(actual - data["torque"]) > TOOL_SCATTER * data["torque"]
        bolts.append(
            {
                "bolt": bolt,
                "turn": turn + 1,
                "x": f"{72 * x:.1f}",
                "y": f"{72 * y:.1f}",
                "actual": "" if actual is None else _both(actual),
                "off": off,
            }
        )
    waiting = [bolt for bolt in bolts if not bolt["actual"]]
    return {
        "count": data["count"],
        "torque": _both(data["torque"]),
        "source": data["source"],
        "unit": data["unit"],
        "setting": _both(data["setting"]) if data["extension"] else "",
        "bolts": bolts,
        "next": waiting[0] if waiting else None,
        "kind": name_of({"kinds": KINDS}, "kinds", data["kind"], "label"),
    }


def _sheet(visit: Visit, place: str) -> "Record | None":
    return jobs.latest(visit.job["settled"], "fastener", place=place)


def _torqued(visit: Visit, sheet: "Record") -> "dict[int, float]":
    """Bolt number -> actual torque in N·m."""
    ticks = jobs.of_kind(visit.job["settled"], "torque", fastener=sheet["id"])
    return {record["data"]["bolt"]: record["data"]["actual"] for record in ticks}


def _both(torque: float) -> str:
    """A torque as both kinds of wrench show it."""
    return f"{units.show(torque, 'N·m')} ({units.show(torque, 'lb·ft')})"


ROUTES: "list[Route]" = [
    ("GET", "/job/{job}/fasteners", show_list),
    ("GET", "/job/{job}/fasteners/{place}", show),
    ("POST", "/job/{job}/fasteners/{place}", enter),
    ("POST", "/job/{job}/fasteners/{place}/tick", tick),
]
