"""Reads content/ into the models of schema.py, or says everything that is wrong with it, file and line.

YAML is read through its node tree, so that every value's line is known and a key written twice is refused.
Fields of type Html are Markdown in the files.
"""

import difflib
from pathlib import Path
from typing import Any, TypeVar

import yaml
from markdown_it import MarkdownIt
from pydantic import BaseModel, ValidationError
from yaml.constructor import SafeConstructor

from pwa.build.content import case_numbers, references, schema

Model = TypeVar("Model", bound=BaseModel)
Where = dict[tuple[str | int, ...], int]  # path of a value in its file -> line

MARKDOWN = MarkdownIt("commonmark", {"html": False}).enable("table")
HTML_FIELDS = {
    schema.Caution: "body",
    schema.Measure: "how",
    schema.FastenerPlace: "text",
    schema.Procedure: "body",
}
FRONT = "---\n"
SCALARS = SafeConstructor()  # one for all the thousands of values: making one for each took most of the time
SHAPES: dict[type[Any], str] = {dict: "a mapping of keys", list: "a list"}


class ContentError(ValueError):
    """Every problem found, one a line: `file:line: field: what is wrong`."""

    def __init__(self, problems: list[str]) -> None:
        super().__init__("\n".join(problems))
        self.problems = problems


class File:
    """One file of content: its data, and the line of each value."""

    def __init__(self, path: Path, root: Path) -> None:
        self.path, self.name = path, path.relative_to(root).as_posix()
        self.lines: Where = {(): 1}
        self.data: Any = None

    def at(self, *where: str | int) -> str:
        """`file:line` of a value, or of the nearest thing around it."""
        while where not in self.lines:
            where = where[:-1]
        return f"{self.name}:{self.lines[where]}"


class Reader:
    """Collects what it reads and what is wrong with it."""

    def __init__(self, root: Path) -> None:
        self.root = root
        self.problems: list[str] = []
        self.places: dict[int, tuple[File, tuple[str | int, ...]]] = {}  # id of a model -> where it stands

    def one(self, name: str) -> File:
        return self._read(self.root / name)

    def folder(self, name: str, model: type[Model], suffix: str = ".yaml") -> list[Model]:
        """One model a file, each named as its key."""
        found = []
        for path in sorted((self.root / name).glob(f"*{suffix}")):
            file = self._read(path)
            item = self.model(file, (), file.data, model) if file.data is not None else None
            if item is not None:
                if getattr(item, "key", path.stem) != path.stem:
                    self.say(file, ("key",), f"the file is called {path.stem}; key and file name must agree")
                found.append(item)
        return found

    def many(self, name: str, model: type[Model]) -> list[Model]:
        """A list of models in one file, no key twice."""
        file = self.one(name)
        found: list[Model] = []
        for index, data in enumerate(self._only(file, list)):
            item = self.model(file, (index,), data, model)
            key = getattr(item, "key", None)
            if key is not None and key in [getattr(other, "key", None) for other in found]:
                self.say(file, (index, "key"), f"the key {key} stands here a second time")
            if item is not None:
                found.append(item)
        return found

    def table(self, name: str, model: type[Model]) -> dict[str, Model]:
        """A mapping of models in one file; keys are text even if they look like numbers."""
        file = self.one(name)
        read: dict[str, Model] = {}
        for key, data in self._only(file, dict).items():
            item = self.model(file, (key,), data, model)
            if str(key) in read:
                self.say(file, (key,), f"the key {key} stands here a second time")
            if item is not None:
                read[str(key)] = item
        return read

    def words(self, name: str) -> list[str]:
        """A list of plain texts in one file."""
        file = self.one(name)
        listed = self._only(file, list)
        for at, word in enumerate(listed):
            if not isinstance(word, str) or word in listed[:at]:
                self.say(file, (at,), "this must be a text that stands here once")
        return [word for word in listed if isinstance(word, str)]

    def model(self, file: File, where: tuple[str | int, ...], data: Any, model: type[Model]) -> Model | None:
        try:
            item = model.model_validate(self._as_html(data, model))
        except ValidationError as error:
            for place, problem in _said(error):
                self.say(file, where + place, problem)
            return None
        self.places[id(item)] = file, where
        return item

    def say(self, file: File, where: tuple[str | int, ...], problem: str) -> None:
        field = ".".join(map(str, where)) or "file"
        self.problems.append(f"{file.at(*where)}: {field}: {problem}")

    def about(self, item: BaseModel, within: tuple[str | int, ...], problem: str) -> None:
        file, where = self.places[id(item)]
        self.say(file, (*where, *within), problem)

    def _only(self, file: File, kind: type[Any]) -> Any:
        """The file's data if they are of the kind it must hold, else an empty one."""
        if file.data is not None and not isinstance(file.data, kind):
            self.say(file, (), f"this file must hold {SHAPES[kind]}")
        return file.data if isinstance(file.data, kind) else kind()

    @staticmethod
    def _as_html(data: Any, model: type[Model]) -> Any:
        field = HTML_FIELDS.get(model)
        if isinstance(data, dict) and isinstance(data.get(field), str):
            return {**data, field: MARKDOWN.render(data[field])}
        return data

    def _read(self, path: Path) -> File:
        file = File(path, self.root)
        if not path.exists():
            return file
        start, body = 0, None
        try:
            text = path.read_text("utf-8")
            if path.suffix == ".md":
                text, start, body = _split_front_matter(text)
            node = _compose(text)
            if node is None:
                raise ValueError("the file is empty")
            file.data = _value(node, (), start, file.lines)
        except RecursionError:
            self.problems.append(f"{file.name}:1: file: it holds itself; write without anchors")
        except (yaml.YAMLError, ValueError) as error:
            mark = getattr(error, "problem_mark", None)
            line = start + mark.line + 1 if mark else getattr(error, "line", 1)
            self.problems.append(f"{file.name}:{line}: file: {getattr(error, 'problem', None) or error}")
        if body is not None and isinstance(file.data, dict):
            file.data["body"] = body
        return file


