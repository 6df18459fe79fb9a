"""Reads content/ into the models of schema.py, or says everything that is wrong with it, file and line.

YAML is read through its node tree, so that every value's line is known and a key written twice is refused.
Fields of type Html are Markdown in the files.
"""

from collections.abc import Iterator
from pathlib import Path
from typing import Any, TypeVar

import yaml
from markdown_it import MarkdownIt
from pydantic import BaseModel, ValidationError

from pwa.build import schema

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
LAWFUL = ("law", "standard")


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
        """A list of models in one file."""
        file = self.one(name)
        items = [self.model(file, (index,), item, model) for index, item in enumerate(file.data or [])]
        return [item for item in items if item is not None]

    def table(self, name: str, model: type[Model]) -> dict[str, Model]:
        """A mapping of models in one file; keys are text even if they look like numbers."""
        file = self.one(name)
        read = {str(key): self.model(file, (key,), item, model) for key, item in (file.data or {}).items()}
        return {key: item for key, item in read.items() if item is not None}

    def model(self, file: File, where: tuple[str | int, ...], data: Any, model: type[Model]) -> Model | None:
        try:
            item = model.model_validate(self._as_html(data, model))
        except ValidationError as error:
            for detail in error.errors(include_url=False, include_input=False):
                place = where + tuple(detail["loc"])
                self.say(file, place, detail["msg"])
            return None
        self.places[id(item)] = file, where
        return item

    def say(self, file: File, where: tuple[str | int, ...], problem: str) -> None:
        field = ".".join(map(str, where)) or "file"
        self.problems.append(f"{file.at(*where)}: {field}: {problem}")

    def about(self, item: BaseModel, field: str, problem: str) -> None:
        file, where = self.places[id(item)]
        self.say(file, (*where, field), problem)

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
        text, start, body = path.read_text("utf-8"), 0, None
        if path.suffix == ".md":
            text, start, body = _split_front_matter(text)
        try:
            node = yaml.compose(text)
            file.data = _value(node, (), start, file.lines) if node is not None else None
        except (yaml.YAMLError, ValueError) as error:
            mark = getattr(error, "problem_mark", None)
            line = start + mark.line + 1 if mark else getattr(error, "line", 1)
            self.problems.append(f"{file.name}:{line}: file: {getattr(error, 'problem', None) or error}")
        if body is not None and isinstance(file.data, dict):
            file.data["body"] = body
        return file


class _KeyTwice(ValueError):
    def __init__(self, key: Any, line: int) -> None:
        super().__init__(f"the key {key} stands here a second time")
        self.line = line


def _value(node: yaml.Node, where: tuple[str | int, ...], start: int, lines: Where) -> Any:
    """The node as plain data, its lines noted under their paths."""
    lines[where] = start + node.start_mark.line + 1
    if isinstance(node, yaml.MappingNode):
        data: dict[Any, Any] = {}
        for key_node, value_node in node.value:
            key = _scalar(key_node)
            if key in data:
                raise _KeyTwice(key, start + key_node.start_mark.line + 1)
            data[key] = _value(value_node, (*where, key), start, lines)
            lines[(*where, key)] = start + key_node.start_mark.line + 1
        return data
    if isinstance(node, yaml.SequenceNode):
        return [_value(item, (*where, index), start, lines) for index, item in enumerate(node.value)]
    return _scalar(node)


def _scalar(node: yaml.Node) -> Any:
    return yaml.SafeLoader("").construct_object(node)


def _split_front_matter(text: str) -> tuple[str, int, str]:
    """YAML, the number of lines before it, and the Markdown after it."""
    if not text.startswith(FRONT) or FRONT not in text[len(FRONT) :]:
        return text, 0, ""
    front, _, body = text[len(FRONT) :].partition(FRONT)
    return front, 1, body


