"""A worksheet as the page shows it: its fields with what is typed in them, its limits, its verdict."""

from typing import TYPE_CHECKING, TypedDict

from pwa.app.content import find, title_of
from pwa.app.worksheets.worksheet import LIMIT, SOURCE, UNIT, WHOLE, apart, cell, choices_of_unit
from pwa.engine.numbers.rounding import four_digits

if TYPE_CHECKING:
    from typing import NotRequired

    from pwa.app.kinds.data import Verdict as Judged
    from pwa.app.shapes import Content, Input, Limit, Measure
    from pwa.app.visit import Context
    from pwa.app.worksheets.worksheet import Worksheet
    from pwa.engine.measures.verdict import Verdict

RECORDED = "command-trace"  # the measure that a recording of a drive answers too
GOOD = ("ok", "no")  # outcomes that need no finding to be called good


class UnitChoice(TypedDict):
    key: str
    chosen: bool


class Unit(TypedDict):
    name: str  # of the field
    fixed: "str | None"  # what it is where there is no choice
    options: "list[UnitChoice]"


class Option(TypedDict):
    key: str
    label: str
    checked: bool


class Column(TypedDict):
    name: str
    label: str
    unit: Unit


class Cell(TypedDict):
    name: str
    label: str
    text: str
    keypad: str
    unit: str  # the name of the column's field of units


class Field(TypedDict):
    """A field of the form; what it holds beside its name depends on its `shape`."""

    shape: str  # "number", "choice" or "rows"
    name: str
    label: str
    hint: str
    optional: bool
    error: str
    text: "NotRequired[str]"
    keypad: "NotRequired[str]"
    unit: "NotRequired[Unit]"
    options: "NotRequired[list[Option]]"
    columns: "NotRequired[list[Column]]"
    rows: "NotRequired[list[list[Cell]]]"


class Source(TypedDict):
    """The field for where the shop's own values come from, and whether they stand among the inputs."""

    text: str
    error: str
    inputs: bool


class Detail(TypedDict):
    label: str
    value: str
    unit: str


class Shown(TypedDict):
    """A verdict; `mark` is "good", "bad", "unsure" or "plain"."""

    mark: str
    sentence: str
    details: "list[Detail]"
    warnings: "list[str]"


def context(
    content: "Content", sheet: "Worksheet", verdict: "Verdict | Judged | None", action: str
) -> "Context":
    """What the template of a worksheet's form needs; `action` is where the form goes."""
    measure = sheet.measure
    return {
        "measure": measure,
        "inputs": [field(sheet, item) for item in measure["inputs"]],
        "limits": [_limit(content, sheet, item) for item in measure["limits"]],
        "limits_open": sheet.changed() or any(key.startswith(LIMIT) for key in sheet.errors),
        "source": _source(sheet),
        "cautions": [{"key": key, "title": title_of(content["cautions"], key)} for key in measure["caution"]],
        "cited": [content["sources"][key]["text"] for key in measure["sources"]],
        "wrong": sheet.problems(),
        "error": sheet.errors.get(WHOLE, ""),
        "verdict": shown(content, measure, verdict),
        "action": action,
        "reads_recordings": measure["key"] == RECORDED,
    }


def field(sheet: "Worksheet", item: "Input") -> Field:
    """One input: a number with its unit, big choices, or a table of numbers."""
    if item["columns"]:
        return _table(sheet, item)
    if not item["choices"]:
        return _number(sheet, item, _asked("number", item, sheet), item["signed"])
    chosen = sheet.text(item["key"])
    options: list[Option] = [
        {"key": choice["key"], "label": choice["label"], "checked": choice["key"] == chosen}
        for choice in item["choices"]
    ]
    view = _asked("choice", item, sheet)
    view["options"] = options
    return view


