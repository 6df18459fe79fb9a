"""A file of content to be filled in, made from its model in schema.py.

What the model needs stands there with an empty value, which the build refuses with file and line. What it
does without stands there as a comment, so that a new field of a model appears here by itself.
"""

import typing
from typing import Any, Literal

from pydantic import BaseModel
from pydantic.fields import FieldInfo

HEAD = """\
# Write a value after every name that has none; the build refuses the file until then, with the line.
# A line that starts with "# name:" may stay away: it shows the value that holds without it.
# These comments can go once the file is filled in.

"""
BOUNDS = {"gt": "above", "ge": "at least", "lt": "below", "le": "at most"}
SIMPLE = {str: "text", float: "a number", int: "a whole number", bool: "true or false"}


def text(model: type[BaseModel], given: dict[str, str], asked: set[str], notes: dict[str, str]) -> str:
    """The file's text.

    Args:
        given: what is known already, by the field's name; a field of an item in a list is "inputs.key".
        asked: fields that the build asks for although their model does without.
        notes: what to write, by the field's name.
    """
    return HEAD + "\n".join(_lines(model, "", given, asked, notes)) + "\n"


def _lines(
    model: type[BaseModel], within: str, given: dict[str, str], asked: set[str], notes: dict[str, str]
) -> list[str]:
    lines: list[str] = []
    for name, field in model.model_fields.items():
        path, note = within + name, _note(field, notes.get(within + name, ""))
        item = _item(field)
        if path in given:
            lines.append(f"{name}: {given[path]}")
        elif not field.is_required() and path not in asked:
            if not within:  # what an item may have beside is in schema.py; here it would only be in the way
                default = "[]" if field.default == [] else "{}" if field.default == {} else field.default
                lines += [note, f"# {name}: {default}".rstrip()]
        elif item:
            inner = _lines(item, path + ".", given, asked, notes)
            lines += [note, f"{name}:"]
            for _ in range(_fewest(field)):
                at = next(at for at, line in enumerate(inner) if not line.startswith("#"))
                lines += [f"    {line}" for line in inner[:at]]
                lines += [f"  - {inner[at]}", *(f"    {line}" for line in inner[at + 1 :])]
        else:
            lines += [note, f"{name}:"]
    return lines


def _item(field: FieldInfo) -> type[BaseModel] | None:
    """The model of a list's items, if it is a list of models."""
    inner = [*typing.get_args(field.annotation), None][0]
    return inner if isinstance(inner, type) and issubclass(inner, BaseModel) else None


def _fewest(field: FieldInfo) -> int:
    return next((rule.min_length for rule in field.metadata if hasattr(rule, "min_length")), 1)


def _note(field: FieldInfo, note: str) -> str:
    bounds = [
        f"{says} {getattr(rule, name)}"
        for rule in field.metadata
        for name, says in BOUNDS.items()
        if hasattr(rule, name)
    ]
    said = " ".join([_type(field.annotation), " and ".join(bounds)]).strip()
    return f"# {note} ({said})" if note else f"# {said}"


def _type(annotation: Any) -> str:
    """In words what a field holds."""
    origin, arguments = typing.get_origin(annotation), typing.get_args(annotation)
    if origin is Literal:
        return "one of: " + ", ".join(item or "nothing" for item in arguments)
    if origin is list:
        return f"a list, each {_type(arguments[0])}"
    if origin is dict:
        return f"lines of KEY: {_type(arguments[1])}"
    return SIMPLE.get(annotation, "as below")
