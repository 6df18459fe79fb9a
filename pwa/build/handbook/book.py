"""The handbook: static pages that open from the cache without Python."""

from collections import Counter
from collections.abc import Callable
from typing import Any

from pwa.app.bolts import diagram
from pwa.app.worksheets import listing
from pwa.build.content.schema import Content
from pwa.build.handbook import causes

Render = Callable[[str, dict[str, Any]], str]

DRAWN = (4, 5, 6, 8, 10, 12)  # bolt counts whose order is drawn
GENERAL = {
    "causes": "What can be wrong, and how it shows",
    "codes": "Codes and what they mean",
    "torque": "Torque: reminders and order",
    "clocking": "Clocking marks",
    "cautions": "Cautions",
    "sources": "Where the numbers come from",
}
TABLES = {
    "dtc": "P and U codes",
    "spn": "J1939 parameters (SPN)",
    "fmi": "J1939 failure modes (FMI)",
    "pairs": "Pairs of SPN and FMI",
}


def pages(content: Content, render: Render) -> dict[str, str]:
    """Address -> HTML of every handbook page."""
    data = content.model_dump()
    common: dict[str, Any] = {
        "base": "",
        "job": None,
        "damaged": [],
        "left_out": [],
        "disputes": None,
        "status": {},
        "host": "handbook",
        "content": data,
        "cautions": {item["key"]: item["title"] for item in data["cautions"]},
    }

    def page(template: str, path: str, **context: Any) -> str:
        return render(f"handbook/{template}.html", {**common, "path": path, **context})

    made = {"/handbook/": page("index", "/handbook/", general=GENERAL, worksheets=_kinds(data))}
    for key, title in GENERAL.items():
        path = f"/handbook/{key}.html"
        made[path] = page(key, path, title=title, **_extras(key, data))
    for procedure in data["procedures"]:
        path = f"/handbook/procedures/{procedure['key']}.html"
        made[path] = page("procedure", path, procedure=procedure)
    return made


def _kinds(data: dict[str, Any]) -> list[str]:
    """What there are worksheets for; they need Python, so they are pages of the app."""
    return [group["title"] for group in listing.alone(data["measures"])]


def _extras(key: str, data: dict[str, Any]) -> dict[str, Any]:
    """What one general page needs beside the content."""
    if key == "torque":
        return {"drawings": _drawings()}
    if key == "causes":
        return {"groups": causes.groups(data)}
    if key == "codes":
        return {"tables": [_table(name, caption, data["codes"][name]) for name, caption in TABLES.items()]}
    return {}


def _table(name: str, caption: str, codes: dict[str, Any]) -> dict[str, Any]:
    """The source that most codes share is named once, above them; only the others name their own."""
    cited = Counter(code["source"] for code in codes.values())
    shared = [source for source, _ in cited.most_common(1)]
    return {"key": name, "caption": caption, "shared": shared, "codes": _in_order(codes)}


def _in_order(table: dict[str, Any]) -> dict[str, Any]:
    """Codes as a person looks for them: by number, letters as they come."""
    return {key: table[key] for key in sorted(table, key=_numbers)}


def _numbers(key: str) -> tuple[list[int], str]:
    parts = key.split("/")
    return ([int(part) for part in parts] if all(part.isdigit() for part in parts) else []), key


def _drawings() -> list[diagram.Drawing]:
    """The cross order for usual bolt counts, as numbers for an SVG."""
    return [diagram.drawing(count, "cross") for count in DRAWN]