def load(root: Path) -> schema.Content:
    """Everything in content/.

    Raises:
        ContentError: with every problem in it.
    """
    reader = Reader(root)
    content = schema.Content(
        sources=reader.table("sources.yaml", schema.Source),
        engines=reader.many("engines.yaml", schema.Engine),
        cautions=reader.folder("cautions", schema.Caution),
        codes=schema.Codes(
            spn=reader.table("codes/spn.yaml", schema.Code),
            fmi=reader.table("codes/fmi.yaml", schema.Code),
            dtc=reader.table("codes/dtc.yaml", schema.Code),
            pairs=reader.table("codes/pairs.yaml", schema.Code),
        ),
        causes=reader.folder("model/causes", schema.Cause),
        findings=reader.folder("model/findings", schema.Finding),
        measures=reader.folder("measures", schema.Measure),
        joints=reader.folder("joints", schema.Joint),
        repairs=reader.many("repairs.yaml", schema.Repair),
        proofs=reader.many("proofs.yaml", schema.Proof),
        fasteners=reader.folder("fasteners", schema.FastenerPlace),
        procedures=reader.folder("procedures", schema.Procedure, ".md"),
    )
    for item, field, problem in _loose_ends(content):
        reader.about(item, field, problem)
    if reader.problems:
        raise ContentError(sorted(reader.problems))
    return content


def _loose_ends(content: schema.Content) -> Iterator[tuple[BaseModel, str, str]]:
    """References that lead nowhere: (model, field, what is wrong)."""
    cautions = {item.key for item in content.cautions}
    findings = {item.key: {outcome.key for outcome in item.outcomes} for item in content.findings}
    causes = {item.key for item in content.causes}
    yield from _unsourced(content)
    for code in _all_codes(content):
        if code.finding and code.outcome not in findings.get(code.finding, set()):
            yield code, "finding", f"there is no finding {code.finding} with the outcome {code.outcome}"
    for cause in content.causes:
        for parent in sorted(set(cause.because_of) - causes):
            yield cause, "because_of", f"there is no cause {parent}"
    for finding in content.findings:
        for shown in sorted(set(finding.shown_by) - causes):
            yield finding, "shown_by", f"there is no cause {shown}"
    for measure in content.measures:
        if measure.finding not in findings:
            yield measure, "finding", f"there is no finding {measure.finding}"
    careful: list[Any] = [*content.findings, *content.measures, *content.fasteners]
    for item in careful:
        for key in sorted(set(item.caution) - cautions):
            yield item, "caution", f"there is no caution {key}"
    for procedure in content.procedures:
        for key in sorted(set(procedure.cautions) - cautions):
            yield procedure, "cautions", f"there is no caution {key}"
    for caution in content.cautions:
        for distance in caution.distances:
            source = content.sources.get(distance.source)
            if source is not None and source.kind not in LAWFUL:
                problem = (
                    f"the distance for {distance.place} must cite a law or a standard, not {source.kind}"
                )
                yield caution, "distances", problem


def _unsourced(content: schema.Content) -> Iterator[tuple[BaseModel, str, str]]:
    def unknown(*keys: str) -> list[str]:
        return [key for key in keys if key not in content.sources]

    single: list[Any] = [*content.causes, *content.findings, *content.joints, *content.proofs]
    for item in [*single, *content.fasteners, *_all_codes(content)]:
        for key in unknown(item.source):
            yield item, "source", f"there is no source {key} in sources.yaml"
    several: list[Any] = [*content.cautions, *content.procedures]
    for listed in several:
        for key in unknown(*listed.sources):
            yield listed, "sources", f"there is no source {key} in sources.yaml"
    for caution in content.cautions:
        for key in unknown(*(distance.source for distance in caution.distances)):
            yield caution, "distances", f"there is no source {key} in sources.yaml"
    for measure in content.measures:
        for key in unknown(*(limit.source for limit in measure.limits)):
            yield measure, "limits", f"there is no source {key} in sources.yaml"


def _all_codes(content: schema.Content) -> list[schema.Code]:
    tables = (content.codes.spn, content.codes.fmi, content.codes.dtc, content.codes.pairs)
    return [code for table in tables for code in table.values()]
