"""The handbook's page of causes: each with what it leads to, what shows it, and what puts it right."""

from typing import Any

from pwa.engine.evidence.sides import SYSTEMS
from pwa.engine.numbers.rounding import percent

TITLES = (
    ("control", "The VGT's control side: actuator, power, wiring, air or oil, calibration"),
    ("mechanism", "The VGT's mechanism: linkage, vane pack, turbocharger"),
    *((key, f"Not the VGT: {name}") for key, name in SYSTEMS),
    ("effect", "What several causes bring about alike"),
)


def groups(data: dict[str, Any]) -> list[dict[str, Any]]:
    """The causes by where they lie: the VGT's two sides, every other system by name, effects."""
    names = {cause["key"]: cause["name"] for cause in data["causes"]}
    repairs = {repair["key"]: repair["name"] for repair in data["repairs"]}
    return [
        {
            "title": title,
            "causes": [
                _cause(cause, data, names, repairs) for cause in data["causes"] if cause["system"] == system
            ],
        }
        for system, title in TITLES
        if any(cause["system"] == system for cause in data["causes"])
    ]


def _cause(
    cause: dict[str, Any], data: dict[str, Any], names: dict[str, str], repairs: dict[str, str]
) -> dict[str, Any]:
    return {
        **cause,
        "because": [names[key] for key in cause["because_of"]],
        "leads": [other["name"] for other in data["causes"] if cause["key"] in other["because_of"]],
        "put_right": [
            f"{repairs[key]} (cures {percent(chance)} %)" for key, chance in cause["put_right"].items()
        ],
        "comes_back": percent(cause["comes_back"]),
        "checks": [
            {
                "name": finding["name"],
                "shows": percent(sum(finding["shown_by"][cause["key"]])),
                "leak": _small(sum(finding["leak"])),
                "minutes": f"{finding['minutes']:g}",
            }
            for finding in data["findings"]
            if cause["key"] in finding["shown_by"]
        ],
    }


def _small(chance: float) -> str:
    """Percent, with a decimal where whole ones would say nothing."""
    return f"{100 * chance:.1f}" if chance < 0.05 else str(percent(chance))
