"""From the repairs and what they cure to the plans that the phone weighs against each other.

Causes that the same repairs cure form a group: no plan can cure one of them and leave the other. Repairs that
share a group form a component: what is chosen in one does not bear on another. In each component the plans
are the sets of repairs of which none can be left out without leaving a group more.
"""

from itertools import combinations
from typing import Any

from pwa.build.content import schema
from pwa.build.content.truck import with_those_before


def decisions(content: schema.Content) -> dict[str, Any]:
    """`repairs`, `openings`, `groups` and `plans` of the compiled model."""
    order = [repair.key for repair in content.repairs]
    groups = _groups(content.causes, order)
    components = _components([set(group["repairs"]) for group in groups])
    include = {"key", "name", "minutes", "parts", "drives", "upstream"}
    return {
        "repairs": [repair.model_dump(include=include) for repair in content.repairs],
        "openings": _openings(content.openings),
        "groups": groups,
        "plans": [_plans([key for key in order if key in component], groups) for component in components],
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


def _groups(causes: list[schema.Cause], order: list[str]) -> list[dict[str, Any]]:
    found: dict[tuple[str, ...], dict[str, float]] = {}
    for cause in sorted(causes, key=lambda cause: cause.key):
        if cause.put_right:
            repairs = tuple(sorted(cause.put_right, key=order.index))
            found.setdefault(repairs, {})[cause.key] = cause.comes_back
    return [{"repairs": list(repairs), "causes": found[repairs]} for repairs in sorted(found)]


def _components(sets: list[set[str]]) -> list[set[str]]:
    """The sets joined where they share a member, in the order of their first."""
    joined: list[set[str]] = []
    for group in sets:
        touching = [component for component in joined if component & group]
        joined = [component for component in joined if not component & group]
        joined.append(group.union(*touching))
    return joined


def _plans(repairs: list[str], groups: list[dict[str, Any]]) -> list[dict[str, list[Any]]]:
    """Sets of repairs, fewest first, each with the groups of this component that it leaves."""
    here = [number for number, group in enumerate(groups) if set(group["repairs"]) & set(repairs)]
    found: list[dict[str, list[Any]]] = []
    for count in range(len(repairs) + 1):
        for chosen in combinations(repairs, count):
            leaves = [number for number in here if not set(groups[number]["repairs"]) & set(chosen)]
            fewer = [plan for plan in found if set(plan["repairs"]) < set(chosen)]
            if all(plan["leaves"] != leaves for plan in fewer):
                found.append({"repairs": list(chosen), "leaves": leaves})
    return found
