"""The types of records' data for the type checker, written from the table of kinds.

`python -m pwa.build.record_types` writes pwa/app/kinds/data.pyi after a change of the table. Nothing imports
it when it runs; with it mypy finds a misspelt field of a record, and a record that lacks one. The fields of a
shape that may lack some are read-only, so that a reading with all of them passes where older ones lack some.
"""

from pathlib import Path
from typing import Any

from pwa.app.kinds import shape
from pwa.app.kinds.shape import Kind
from pwa.app.kinds.table import KINDS

STUB = Path(__file__).parent.parent / "app" / "kinds" / "data.pyi"

HEAD = '''"""Written by pwa/build/record_types.py from the table of kinds; do not edit."""

from collections.abc import Iterable
from typing import Any, Literal, NotRequired, Protocol, TypedDict, final, overload

from typing_extensions import ReadOnly

from pwa.app.protocol import Draft, RecordOf
'''
SIMPLE = {
    shape.Text: "str",
    shape.Choice: "str",
    shape.Number: "float",
    shape.Whole: "int",
    shape.Truth: "bool",
}


def stub() -> str:
    """The text of data.pyi."""
    shapes: dict[str, str] = {}
    kinds = [_typed_dict(class_of(kind), kind.fields, shapes, "{}") for kind in KINDS.values()]
    parts = [HEAD, *shapes.values(), *kinds, *_functions(list(KINDS.values()))]
    return "\n".join(parts)


def class_of(kind: Kind) -> str:
    """ "job-opened" is the class JobOpened."""
    return "".join(part.capitalize() for part in kind.name.split("-"))


def _typed_dict(name: str, fields: list[Any], shapes: dict[str, str], form: str) -> str:
    lines = [f"@final\nclass {name}(TypedDict):"]
    for field in fields:
        type_ = _type(field.type, shapes)
        lines.append(f"    {field.name}: " + form.format(type_ if field.needed else f"NotRequired[{type_}]"))
    return "\n".join(lines) + "\n"


def _type(type_: Any, shapes: dict[str, str]) -> str:
    """As Python writes it; a shape's own class goes into `shapes`, after those it holds."""
    match type_:
        case shape.List():
            return f"list[{_type(type_.item, shapes)}]"
        case shape.Table():
            return f"dict[str, {_type(type_.value, shapes)}]"
        case shape.Maybe():
            return f"{_type(type_.type, shapes)} | None"
        case shape.Either():
            return " | ".join(_type(item, shapes) for item in type_.types)
        case shape.Shape():
            form = "{}" if all(field.needed for field in type_.fields) else "ReadOnly[{}]"
            text = _typed_dict(type_.name, type_.fields, shapes, form)
            if shapes.setdefault(type_.name, text) != text:
                raise ValueError(f"Two shapes are called {type_.name}.")
            return str(type_.name)
    return SIMPLE[type(type_)]


def _functions(kinds: list[Kind]) -> list[str]:
    """The kinds of the functions that read records of a kind, and of the one that drafts them."""
    found = []
    for name, answer in (("OfKind", "list[RecordOf[{}]]"), ("Latest", "RecordOf[{}] | None")):
        asked = "self, records: Iterable[RecordOf[Any]], kind: Literal[{!r}], **fields: str"
        found.append(_protocol(name, asked, answer, kinds))
    asked = "self, job: str, kind: Literal[{!r}], data: {}, replaces: list[str] | None = None"
    found.append(_protocol("Drafter", asked, "Draft", kinds))
    return found


def _protocol(name: str, asked: str, answer: str, kinds: list[Kind]) -> str:
    lines = [f"class {name}(Protocol):"]
    for kind in kinds:
        arguments = asked.format(kind.name, class_of(kind)).replace("'", '"')
        lines.append(f"    @overload\n    def __call__({arguments}) -> {answer.format(class_of(kind))}: ...")
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    STUB.write_text(stub(), "utf-8")
