"""Whether a record's data is what its kind says: the one judge of it, for the fold and for every door."""

from typing import TYPE_CHECKING

from pwa.app.kinds import shape
from pwa.app.kinds.table import KINDS

if TYPE_CHECKING:
    from typing import Any

LARGEST = 1e300


def understood(kind: str, data: "Any") -> bool:
    """Whether a record may decide anything: its fields are there and of their types. Unknown kinds may."""
    known = KINDS.get(kind)
    return isinstance(data, dict) and (known is None or not _fields(known.fields, data, False))


def problems(kind: str, data: "Any") -> "list[str]":
    """Everything that is wrong with the data of a kind, bounds included; each names its field."""
    known = KINDS.get(kind)
    if known is None:
        return [f"This version knows no kind of record called {kind}."]
    if not isinstance(data, dict):
        return ["Its data is no object."]
    found = []
    for field in known.fields:
        wrong = _field(field, data, True)
        if wrong:
            found.append(wrong)
    return found


def _fields(fields: "list[Any]", data: "Any", bounds: bool) -> str:
    """What is wrong with the first field that is wrong, or ""."""
    for field in fields:
        wrong = _field(field, data, bounds)
        if wrong:
            return wrong
    return ""


def _field(field: "Any", data: "Any", bounds: bool) -> str:
    name, type_, needed = field
    if name not in data:
        return f"{name} is missing." if needed else ""
    wrong = _CHECKS[type(type_)](type_, data[name], bounds)
    return f"{name} {wrong}" if wrong else ""


def _wrong(type_: "Any", value: "Any", bounds: bool) -> str:
    """What is wrong with a value, to stand behind the name of its field; "" if nothing is."""
    return _CHECKS[type(type_)](type_, value, bounds)


def _text(type_: "Any", value: "Any", bounds: bool) -> str:
    if not isinstance(value, str):
        return "is no text."
    too_long = bounds and type_.longest is not None and len(value) > type_.longest
    return f"is longer than {type_.longest} characters." if too_long else ""


def _choice(type_: "Any", value: "Any", bounds: bool) -> str:
    if not isinstance(value, str):
        return "is no text."
    return f"is none of: {', '.join(type_.keys)}." if bounds and value not in type_.keys else ""


def _only(type_: "Any", value: "Any", bounds: bool) -> str:
    return _choice(type_, value, True)


def _count(type_: "Any", value: "Any", bounds: bool) -> str:
    return _whole(type_, value, True)


def _number(type_: "Any", value: "Any", bounds: bool) -> str:
    if not isinstance(value, (int, float)) or isinstance(value, bool):
        return "is no number."
    if not -LARGEST < value < LARGEST:  # NaN is not between them either
        return "is no number that can be computed with."
    return _outside(type_, value) if bounds else ""


def _whole(type_: "Any", value: "Any", bounds: bool) -> str:
    if not isinstance(value, int) or isinstance(value, bool):
        return "is no whole number."
    return _outside(type_, value) if bounds else ""


def _outside(type_: "Any", value: "Any") -> str:
    if type_.least is not None and value < type_.least:
        return f"is less than {type_.least:g}."
    return f"is more than {type_.most:g}." if type_.most is not None and value > type_.most else ""


def _truth(type_: "Any", value: "Any", bounds: bool) -> str:
    return "" if isinstance(value, bool) else "is neither true nor false."


def _list(type_: "Any", value: "Any", bounds: bool) -> str:
    if not isinstance(value, list):
        return "is no list."
    # A pair of numbers with one missing is no pair; how long a longer list may be is a bound.
    if len(value) < type_.fewest or (len(value) > type_.most and (bounds or type_.fewest == type_.most)):
        return f"has not {type_.fewest} to {type_.most} parts."
    part = type_.item
    check = _CHECKS[type(part)]  # once, for the points of a recording are many
    for item in value:
        wrong = check(part, item, bounds)
        if wrong:
            return f"has a part that {wrong}"
    return ""


def _table(type_: "Any", value: "Any", bounds: bool) -> str:
    if not isinstance(value, dict):
        return "is no table."
    if bounds and len(value) > type_.most:
        return f"has more than {type_.most} parts."
    for key in value:
        wrong = _wrong(type_.value, value[key], bounds)
        if wrong:
            return f"has a part {key} that {wrong}"
    return ""


def _shape(type_: "Any", value: "Any", bounds: bool) -> str:
    if not isinstance(value, dict):
        return "is no table."
    wrong = _fields(type_.fields, value, bounds)
    return f"is wrong: {wrong}" if wrong else ""


def _maybe(type_: "Any", value: "Any", bounds: bool) -> str:
    return "" if value is None else _wrong(type_.type, value, bounds)


def _either(type_: "Any", value: "Any", bounds: bool) -> str:
    wrong = ""
    for item in type_.types:
        wrong = _wrong(item, value, bounds)
        if not wrong:
            return ""
    return wrong


_CHECKS = {
    shape.Text: _text,
    shape.Choice: _choice,
    shape.Only: _only,
    shape.Number: _number,
    shape.Whole: _whole,
    shape.Count: _count,
    shape.Truth: _truth,
    shape.List: _list,
    shape.Table: _table,
    shape.Shape: _shape,
    shape.Maybe: _maybe,
    shape.Either: _either,
}