def _said(error: ValidationError) -> list[tuple[tuple[str | int, ...], str]]:
    """What is wrong with one model: a field's name that is misspelt is one problem, not two."""
    details = error.errors(include_url=False, include_input=False)
    lacking = [tuple(detail["loc"]) for detail in details if detail["type"] == "missing"]
    said = []
    for detail in details:
        place = tuple(detail["loc"])
        names = [str(other[-1]) for other in lacking if other[:-1] == place[:-1]]
        near = difflib.get_close_matches(str(place[-1]), names, 1) if place else []
        if detail["type"] == "extra_forbidden" and near:
            lacking.remove((*place[:-1], near[0]))
            said.append((place, f"there is no field {place[-1]}; did you mean {near[0]}?"))
        elif detail["type"] != "missing":
            said.append((place, detail["msg"]))
    return said + [(place, "Field required") for place in lacking]


class _AtLine(ValueError):
    def __init__(self, problem: str, line: int) -> None:
        super().__init__(problem)
        self.line = line


def _value(node: yaml.Node, where: tuple[str | int, ...], start: int, lines: Where) -> Any:
    """The node as plain data, its lines noted under their paths."""
    lines[where] = start + node.start_mark.line + 1
    if isinstance(node, yaml.MappingNode):
        data: dict[Any, Any] = {}
        for key_node, value_node in node.value:
            if not isinstance(key_node, yaml.ScalarNode):
                raise _AtLine("a key must be a plain word", start + key_node.start_mark.line + 1)
            key = _scalar(key_node)
            if key in data:
                line = start + key_node.start_mark.line + 1
                raise _AtLine(f"the key {key} stands here a second time", line)
            data[key] = _value(value_node, (*where, key), start, lines)
            lines[(*where, key)] = start + key_node.start_mark.line + 1
        return data
    if isinstance(node, yaml.SequenceNode):
        return [_value(item, (*where, index), start, lines) for index, item in enumerate(node.value)]
    return _scalar(node)


def _compose(text: str) -> yaml.Node | None:
    """The node tree, by libyaml where PyYAML has it; what is wrong is always said in PyYAML's own words."""
    try:
        return yaml.compose(text, getattr(yaml, "CSafeLoader", yaml.SafeLoader))
    except yaml.YAMLError:
        return yaml.compose(text)


def _scalar(node: yaml.Node) -> Any:
    return SCALARS.construct_document(node)


def _split_front_matter(text: str) -> tuple[str, int, str]:
    """YAML, the number of lines before it, and the Markdown after it."""
    if not text.startswith(FRONT) or FRONT not in text[len(FRONT) :]:
        return text, 0, ""
    front, _, body = text[len(FRONT) :].partition(FRONT)
    return front, 1, body


def _case_code(reader: Reader) -> schema.CaseCode:
    file = reader.one("case-code.yaml")
    if file.data is None:
        reader.say(file, (), "there is no such file; without it no case code can be written")
    table = reader.model(file, (), file.data or {}, schema.CaseCode) or schema.CaseCode()
    reader.places[id(table)] = file, ()
    return table


def load(root: Path, number: bool = False) -> schema.Content:
    """Everything in content/.

    Args:
        number: give new findings and outcomes their numbers in case-code.yaml, once all else is right.

    Raises:
        ContentError: with every problem in it.
    """
    reader = Reader(root)
    content = schema.Content(
        sources=reader.table("sources.yaml", schema.Source),
        engines=reader.many("engines.yaml", schema.Engine),
        actuators=reader.many("actuators.yaml", schema.Actuator),
        parts=reader.many("parts.yaml", schema.Part),
        cautions=sorted(reader.folder("cautions", schema.Caution), key=lambda item: item.order),
        codes=schema.Codes(
            spn=reader.table("codes/spn.yaml", schema.Code),
            fmi=reader.table("codes/fmi.yaml", schema.Code),
            dtc=reader.table("codes/dtc.yaml", schema.Code),
            pairs=reader.table("codes/pairs.yaml", schema.Code),
            systems=reader.table("codes/systems.yaml", schema.CodeSystem),
            ranges=reader.table("codes/ranges.yaml", schema.CodeRange),
        ),
        causes=reader.folder("model/causes", schema.Cause),
        findings=reader.folder("model/findings", schema.Finding),
        measures=reader.folder("measures", schema.Measure),
        joints=sorted(reader.folder("joints", schema.Joint), key=lambda item: item.order),
        openings=reader.many("openings.yaml", schema.Opening),
        scans=reader.many("scan.yaml", schema.Scan),
        stops=sorted(reader.folder("stops", schema.Stop), key=lambda item: item.order),
        repairs=reader.many("repairs.yaml", schema.Repair),
        proofs=reader.many("proofs.yaml", schema.Proof),
        fasteners=reader.folder("fasteners", schema.FastenerPlace),
        procedures=reader.folder("procedures", schema.Procedure, ".md"),
        case_code=_case_code(reader),
    )
    tools = reader.words("tools.yaml")
    if not reader.problems:  # else a file that was not read would be missed wherever it is named
        for item, within, problem in references.problems(content, tools):
            reader.about(item, within, problem)
        if number and not reader.problems and case_numbers.append(root, content):
            return load(root)
        for item, within, problem in case_numbers.problems(content):
            reader.about(item, within, problem)
    if reader.problems:
        raise ContentError(sorted(reader.problems))
    return content
