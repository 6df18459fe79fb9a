"""Small fault models for tests of the advice: the shapes of the real content, other causes and checks."""

from typing import Any

from pwa.build.content import schema
from pwa.build.model import compiler
from tests.helpers.trade import LOADED

NO_YES = [{"key": "no", "label": "No"}, {"key": "yes", "label": "Yes"}]
SURE = 1 - 1e-9  # chance of a cure that as good as never fails
Shown = dict[str, list[float]]


def cause(
    key: str, chance: float, repairs: dict[str, float] | list[str], comes_back: float = 0.9, **fields: Any
) -> schema.Cause:
    given = {"name": key, "system": "mechanism", "text": "", "shows": "", "source": "our-estimate", **fields}
    cures = repairs if isinstance(repairs, dict) else dict.fromkeys(repairs, SURE)
    return schema.Cause(key=key, chance=chance, put_right=cures, comes_back=comes_back, **given)


def check(key: str, minutes: float, shown_by: Shown, leak: float, **fields: Any) -> schema.Finding:
    given = {"name": key, "question": "?", "how": "", "source": "our-estimate", "outcomes": NO_YES, **fields}
    return schema.Finding(key=key, minutes=minutes, shown_by=shown_by, leak=[leak], **given)


def repair(key: str, minutes: float, **fields: Any) -> schema.Repair:
    given = {"name": key, "text": "", "parts": 0, "source": "our-estimate", **fields}
    return schema.Repair(key=key, minutes=minutes, **given)


def complaint(causes: list[schema.Cause], leak: float) -> schema.Finding:
    """What every job has: any cause brings it about."""
    shown = {item.key: [0.999999] for item in causes if item.system != "effect"}
    return check("power-lost", 0, shown, leak, given="yes")


def compiled(
    causes: list[schema.Cause],
    checks: list[schema.Finding],
    repairs: list[schema.Repair],
    leak: float = 1e-9,
) -> dict[str, Any]:
    """The model, with a complaint that any of the causes brings about."""
    update = {"causes": causes, "findings": [complaint(causes, leak), *checks], "repairs": repairs}
    return compiler.compile(LOADED.model_copy(update=update))
