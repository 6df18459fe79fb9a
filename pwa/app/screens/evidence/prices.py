"""The shop's labour rate, times and prices, for every job and every phone."""

from typing import TYPE_CHECKING, TypedDict

from pwa.app import story, when
from pwa.app.contract import SHOP
from pwa.app.record.chain import again, draft
from pwa.app.record.price_sheet import PAGE, earlier, sheet
from pwa.app.visit import Reply, Visit, page, save
from pwa.engine.numbers import typed_number

if TYPE_CHECKING:
    from pwa.app.kinds.data import Prices
    from pwa.app.shapes import Repair
    from pwa.app.visit import Context, Route

MOST = 1e7
FIELDS = ("currency", "rate", "come_back", "source")
TEXTS = ("currency", "source")
MADE, OFF = "made", "off"
OFFERED = [
    {"key": MADE, "label": "Made here"},
    {"key": OFF, "label": "Not sold, or the maker does not allow it"},
]


class Side(TypedDict):
    """One of several sheets that disagree, and what it says where they do."""

    id: str
    author: str
    time: str
    lines: "list[str]"


def show(visit: Visit) -> Reply:
    sheets = [_fields(visit, record["data"]) for record in visit.shop["standing"]]
    disputed = _disputed(sheets)
    first = sheets[0] if sheets else _fields(visit, {"rate": 0.0})
    return _form(visit, {name: first[name] for name in first if name not in disputed}, "", 200)


def write(visit: Visit) -> Reply:
    open_still = _unsettled(visit)
    if open_still:
        return _form(visit, visit.form_values(), open_still, 422)
    try:
        data: Prices = {
            "currency": visit.field("currency"),
            "source": visit.field("source"),
            "rate": _number(visit, "rate", "Labour rate"),
            "come_back": _number(visit, "come_back", "A comeback"),
            "minutes": _numbers(visit, "minutes_"),
            "parts": _numbers(visit, "parts_"),
            "off": [item["key"] for item in _offered(visit) if visit.field("off_" + item["key"]) == OFF],
        }
    except ValueError as error:
        return _form(visit, visit.form_values(), str(error), 422)
    if (data["parts"] or data["come_back"]) and not data["rate"]:
        problem = "Prices need the labour rate too, so that minutes and money can be compared."
        return _form(visit, visit.form_values(), problem, 422)
    return save([draft(SHOP, "prices", data, earlier(visit.records))], PAGE)


def settle(visit: Visit) -> Reply:
    """One of the sheets that disagree, written anew in place of all of them."""
    for record in sheet(visit.records)["standing"]:
        if record["id"] == visit.field("keep"):
            return save([again(record, record["data"], earlier(visit.records))], PAGE)
    what = "Somebody settled this already. Look at the prices again."
    return page("frame/missing.html", {"what": what}, status=404)


def _unsettled(visit: Visit) -> str:
    """What the page showed as disputed and the form leaves empty, as a sentence; "" if nothing."""
    standing = sheet(visit.records)["standing"]
    sheets = [_fields(visit, record["data"]) for record in standing]
    for name, label in _names(visit):
        if name in _disputed(sheets) and not visit.field(name):
            said = " and ".join([f"“{given[name] or 'nothing'}”" for given in sheets])
            none = "" if name in TEXTS or name.startswith("off_") else ", 0 for none"
            return f"{label}: people wrote {said}. Type what counts{none}."
    return ""


def _fields(visit: Visit, data: "Prices") -> "dict[str, str]":
    """A sheet as the form's fields show it."""
    minutes, parts = data.get("minutes", {}), data.get("parts", {})
    typed = {
        "currency": data.get("currency", ""),
        "source": data.get("source", ""),
        "rate": _shown(data["rate"]),
        "come_back": _shown(data.get("come_back", 0)),
    }
    for repair in _offered(visit):
        typed["minutes_" + repair["key"]] = _shown(minutes.get(repair["key"], 0))
        typed["parts_" + repair["key"]] = _shown(parts.get(repair["key"], 0))
        typed["off_" + repair["key"]] = OFF if repair["key"] in data.get("off", []) else MADE
    return typed


