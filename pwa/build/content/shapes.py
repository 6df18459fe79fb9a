"""The shapes of content for the type checker, from the models of schema.py.

The app runs on MicroPython, which has no pydantic; it gets plain dicts. What stands in them is written once,
in schema.py, and from there into `pwa/app/shapes.pyi`, which no interpreter ever loads, by

    python -m pwa.build.content.shapes
"""

from inspect import getmembers
from pathlib import Path
from types import UnionType
from typing import Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel

from pwa.build.content import schema

STUB = Path(__file__).parents[2] / "app" / "shapes.pyi"
COMMAND = "python -m pwa.build.content.shapes"
WIDTH = 110  # of a line, as ruff format has it
HEAD = f'''\
"""What stands in the compiled content, for the type checker alone: import it under TYPE_CHECKING.

Do not edit: `{COMMAND}` writes it from schema.py.
"""

from typing import Literal, TypedDict

from pwa.engine.evidence.network import Model
'''
# What the build adds to the content (build.for_app).
ADDED = {"model": "Model", "version": "str"}


def stub() -> str:
    """The whole file, formatted."""
    named = [
        f"{name} = {_literal(value, name)}" for name, value in vars(schema).items() if _is_literal(value)
    ]
    models = [model for _, model in getmembers(schema, _is_model) if model is not schema.Content]
    classes = [_typed_dict(model, {}) for model in models] + [_typed_dict(schema.Content, ADDED)]
    return "\n".join([HEAD, *named, "", "\n\n".join(classes), ""])


def _is_literal(value: Any) -> bool:
    return get_origin(value) is Literal


def _is_model(value: Any) -> bool:
    return isinstance(value, type) and issubclass(value, BaseModel) and bool(value.model_fields)


def _typed_dict(model: type[BaseModel], added: dict[str, str]) -> str:
    fields = {name: _type(field.annotation, name) for name, field in model.model_fields.items()}
    lines = [f"    {name}: {kind}" for name, kind in (fields | added).items()]
    return "\n".join([f"class {model.__name__}(TypedDict):", *lines])


def _type(annotation: Any, field: str) -> str:
    """A type as it is written in the stub; a Literal by its name in schema.py where it has one."""
    origin, inside = get_origin(annotation), get_args(annotation)
    if origin is Literal:
        names = [name for name, value in vars(schema).items() if value == annotation]
        return names[0] if names else _literal(annotation, "    " + field)
    if origin in (UnionType, Union):
        return " | ".join(_type(part, field) for part in inside)
    if origin is not None:
        return f"{origin.__name__}[{', '.join(_type(part, field) for part in inside)}]"
    if annotation in (str, int, float, bool) or _is_model(annotation):
        return str(annotation.__name__)
    raise TypeError(f"{field}: {annotation} has no place in the stub yet")


def _literal(annotation: Any, before: str) -> str:
    """On one line where it fits behind its name, else one value a line."""
    values = ['"' + value + '"' for value in get_args(annotation)]
    short = f"Literal[{', '.join(values)}]"
    if len(f"{before} = {short}") <= WIDTH:
        return short
    indent = " " * (len(before) - len(before.lstrip()))
    lines = [f"{indent}    {value}," for value in values]
    return "\n".join(["Literal[", *lines, f"{indent}]"])


if __name__ == "__main__":
    STUB.write_text(stub(), "utf-8")
