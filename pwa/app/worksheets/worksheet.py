"""A worksheet: what is typed into a measure's form, to values in SI and a verdict, and back to the form.

The job's measurement screen and the stand-alone one share it; only the first saves anything. What cannot be
read stays as it was typed, with the reason beside its field.
"""

from typing import TYPE_CHECKING

from pwa.app.content import find
from pwa.engine import measures
from pwa.engine.numbers import units

if TYPE_CHECKING:
    from typing import Any

    from pwa.app.kinds.data import Reading
    from pwa.app.protocol import Form
    from pwa.app.shapes import Input, Limit, Measure
    from pwa.engine.measures.verdict import Verdict

ROWS = 4  # a table starts with
LIMIT = "limit_"  # before the key of a limit, in the names of fields
UNIT = "unit."  # before the name of a field, in the name of the choice of its unit
MORE = "more"  # the field that asks for one more row of a table
SOURCE = "limit_source"
WHOLE = ""  # the key of an error that belongs to no single field


class Worksheet:
    """One measure as filled in. `errors` are by field; `values` in SI, `limits` in the unit of content."""

    def __init__(self, measure: "Measure", form: "Form") -> None:
        self.measure, self._form = measure, form
        self.typed: dict[str, Any] = {}
        self.units: dict[str, str] = {}
        self.values: dict[str, Any] = {}
        self.limits: dict[str, float] = {}
        self.errors: dict[str, str] = {}
        self.source = self.text(SOURCE)
        self.empty: list[str] = []  # labels of what must be typed and is not
        for item in measure["inputs"]:
            self._read(item)
        for limit in measure["limits"]:
            self._read_limit(limit)

    def text(self, name: str) -> str:
        """A field as it was typed."""
        given = self._form.get(name)
        return given[0].strip() if given else ""

    def unit(self, name: str, unit: str) -> str:
        """The unit chosen beside a field, else the one that content asks in."""
        chosen = self.text(UNIT + name)
        return chosen if chosen in choices_of_unit(unit) else unit

    def rows(self, item: "Input") -> "list[list[str]]":
        """The cells of a table as typed, as many rows as the form had, empty ones too."""
        found: list[list[str]] = []
        while any(cell(item, len(found), column) in self._form for column in item["columns"]):
            found.append([self.text(cell(item, len(found), column)) for column in item["columns"]])
        return found

    def rows_shown(self, item: "Input") -> int:
        """One more than there were when that was asked for, and never less than a form starts with."""
        count = len(self.rows(item))
        return max(ROWS, count + 1 if self.text(MORE) == item["key"] else count)

    def complete(self) -> bool:
        return not self.empty

    def changed(self) -> bool:
        """Whether the shop's own value stands in it, which must have its source."""
        own = [item["key"] for item in self.measure["inputs"] if item["maker"] and item["key"] in self.values]
        for limit in self.measure["limits"]:
            if self.limits.get(limit["key"], limit["value"]) != limit["value"]:
                own.append(limit["key"])
        return bool(own)

    def can_keep(self) -> bool:
        """Whether there is a reading to keep without a verdict; a missing source can just be typed."""
        return any(self.typed.values()) and list(self.errors) != [SOURCE]

    def require(self, source: bool = True) -> None:
        """Everything asked is typed, and where it is saved, what the shop brings has its source."""
        for item in self.measure["inputs"]:
            if item["label"] in self.empty:
                what = "Choose one." if item["choices"] else "Type it."
                self.errors[item["key"]] = "Type at least one row." if item["columns"] else what
        if source and self.changed() and not self.source:
            self.errors[SOURCE] = "Write where the new value comes from."

    def verdict(self) -> "Verdict | None":
        """The verdict, or None with the reason in `errors`."""
        if self.errors:
            return None
        try:
            return measures.find(self.measure["calculation"]).run(self.values, self.limits)
        except KeyError as missing:
            self.errors[str(missing.args[0])] = "This value is needed too."
        except ValueError as error:
            self.errors[WHOLE] = str(error)
        return None

    def likelihoods(self) -> "dict[str, float]":
        """See `measures.likelihoods`."""
        soft = {item["key"]: item["soft"] for item in self.measure["limits"] if item["soft"]}
        if not soft:
            return {}
        return measures.likelihoods(self.measure["calculation"], self.values, self.limits, soft)

    def problems(self) -> "list[str]":
        """Every error as a sentence that names its field, in the order of the form."""
        named = [(item["key"], item["label"]) for item in self.measure["inputs"]]
        named += [(LIMIT + item["key"], item["label"]) for item in self.measure["limits"]]
        named += [(SOURCE, "Source")]
        found = [f"{label}: {self.errors[key]}" for key, label in named if key in self.errors]
        return found + ([self.errors[WHOLE]] if WHOLE in self.errors else [])

    def _read(self, item: "Input") -> None:
        key = item["key"]
        if item["columns"]:
            self._read_rows(item)
            given = bool(self.typed[key])
        elif item["choices"]:
            self.typed[key] = self.text(key)
            given = self.typed[key] in [choice["key"] for choice in item["choices"]]
            if given:
                self.values[key] = self.typed[key]
        else:
            self.typed[key], self.units[key] = self.text(key), self.unit(key, item["unit"])
            given = bool(self.typed[key])
            if given:
                self._number(key, key, item["unit"])
        if not given and not item["optional"]:
            self.empty.append(item["label"])

    def _number(self, key: str, name: str, unit: str) -> None:
        try:
            self.values[key] = parse(self.text(name), self.unit(name, unit))
        except ValueError as error:
            self.errors[name] = str(error)

    def _read_rows(self, item: "Input") -> None:
        key, columns = item["key"], item["columns"]
        rows = self.rows(item)
        chosen = [self.unit(f"{key}.{column['key']}", column["unit"]) for column in columns]
        for column, unit in zip(columns, chosen):
            self.units[f"{key}.{column['key']}"] = unit
        self.typed[key] = [row for row in rows if any(row)]
        values = []
        for at in range(len(rows)):
            if any(rows[at]) and key not in self.errors:
                values.append(self._row(key, at, rows[at], columns, chosen))
        if values:
            self.values[key] = values

    def _row(
        self, key: str, at: int, row: "list[str]", columns: "list[Input]", chosen: "list[str]"
    ) -> "list[float]":
        numbers = []
        for text, column, unit in zip(row, columns, chosen):
            try:
                numbers.append(parse(text, unit))
            except ValueError as error:
                self.errors[key] = f"Row {at + 1}, {column['label']}: {error}"
                break
        return numbers

    def _read_limit(self, item: "Limit") -> None:
        """A limit as the shop typed it, else as content has it, in the unit that content writes."""
        key, name = item["key"], LIMIT + item["key"]
        self.limits[key] = item["value"]
        typed = self.text(name)
        if not typed:
            return
        try:
            value = parse(typed, self.unit(name, item["unit"]))
        except ValueError as error:
            self.errors[name] = str(error)
            return
        factor, offset = units.UNITS[units.quantity_of(item["unit"])][item["unit"]]
        self.limits[key] = (value - offset) / factor


