"""Data of every record kind, made from the table: as little as it may be, as much, and wrong in one place."""

from collections.abc import Iterator
from typing import Any

from pwa.app.kinds import shape

NO_TEXT: Any = {"a": ["wrong"]}  # of no type that a field may have at its top


def sample(fields: list[Any], whole: bool) -> dict[str, Any]:
    """Values for the needed fields, or for all."""
    return {field.name: value(field.type, whole) for field in fields if whole or field.needed}


def value(type_: Any, whole: bool) -> Any:
    match type_:
        case shape.Text():
            return "words"[: type_.longest]
        case shape.Choice():
            return type_.keys[-1]
        case shape.Number():
            return min(2.5 if type_.most is None else type_.most, 2.5)
        case shape.Whole():
            return 1
        case shape.Truth():
            return True
        case shape.List():
            return [value(type_.item, whole)] * max(type_.fewest, 1)
        case shape.Table():
            return {"one": value(type_.value, whole)}
        case shape.Shape():
            return sample(type_.fields, whole)
        case shape.Maybe():
            return value(type_.type, whole) if whole else None
        case shape.Either():
            return value(type_.types[-1 if whole else 0], whole)
    raise TypeError(type_)


def broken(fields: list[Any]) -> Iterator[tuple[str, dict[str, Any]]]:
    """Each data that is wrong in one field, with what is wrong."""
    for field in fields:
        data = sample(fields, True)
        if field.needed:
            yield f"without {field.name}", {name: data[name] for name in data if name != field.name}
        for bad in _bad(field.type):
            yield f"{field.name}={bad!r}", {**data, field.name: bad}


def _bad(type_: Any) -> list[Any]:
    match type_:
        case shape.Text():
            return [None, 7, ["words"], {}, "x" * (type_.longest + 1)]
        case shape.Choice():
            return [None, 7, ["words"], {}, "words"]
        case shape.Number():
            return [None, "1", True, [1], 1e301, -1e301, *_outside(type_)]
        case shape.Whole():
            return [None, "1", True, 1.5, *_outside(type_)]
        case shape.Truth():
            return [None, 1, "yes"]
        case shape.List():
            good = value(type_.item, True)
            counts = [[good] * (type_.most + 1), *([[good] * (type_.fewest - 1)] if type_.fewest else [])]
            return [None, {}, "words", *counts, *([bad] * max(type_.fewest, 1) for bad in _bad(type_.item))]
        case shape.Table():
            many = dict.fromkeys(map(str, range(type_.most + 1)), value(type_.value, True))
            return [None, [], "words", many, *({"one": bad} for bad in _bad(type_.value))]
        case shape.Shape():
            return [None, [], "words", *(data for _, data in broken(type_.fields))]
        case shape.Maybe():
            return [bad for bad in _bad(type_.type) if bad is not None]
        case shape.Either():
            return [None, {"a": {"b": 1}}, [[{}]]]
    raise TypeError(type_)


def _outside(type_: Any) -> list[Any]:
    beyond = [] if type_.least is None else [type_.least - 1]
    return beyond if type_.most is None else [*beyond, type_.most + 1]
