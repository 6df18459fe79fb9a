"""The plan in words: repair, test, go on."""

from typing import TYPE_CHECKING, TypedDict

from pwa.app.evidence import isolation, prices

if TYPE_CHECKING:
    from pwa.app.protocol import Content
    from pwa.app.record.price_sheet import Sheet
    from pwa.engine.evidence import decide


class Step(TypedDict):
    """Repairs that are made together before the proof."""

    names: "list[str]"
    cost: str
    search: str  # what of it goes into finding the place; "" where the place is known
    needed: str  # how often it comes to this step; "" for the first


class Plan(TypedDict):
    steps: "list[Step]"
    confident: bool
    cost: str  # of all, on average
    unsolved: str
    comes_back: str


def told(plan: "decide.Plan", content: "Content", sheet: "Sheet") -> Plan:
    return {
        "steps": [_step(step, number, content, sheet) for number, step in enumerate(plan["steps"])],
        "confident": plan["confident"],
        "cost": prices.as_text(plan["cost"], sheet),
        "unsolved": isolation.percent(plan["unsolved"]),
        "comes_back": isolation.percent(plan["comes_back"]),
    }


def _step(step: "decide.Step", number: int, content: "Content", sheet: "Sheet") -> Step:
    return {
        "names": prices.named(content, step["repairs"]),
        "cost": prices.as_text(step["cost"], sheet),
        "search": prices.as_text(step["search"], sheet) if step["search"] else "",
        "needed": isolation.percent(step["needed"]) if number else "",
    }
