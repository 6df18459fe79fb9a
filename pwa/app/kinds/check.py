"""Whether a record's data is what its kind says: the one judge of it, for the fold and for every door."""

from typing import TYPE_CHECKING

from pwa.app.kinds import shape
from pwa.app.kinds.table import KINDS

if TYPE_CHECKING:
    from typing import Any

LARGEST = 1e30  # more than any quantity of a truck; its square and its cube can still be computed with


def understood(kind: str, data: "Any") -> bool:
    """Whether a record may decide anything: its fields are there, of their types and within their bounds.

    A kind of a newer version may: here it decides nothing anyway.
    """
    known = KINDS.get(kind)
    return isinstance(data, dict) and (known is None or not _fields(known.fields, data))


def problems(kind: str, data: "Any") -> "list[str]":
    """Everything that is wrong with the data of a kind; each names its field."""
    if KINDS.get(kind) is None:
        return [f"This version knows no kind of record called {kind}."]
    if not isinstance(data, dict):
        return ["Its data is no object."]
    found = wrong(kind, data)
    return [f"{name} {found[name]}" for name in found]


def wrong(kind: str, data: "dict[str, Any]") -> "dict[str, str]":
    """Field -> what is wrong with it, to stand behind its name."""
    found = {}
    for field in KINDS[kind].fields:
        said = _field(field, data)
        if said:
            found[field.name] = said
    return found


def _fields(fields: "list[Any]", data: "Any") -> str:
    """What is wrong with the first field that is wrong, or ""."""
    for field in fields:
        said = _field(field, data)
        if said:
            return f"{field.name} {said}"
    return ""


def _field(field: "Any", data: "Any") -> str:
    if field.name not in data:
        return "is missing." if field.needed else ""
    return _wrong(field.type, data[field.name])


def _wrong(type_: "Any", value: "Any") -> str:
    """What is wrong with a value, to stand behind the name of its field; "" if nothing is."""
    return _CHECKS[type(type_)](type_, value)


def _text(type_: "Any", value: "Any") -> str:
    if not isinstance(value, str):
        return "is no text."
    too_long = type_.longest is not None and len(value) > type_.longest
    return f"is longer than {type_.longest} characters." if too_long else ""


def _choice(type_: "Any", value: "Any") -> str:
    if not isinstance(value, str):
        return "is no text."
    return f"is none of: {', '.join(type_.keys)}." if value not in type_.keys else ""


def _number(type_: "Any", value: "Any") -> str:
    if not isinstance(value, (int, float)) or isinstance(value, bool):
        return "is no number."
    if not -LARGEST < value < LARGEST:  # NaN is not between them either
        return "is no number that can be computed with."
    return _outside(type_, value)


def _whole(type_: "Any", value: "Any") -> str:
    if not isinstance(value, int) or isinstance(value, bool):
        return "is no whole number."
    return _outside(type_, value)


def _outside(type_: "Any", value: "Any") -> str:
    if type_.least is not None and value < type_.least:
        return f"is less than {type_.least:g}."
    return f"is more than {type_.most:g}." if type_.most is not None and value > type_.most else ""


def _truth(type_: "Any", value: "Any") -> str:
    return "" if isinstance(value, bool) else "is neither true nor false."


def _list(type_: "Any", value: "Any") -> str:
    if not isinstance(value, list):
        return "is no list."
    if not type_.fewest <= len(value) <= type_.most:
        return f"has not {type_.fewest} to {type_.most} parts."
    part = type_.item
    check = _CHECKS[type(part)]  # once, for the points of a recording are many
    for item in value:
        wrong = check(part, item)
        if wrong:
            return f"has a part that {wrong}"
    return ""


def _table(type_: "Any", value: "Any") -> str:
    if not isinstance(value, dict):
        return "is no table."
    if len(value) > type_.most:
        return f"has more than {type_.most} parts."
    for key in value:
        wrong = _wrong(type_.value, value[key])
        if wrong or len(key) > shape.LINE:
            return f"has a part {key[: shape.KEY]} that {wrong or 'has too long a name.'}"
    return ""


def _shape(type_: "Any", value: "Any") -> str:
    if not isinstance(value, dict):
        return "is no table."
    wrong = _fields(type_.fields, value)
    return f"is wrong: {wrong}" if wrong else ""


def _maybe(type_: "Any", value: "Any") -> str:
    return "" if value is None else _wrong(type_.type, value)


def _either(type_: "Any", value: "Any") -> str:
    wrong = ""
    for item in type_.types:
        wrong = _wrong(item, value)
        if not wrong:
            return ""
    return wrong


_CHECKS = {
    shape.Text: _text,
    shape.Choice: _choice,
    shape.Number: _number,
    shape.Whole: _whole,
    shape.Truth: _truth,
    shape.List: _list,
    shape.Table: _table,
    shape.Shape: _shape,
    shape.Maybe: _maybe,
    shape.Either: _either,
}
