"""The shop's own labour rate, times and prices: one sheet for all jobs, known to every phone.

They are records like any other, of a job that is the shop itself, so they travel like notes.
"""

from typing import TYPE_CHECKING, TypedDict

from pwa.app.contract import SHOP
from pwa.app.record import jobs

if TYPE_CHECKING:
    from pwa.app.kinds.data import Prices
    from pwa.app.protocol import Record, RecordOf
    from pwa.engine.evidence import decide

PAGE = "/prices"  # where the sheet is written and settled


class Sheet(TypedDict):
    """`rate` and the rest in money of `currency`; 0 or missing where the shop entered nothing.

    Two people who did not see each other's sheet may say different things. Then both stand in `standing`, and
    what they disagree on is missing: it decides nothing until somebody settles it.
    """

    currency: str
    source: str
    prices: "decide.Prices"
    standing: "list[RecordOf[Prices]]"  # one sheet at most, unless they disagree


def sheet(records: "list[Record]") -> Sheet:
    """The shop's sheet, among the records of every job."""
    own = jobs.fold(SHOP, [record for record in records if record["job"] == SHOP])
    standing = jobs.of_kind(own["heads"], "prices")
    if all(conflict["kind"] != "prices" for conflict in own["conflicts"]):
        standing = standing[-1:]
    said = [_said(record["data"]) for record in standing] or [_said({"rate": 0.0})]
    agreed = said[0]
    for other in said[1:]:
        agreed = _agreed(agreed, other)
    return {
        "currency": agreed["currency"],
        "source": agreed["source"],
        "prices": agreed["prices"],
        "standing": standing,
    }


def earlier(records: "list[Record]") -> "list[str]":
    """The sheets that a new one replaces."""
    own = jobs.standing([record for record in records if record["job"] == SHOP])
    return jobs.ids(jobs.of_kind(own, "prices"))


def _said(data: "Prices") -> Sheet:
    return {
        "currency": data.get("currency", ""),
        "source": data.get("source", ""),
        "prices": {
            "rate": float(data["rate"]),
            "minutes": data.get("minutes", {}),
            "parts": data.get("parts", {}),
            "come_back": float(data.get("come_back", 0)),
            "off": data.get("off", []),
        },
        "standing": [],
    }


def _agreed(one: Sheet, other: Sheet) -> Sheet:
    """What both say. Money of two currencies, or none, is no money: then there is no rate either."""
    here, there = one["prices"], other["prices"]
    same_money = one["currency"] == other["currency"] and here["rate"] == there["rate"]
    return {
        "currency": one["currency"] if one["currency"] == other["currency"] else "",
        "source": one["source"] if one["source"] == other["source"] else "",
        "prices": {
            "rate": here["rate"] if same_money else 0.0,
            "minutes": _in_both(here["minutes"], there["minutes"]),
            "parts": _in_both(here["parts"], there["parts"]),
            "come_back": here["come_back"] if here["come_back"] == there["come_back"] else 0.0,
            "off": [key for key in here["off"] if key in there["off"]],
        },
        "standing": [],
    }


def _in_both(one: "dict[str, float]", other: "dict[str, float]") -> "dict[str, float]":
    return {key: one[key] for key in one if other.get(key) == one[key]}
