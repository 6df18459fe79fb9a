"""Costs as people say them: money where the shop gave a rate, else hours of labour."""

from typing import TYPE_CHECKING

from pwa.app.content import name_of
from pwa.engine.evidence.decide import COME_BACK, HOUR
from pwa.engine.numbers.rounding import half_up

if TYPE_CHECKING:
    from pwa.app.protocol import Content
    from pwa.app.record.price_sheet import Sheet


def as_text(minutes: float, sheet: "Sheet") -> str:
    """A cost in minutes as people say it: money where the shop gave a rate, else labour worth as much."""
    rate = sheet["prices"]["rate"]
    if rate > 0:
        return f"{half_up(minutes / HOUR * rate):.0f} {sheet['currency']}".strip()
    return f"{half_up(minutes / HOUR, 1):.1f} h of labour"


def come_back(sheet: "Sheet") -> float:
    """What a come-back costs beside its repair, in minutes."""
    prices = sheet["prices"]
    if prices["rate"] > 0 and prices["come_back"] > 0:
        return prices["come_back"] / prices["rate"] * HOUR
    return COME_BACK


def named(content: "Content", keys: "list[str]") -> "list[str]":
    """Names of repairs, in the order given."""
    return [name_of(content["repairs"], key) for key in keys]
