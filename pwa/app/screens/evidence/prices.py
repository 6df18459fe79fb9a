"""The shop's labour rate, times and prices, for every job and every phone."""

from typing import TYPE_CHECKING

from pwa.app import story
from pwa.app.contract import SHOP
from pwa.app.record.chain import draft
from pwa.app.record.price_sheet import earlier
from pwa.app.visit import Reply, Visit, page, save
from pwa.engine.numbers import typed_number

if TYPE_CHECKING:
    from pwa.app.kinds.data import Prices
    from pwa.app.visit import Context, Route

MOST = 1e7
FIELDS = ("currency", "rate", "come_back", "source")


def show(visit: Visit) -> Reply:
    sheet = visit.shop
    prices = sheet["prices"]
    typed = {
        "currency": sheet["currency"],
        "source": sheet["source"],
        "rate": _shown(prices["rate"]),
        "come_back": _shown(prices["come_back"]),
    }
    for repair in visit.content["repairs"]:
        typed["minutes_" + repair["key"]] = _shown(prices["minutes"].get(repair["key"], 0))
        typed["parts_" + repair["key"]] = _shown(prices["parts"].get(repair["key"], 0))
    return _form(visit, typed, "", 200)


def write(visit: Visit) -> Reply:
    try:
        data: Prices = {
            "currency": visit.field("currency"),
            "source": visit.field("source"),
            "rate": _number(visit, "rate", "Labour rate"),
            "come_back": _number(visit, "come_back", "A come-back"),
            "minutes": _numbers(visit, "minutes_"),
            "parts": _numbers(visit, "parts_"),
        }
    except ValueError as error:
        return _form(visit, visit.form_values(), str(error), 422)
    if (data["parts"] or data["come_back"]) and not data["rate"]:
        problem = "Prices need the labour rate too, so that minutes and money can be compared."
        return _form(visit, visit.form_values(), problem, 422)
    return save([draft(SHOP, "prices", data, earlier(visit.records))], "/prices")


def _numbers(visit: Visit, prefix: str) -> "dict[str, float]":
    found = {}
    for repair in visit.content["repairs"]:
        value = _number(visit, prefix + repair["key"], repair["name"])
        if value:
            found[repair["key"]] = value
    return found


def _number(visit: Visit, field: str, label: str) -> float:
    """What was typed, 0 if nothing was.

    Raises:
        ValueError: it is no amount.
    """
    typed = visit.field(field)
    if not typed:
        return 0.0
    try:
        value, rest = typed_number.split(typed)
    except ValueError as error:
        raise ValueError(f"{label}: {error}") from None
    if rest or not 0 <= value < MOST:
        raise ValueError(f"{label}: “{typed}” is no amount. Type it as 95 or 95.50, without a unit.")
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
            "estimate": f"Our estimate: {repair['minutes']:g} min, parts worth {repair['parts']:g} h of work",
        }
        for repair in visit.content["repairs"]
    ]
    asked = {name: typed.get(name, "") for name in FIELDS}
    sheets = [record for record in visit.records if record["job"] == SHOP and record["kind"] == "prices"]
    context: Context = {
        "sheets": [story.tell(record, visit) for record in reversed(sheets)],
        "replaced": visit.job["replaced"],
        "is_desk": visit.request["host"] == "desk",
        "typed": asked,
        "rows": rows,
        "error": error,
        "money": asked["currency"] or "money",
    }
    return page("evidence/prices.html", context, status)


ROUTES: "list[Route]" = [("GET", "/prices", show), ("POST", "/prices", write)]