def _disputed(sheets: "list[dict[str, str]]") -> "list[str]":
    """The fields in which sheets disagree."""
    return [
        name
        for name in (sheets[0] if sheets else {})
        if any(other[name] != sheets[0][name] for other in sheets)
    ]


def _names(visit: Visit) -> "list[tuple[str, str]]":
    """Every field with its name in words."""
    names = [
        ("currency", "Currency"),
        ("rate", "Labour rate"),
        ("come_back", "A comeback"),
        ("source", "Source"),
    ]
    for repair in _offered(visit):
        names += [("minutes_" + repair["key"], f"{repair['name']}, labour in min")]
        names += [("parts_" + repair["key"], f"{repair['name']}, parts")]
        names += [("off_" + repair["key"], f"{repair['name']}, whether it is made here")]
    return names


def _sides(visit: Visit) -> "list[Side]":
    standing = visit.shop["standing"]
    sheets = [_fields(visit, record["data"]) for record in standing]
    disputed = _disputed(sheets)
    sides: list[Side] = []
    for record, given in zip(standing, sheets):
        lines = [f"{label}: {given[name] or 'nothing'}" for name, label in _names(visit) if name in disputed]
        time = when.local(record["time"], visit.request["zone"])
        sides.append({"id": record["id"], "author": visit.author(record), "time": time, "lines": lines})
    return sides if len(sides) > 1 else []


def _offered(visit: Visit) -> "list[Repair]":
    """The repairs that a shop can make."""
    return [item for item in visit.content["repairs"] if not item["retired"]]


def _numbers(visit: Visit, prefix: str) -> "dict[str, float]":
    found = {}
    for repair in _offered(visit):
        value = _number(visit, prefix + repair["key"], repair["name"])
        if value:
            found[repair["key"]] = value
    return found


def _number(visit: Visit, field: str, label: str) -> float:
    """What was typed, 0 if nothing was.

    Raises:
        ValueError: it is not an amount.
    """
    typed = visit.field(field)
    if not typed:
        return 0.0
    try:
        value, rest = typed_number.split(typed)
    except ValueError as error:
        raise ValueError(f"{label}: {error}") from None
    if rest or not 0 <= value < MOST:
        raise ValueError(f"{label}: “{typed}” is not an amount. Type it as 95 or 95.50, without a unit.")
    return value


def _shown(value: float) -> str:
    return f"{value:g}" if value else ""


def _form(visit: Visit, typed: "dict[str, str]", error: str, status: int) -> Reply:
    rows = [
        {
            "key": repair["key"],
            "name": repair["name"],
            "minutes": typed.get("minutes_" + repair["key"], ""),
            "parts": typed.get("parts_" + repair["key"], ""),
            "off": typed.get("off_" + repair["key"], ""),
            "estimate": f"Our estimate: {repair['minutes']:g} min, parts worth {repair['parts']:g} h of work"
            + (f", to find the place {repair['search']:g} min more" if repair["search"] else ""),
        }
        for repair in _offered(visit)
    ]
    asked = {name: typed.get(name, "") for name in FIELDS}
    sheets = [record for record in visit.records if record["job"] == SHOP and record["kind"] == "prices"]
    context: Context = {
        "sheets": [story.tell(record, visit) for record in reversed(sheets)],
        "replaced": visit.job["replaced"],
        "is_desk": visit.request["host"] == "desk",
        "typed": asked,
        "rows": rows,
        "offered": OFFERED,
        "error": error,
        "money": asked["currency"] or "money",
        "sides": _sides(visit),
    }
    return page("evidence/prices.html", context, status)


ROUTES: "list[Route]" = [
    ("GET", "/prices", show),
    ("POST", "/prices", write),
    ("POST", "/prices/settle", settle),
]
