"""The shop's own labour rate, times and prices: one sheet for all jobs, known to every phone.

They are records like any other, of a job that is the shop itself, so they travel like notes.
"""

from typing import TYPE_CHECKING, TypedDict

from pwa.app import job as jobs
from pwa.app import records as chain
from pwa.engine.decide import COME_BACK, HOUR
from pwa.engine.rounding import half_up

if TYPE_CHECKING:
    from pwa.app.protocol import Content, Record
    from pwa.engine.decide import Prices

KIND = "prices"
SHOP = "00000000-0000-7000-8000-000000000000"  # the job that is the shop itself


class Sheet(TypedDict):
    """`rate` and the rest in money of `currency`; 0 or missing where the shop entered nothing."""

    currency: str
    source: str
    prices: "Prices"


def sheet(records: "list[Record]") -> Sheet:
    """The sheet that was written last, among the records of every job."""
    own = [record for record in chain.heads(records) if record["kind"] == KIND and record["job"] == SHOP]
    data = own[-1]["data"] if own else {}
    return {
        "currency": str(data.get("currency", "")),
        "source": str(data.get("source", "")),
        "prices": {
            "rate": float(data.get("rate", 0)),
            "minutes": data.get("minutes", {}),
            "parts": data.get("parts", {}),
            "come_back": float(data.get("come_back", 0)),
        },
    }


def earlier(records: "list[Record]") -> "list[str]":
    """The sheets that a new one replaces."""
    own = [record for record in chain.heads(records) if record["job"] == SHOP]
    return jobs.ids(jobs.of_kind(own, KIND))


def told(minutes: float, sheet: Sheet) -> str:
    """A cost in minutes as people say it: money where the shop gave a rate, else labour worth as much."""
    rate = sheet["prices"]["rate"]
    if rate > 0:
        return f"{half_up(minutes / HOUR * rate):.0f} {sheet['currency']}".strip()
    return f"{half_up(minutes / HOUR, 1):.1f} h of labour"


def come_back(sheet: Sheet) -> float:
    """What a come-back costs beside its repair, in minutes."""
    prices = sheet["prices"]
    if prices["rate"] > 0 and prices["come_back"] > 0:
        return prices["come_back"] / prices["rate"] * HOUR
    return COME_BACK


def named(content: "Content", keys: "list[str]") -> "list[str]":
    """Names of repairs, in the order given."""
    names = {item["key"]: item["name"] for item in content["repairs"]}
    return [names.get(key, key) for key in keys]
