"""From the repairs and what they cure to what the phone decides by.

Causes that the same repairs cure with the same chances form a group: no sequence of repairs tells them apart.
A repair that includes another cures what that one cures.
"""

from typing import Any

from pwa.build.content import schema
from pwa.build.content.truck import with_those_before


def decisions(content: schema.Content) -> dict[str, Any]:
    """`repairs`, `openings` and `groups` of the compiled model.

    A group: `cures`, repair -> chance; `causes`, cause -> [chance that the truck is back if it is left,
    chance that the proof after a repair sees it first].
    """
    offered = [repair for repair in content.repairs if not repair.retired]
    include = {"key", "name", "minutes", "parts", "search", "drives", "upstream"}
    return {
        "repairs": [repair.model_dump(include=include) for repair in offered],
        "openings": _openings(content.openings),
        "groups": _groups(content.causes, offered),
    }


def _openings(openings: list[schema.Opening]) -> dict[str, dict[str, Any]]:
    """Each with everything that is open while it is, itself last, as `with`, and its place among them."""
    include = {"name", "minutes", "back", "forbids"}
    return {
        item.key: {
            **item.model_dump(include=include),
            "with": with_those_before([item.key], openings),
            "order": order,
        }
        for order, item in enumerate(openings)
    }


def _groups(causes: list[schema.Cause], repairs: list[schema.Repair]) -> list[dict[str, Any]]:
    found: dict[tuple[tuple[str, float], ...], dict[str, list[float]]] = {}
    for cause in sorted(causes, key=lambda cause: cause.key):
        if cause.put_right:
            cures = tuple(_cures(cause, repairs).items())
            chances = [cause.comes_back, cause.comes_back * cause.seen]
            found.setdefault(cures, {})[cause.key] = chances
    return [{"cures": dict(cures), "causes": found[cures]} for cures in sorted(found)]


def _cures(cause: schema.Cause, repairs: list[schema.Repair]) -> dict[str, float]:
    """Chance of each repair that cures it, in the order of the content, those that include one too."""
    cures = {}
    for repair in repairs:
        chances = [cause.put_right.get(key, 0.0) for key in (repair.key, *repair.includes)]
        if max(chances) > 0:
            cures[repair.key] = max(chances)
    return cures
