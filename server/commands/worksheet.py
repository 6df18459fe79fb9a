"""Calculations of content/ from a terminal: `NAME key=value ...`, typed as on the phone.

Shared by the commands that offer worksheets. Rows are written `readings="0 min, 180 °C; ..."`.
"""

import argparse
import json
from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, Any

from pwa.engine import measures
from pwa.engine.measures.verdict import Verdict
from pwa.engine.numbers import units
from server import content

if TYPE_CHECKING:
    from pwa.app.shapes import Input, Limit, Measure, Source

LIMIT = "limit."  # before the key of a limit that is changed


def add(
    subparsers: "argparse._SubParsersAction[argparse.ArgumentParser]",
    name: str,
    kind: str,
    about: str,
    example: str,
) -> argparse.ArgumentParser:
    """A command over the measures of a kind, or of all ("")."""
    parser = subparsers.add_parser(
        name,
        help=about,
        description=f"{about} Alone it lists the worksheets; with one, its inputs.",
        epilog=f"example: {example}",
    )
    parser.add_argument("worksheet", nargs="?", default="", help="which calculation")
    parser.add_argument(
        "typed",
        nargs="*",
        metavar="key=value",
        help='an input or a limit.KEY, with its unit as on the phone: boost="28 psi"',
    )
    parser.add_argument("--json", action="store_true", help="the verdict as JSON")
    parser.set_defaults(run=lambda options: run(kind, options))
    return parser


def run(kind: str, options: argparse.Namespace) -> int:
    compiled = content.load()
    known = {item["key"]: item for item in compiled["measures"] if kind in ("", item["kind"])}
    if not options.worksheet:
        listed: Any = [_summary(item) for item in known.values()]
        lines = list(_listing(known.values(), compiled["sources"]))
    elif options.worksheet not in known:
        raise ValueError(f"There is no worksheet {options.worksheet}. There are {', '.join(sorted(known))}.")
    elif not options.typed:
        measure = known[options.worksheet]
        listed, lines = measure, _asked(measure) + _sources(measure, compiled["sources"])
    else:
        verdict = calculate(known[options.worksheet], options.typed, {})
        listed, lines = verdict, as_text(verdict)
    print(json.dumps(listed, indent=1, ensure_ascii=False) if options.json else "\n".join(lines))
    return 0


def _summary(measure: "Measure") -> dict[str, Any]:
    return {
        "key": measure["key"],
        "title": measure["title"],
        "kind": measure["kind"],
        "units": _units(measure),
        "sources": measure["sources"],
    }


def _units(measure: "Measure") -> list[str]:
    """The units of what is typed, each once, in the order asked; the phone takes others of the same kind."""
    parts = [part for item in measure["inputs"] for part in (item, *item["columns"])]
    return list(dict.fromkeys(part["unit"] for part in parts if part["unit"] not in ("", "1")))


def _listing(known: "Iterable[Measure]", sources: "dict[str, Source]") -> Iterator[str]:
    kind = ""
    for item in sorted(known, key=lambda item: (item["kind"], item["key"])):
        if item["kind"] != kind:
            yield from ([""] if kind else []) + [item["kind"].capitalize()]
            kind = item["kind"]
        yield f"  {item['key']:<24}{item['title']}"
        yield f"  {'':<24}in {', '.join(_units(item)) or 'words'}"
        yield from (f"{'':<26}{line}" for line in _sources(item, sources))


def _sources(measure: "Measure", sources: "dict[str, Source]") -> list[str]:
    return [f"Source: {sources[key]['text']}" for key in measure["sources"]]


def calculate(measure: "Measure", typed: list[str], values: dict[str, Any]) -> Verdict:
    """The verdict of what is typed as key=value, beside values in SI that are there already."""
    return _verdict(measure, _pairs(typed), values)


def _pairs(typed: list[str]) -> dict[str, str]:
    pairs: dict[str, str] = {}
    for text in typed:
        key, equals, value = text.partition("=")
        if not equals or not value.strip():
            raise ValueError(f"“{text}” is not key=value.")
        if key in pairs:
            raise ValueError(f"{key} is typed twice.")
        pairs[key] = value.strip()
    return pairs


def _verdict(measure: "Measure", typed: dict[str, str], known: dict[str, Any]) -> Verdict:
    inputs = {item["key"]: item for item in measure["inputs"]}
    limits = {item["key"]: item for item in measure["limits"]}
    values = dict(known)
    used = {item["key"]: item["value"] for item in measure["limits"]}
    for key, text in typed.items():
        limit = limits.get(key[len(LIMIT) :]) if key.startswith(LIMIT) else None
        if limit:
            used[limit["key"]] = _in_its_unit(limit, text)
        elif key in inputs:
            values[key] = _value(inputs[key], text)
        else:
            raise ValueError(f"{measure['key']} asks for no {key}. " + " ".join(_asked(measure)[1:]))
    return measures.calculate(measure["calculation"], values, used)


def _value(item: "Input", text: str) -> Any:
    if item["choices"]:
        keys = [choice["key"] for choice in item["choices"]]
        if text not in keys:
            raise ValueError(f"{item['key']} is one of {', '.join(keys)}.")
        return text
    if item["columns"]:
        return [_row(item, row) for row in text.split(";") if row.strip()]
    try:
        return units.parse(text, units.quantity_of(item["unit"]), item["unit"])
    except ValueError as error:
        raise ValueError(f"{item['key']}: {error}") from None


def _row(item: "Input", text: str) -> list[float]:
    """One row, its cells parted by a comma and a blank, so that 0,97 stays a number."""
    cells = [cell.strip() for cell in text.split(", ")]
    if len(cells) != len(item["columns"]):
        raise ValueError(
            f"{item['key']}: each row has {', '.join(column['label'] for column in item['columns'])}, parted"
            " by a comma and a blank; rows by a semicolon."
        )
    return [_value(column, cell) for column, cell in zip(item["columns"], cells, strict=True)]


def _in_its_unit(limit: "Limit", text: str) -> float:
    """A typed limit as a number in the unit that content writes it in, as the calculation wants it."""
    quantity = units.quantity_of(limit["unit"])
    factor, offset = units.UNITS[quantity][limit["unit"]]
    return (units.parse(text, quantity, limit["unit"]) - offset) / factor


def _asked(measure: "Measure") -> list[str]:
    lines = [measure["title"]]
    for item in measure["inputs"]:
        columns = [f"{part['label']} in {part['unit']}".replace(" in 1", "") for part in item["columns"]]
        unit = item["unit"] or ", ".join(columns) or "|".join(part["key"] for part in item["choices"])
        lines.append(f"  {item['key']}= {item['label']} ({unit}{', optional' * item['optional']})")
    return lines + [
        f"  {LIMIT}{item['key']}= {item['label']} ({item['value']:g} {item['unit']})"
        for item in measure["limits"]
    ]


def as_text(verdict: Verdict) -> list[str]:
    lines = [verdict["sentence"]]
    lines += [
        f"  {item['label']}: {item['value']:.4g} {item['unit']}".rstrip() for item in verdict["details"]
    ]
    return lines + [f"Mind: {warning}" for warning in verdict["warnings"]]