def cell(item: "Input", row: int, column: "Input") -> str:
    """The name of one cell of a table; no two fields of a page share one, or a draft would fill both."""
    return f"{item['key']}.{row}.{column['key']}"


def parse(text: str, unit: str) -> float:
    return units.parse(text, units.quantity_of(unit), unit)


def choices_of_unit(unit: str) -> "list[str]":
    """The units a number may be typed in: the one content asks in, then the others by name."""
    return [unit] + sorted([other for other in units.UNITS[units.quantity_of(unit)] if other != unit])


def apart(text: str, unit: str) -> "tuple[str, str]":
    """A typed number without the unit typed behind it, and that unit, so that a form shows each once."""
    try:
        typed = units.split(text)[1]
        meant = units.unit_of(typed, units.quantity_of(unit)) if typed else ""
    except ValueError:
        return text, unit
    if not meant or not text.endswith(typed):
        return text, unit
    return text[: len(text) - len(typed)].strip(), meant


def preferred(measure: "Measure", readings: "list[Reading]", known: "list[Measure]") -> "Form":
    """An empty form with the units chosen last in these readings, where content asks in the same one."""
    chosen: dict[str, str] = {}
    for reading in readings:
        other = find(known, reading["measure"])
        for name, unit in _units(other) if other else []:
            chosen[unit] = reading.get("units", {}).get(name, chosen.get(unit, unit))
    return {UNIT + name: [chosen[unit]] for name, unit in _units(measure) if unit in chosen}


def _units(measure: "Measure") -> "list[tuple[str, str]]":
    """The field of each number of a measure, and the unit content asks it in."""
    found = []
    for item in measure["inputs"]:
        for column in item["columns"]:
            found.append((f"{item['key']}.{column['key']}", column["unit"]))
        if not item["columns"] and not item["choices"]:
            found.append((item["key"], item["unit"]))
    return found


def form_of(data: "Reading", measure: "Measure") -> "Form":
    """The form that a saved reading was typed in."""
    form: Form = {UNIT + name: [unit] for name, unit in data.get("units", {}).items()}
    for item in measure["inputs"]:
        typed = data["typed"].get(item["key"])
        if item["columns"]:
            rows = typed or []
            for at in range(len(rows)):
                for column, text in zip(item["columns"], rows[at]):
                    form[cell(item, at, column)] = [text]
        elif isinstance(typed, str) and typed:
            form[item["key"]] = [typed]
    for limit in measure["limits"]:
        used = data.get("limits", {}).get(limit["key"], limit["value"])
        if used != limit["value"]:
            form[LIMIT + limit["key"]] = [f"{used:.6g}"]
    form[SOURCE] = [data.get("limit_source", "")]
    return form
