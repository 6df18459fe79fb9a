"""What was measured: a worksheet as typed and as read, or a judged part of a recording."""

from typing import TYPE_CHECKING

from pwa.app.content import find, title_of
from pwa.app.kinds.shape import (
    KEY,
    MOST,
    Either,
    Kind,
    List,
    Maybe,
    Number,
    Shape,
    Table,
    Whole,
    key,
    line,
    needed,
    number,
    optional,
    point,
    text,
)
from pwa.engine.numbers.rounding import four_digits

if TYPE_CHECKING:
    from typing import Any

    from pwa.app.kinds.data import Log, Reading
    from pwa.app.protocol import Content

HASH = 12  # digits of a file's hash that a person compares
ROWS = 10_000  # of a table
FIELDS = 200  # of a worksheet

VERDICT = Shape(
    "Verdict",
    [
        needed("value", number),  # in `unit`, and so are the details
        needed("unit", key),
        needed("outcome", key),
        needed("sentence", text),
        needed(
            "details",
            List(
                Shape("Detail", [needed("label", line), needed("value", number), needed("unit", key)]), 0, 100
            ),
        ),
        optional("warnings", List(text, 0, 100)),
    ],
)
SIGNAL = Shape(
    "Signal",
    [
        needed("name", line),
        needed("source", line),
        optional("unit", key),
        optional("standing", line),
        optional("count", Whole(0, MOST)),
        optional("least", Maybe(number)),
        optional("most", Maybe(number)),
    ],
)
LOG = Shape(
    "Log",
    [
        needed("name", line),
        needed("size", Whole(0, MOST)),
        needed("sha256", key),
        needed("rows", Whole(0, MOST)),
        needed("start", Number("s", None, None)),
        needed("end", Number("s", None, None)),
        optional("form", line),
        optional("duration", Number("s", None, None)),
        optional("damaged", Whole(0, MOST)),
        optional("signals", Table(SIGNAL, KEY)),
        optional("picture", Table(List(point, 0, 1000), KEY)),
    ],
)


def recorded(log: "Log") -> str:
    """The part of a recording that was judged, as one line for the timeline and the summary."""
    part = f"{four_digits(log['start'])} to {four_digits(log['end'])} s"
    return f"recording {log['name']}, {part}, {log['rows']} rows, SHA-256 {log['sha256'][:HASH]}…"


def _reading(data: "Reading", content: "Content") -> str:
    measure = find(content["measures"], data["measure"])
    asked: list[Any] = list(measure["inputs"]) if measure else []
    known = [item["key"] for item in asked]
    later = [{"key": name, "label": name} for name in sorted(data["typed"]) if name not in known]
    given = [item for item in asked + later if data["typed"].get(item["key"])]
    typed = ", ".join([f"{item['label']} {_typed(item, data)}" for item in given])
    log, verdict = data.get("log"), data["verdict"]
    typed = recorded(log) if log else typed
    sentence = verdict["sentence"] if verdict else "No verdict. " + data.get("refused", "")
    source = f" Source: {data['limit_source']}." if data.get("limit_source") else ""
    return f"{title_of(content['measures'], data['measure'])} ({typed}). {sentence}{source}"


def _typed(item: "Any", data: "Reading") -> str:
    """What was typed into one field: a number with the unit chosen beside it, a choice, or a table's rows."""
    typed, chosen = data["typed"][item["key"]], data.get("units", {})
    if isinstance(typed, list):
        names = [f"{item['key']}.{column['key']}" for column in item.get("columns", [])]
        names += [""] * (len(typed[0]) - len(names))
        rows = [[_with_unit(cell, chosen.get(name, "")) for cell, name in zip(row, names)] for row in typed]
        return "; ".join([", ".join(row) for row in rows])
    for choice in item.get("choices", []):
        if choice["key"] == typed:
            return str(choice["label"])
    return _with_unit(typed, chosen.get(item["key"], ""))


def _with_unit(typed: str, unit: str) -> str:
    """A number that was typed without a unit, with the one it was read in."""
    return f"{typed} {unit}" if typed and typed[-1] in "0123456789" and unit not in ("", "1") else typed


KINDS = [
    Kind(
        "reading",
        "Measured:",
        _reading,
        "Measured",
        [
            needed("measure", key),
            needed("typed", Table(Either((text, List(List(line, 1, 20), 0, ROWS))), FIELDS)),
            needed("verdict", Maybe(VERDICT)),
            optional("units", Table(key, FIELDS)),
            # In SI, by the key of the input: a number, the key of a choice, or rows of numbers.
            optional("values", Table(Either((number, key, List(List(number, 1, 20), 0, ROWS))), FIELDS)),
            optional("limits", Table(number, FIELDS)),  # in the unit that content writes them in
            optional("limit_source", line),
            optional("refused", text),
            optional("log", LOG),
        ],
        subject=("measure",),
    ),
]