def shown(content: "Content", measure: "Measure", verdict: "Verdict | Judged | None") -> "Shown | None":
    """A verdict with its numbers rounded, marked good when its outcome is the finding's normal one."""
    if verdict is None:
        return None
    details: list[Detail] = [
        {
            "label": item["label"],
            "value": four_digits(item["value"]),
            "unit": "" if item["unit"] == "1" else item["unit"],
        }
        for item in verdict["details"]
    ]
    return {
        "mark": _mark(content, measure, verdict["outcome"]),
        "sentence": verdict["sentence"],
        "details": details,
        "warnings": verdict.get("warnings", []),
    }


def _mark(content: "Content", measure: "Measure", outcome: str) -> str:
    if not outcome:
        return "unsure" if measure["finding"] else "plain"
    finding = find(content["findings"], measure["finding"])
    if finding:
        return "good" if outcome == finding["outcomes"][0]["key"] else "bad"
    return "good" if outcome in GOOD else "bad"


def _field(shape: str, item: "Input | Limit", name: str, sheet: "Worksheet") -> Field:
    return {
        "shape": shape,
        "name": name,
        "label": item["label"],
        "hint": "",
        "optional": False,
        "error": sheet.errors.get(name, ""),
    }


def _asked(shape: str, item: "Input", sheet: "Worksheet") -> Field:
    view = _field(shape, item, item["key"], sheet)
    view["hint"], view["optional"] = item["hint"], item["optional"]
    return view


def _number(sheet: "Worksheet", item: "Input | Limit", view: Field, signed: bool) -> Field:
    name = view["name"]
    view["text"], unit = apart(sheet.text(name), sheet.unit(name, item["unit"]))
    view["keypad"] = _keypad(signed)
    view["unit"] = _unit(item["unit"], unit, name)
    return view


def _unit(asked: str, chosen: str, name: str) -> Unit:
    """The unit beside a number: a choice where there is one."""
    others = choices_of_unit(asked)
    options: list[UnitChoice] = [{"key": other, "chosen": other == chosen} for other in others]
    return {
        "name": UNIT + name,
        "fixed": ("" if asked == "1" else asked) if len(others) == 1 else None,
        "options": options,
    }


def _table(sheet: "Worksheet", item: "Input") -> Field:
    view = _asked("rows", item, sheet)
    columns: list[Column] = []
    for column in item["columns"]:
        name = f"{item['key']}.{column['key']}"
        columns.append(
            {
                "name": name,
                "label": column["label"],
                "unit": _unit(column["unit"], sheet.unit(name, column["unit"]), name),
            }
        )
    rows = sheet.rows(item)
    rows += [[""] * len(columns) for _ in range(sheet.rows_shown(item) - len(rows))]
    view["columns"] = columns
    view["rows"] = [
        [_cell(item, at, column, text) for column, text in zip(item["columns"], rows[at])]
        for at in range(len(rows))
    ]
    return view


def _cell(item: "Input", at: int, column: "Input", text: str) -> Cell:
    return {
        "name": cell(item, at, column),
        "label": column["label"],
        "text": text,
        "keypad": _keypad(column["signed"]),
        "unit": f"{UNIT}{item['key']}.{column['key']}",
    }


def _keypad(signed: bool) -> str:
    """The decimal keypad of some phones has no minus."""
    return "text" if signed else "decimal"


def _limit(content: "Content", sheet: "Worksheet", item: "Limit") -> Field:
    view = _number(sheet, item, _field("number", item, LIMIT + item["key"], sheet), signed=False)
    cited = content["sources"][item["source"]]["text"]
    unit = "" if item["unit"] == "1" else " " + item["unit"]
    view["hint"] = f"Here {four_digits(item['value'])}{unit}. {cited}."
    return view


def _source(sheet: "Worksheet") -> Source:
    return {
        "text": sheet.source,
        "error": sheet.errors.get(SOURCE, ""),
        "inputs": any(item["maker"] for item in sheet.measure["inputs"]),
    }
