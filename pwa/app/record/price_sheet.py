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


class Sheet(TypedDict):
    """`rate` and the rest in money of `currency`; 0 or missing where the shop entered nothing."""

    currency: str
    source: str
    prices: "decide.Prices"


def sheet(records: "list[Record]") -> Sheet:
    """The sheet that was written last, among the records of every job."""
    own = _own(records)
    data: Prices = own[-1]["data"] if own else {"rate": 0.0}
    return {
        "currency": data.get("currency", ""),
        "source": data.get("source", ""),
        "prices": {
            "rate": float(data["rate"]),
            "minutes": data.get("minutes", {}),
            "parts": data.get("parts", {}),
            "come_back": float(data.get("come_back", 0)),
        },
    }


def earlier(records: "list[Record]") -> "list[str]":
    """The sheets that a new one replaces."""
    return jobs.ids(_own(records))


def _own(records: "list[Record]") -> "list[RecordOf[Prices]]":
    return jobs.of_kind(jobs.standing([record for record in records if record["job"] == SHOP]), "prices")
