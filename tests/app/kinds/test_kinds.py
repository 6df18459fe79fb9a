"""Every record kind is whole: words, title, place in the summary, conflict, and what makes it count."""

import ast
import re
from pathlib import Path

import pytest
from mypy import api

from pwa.app.kinds import check as here
from pwa.app.kinds import shape
from pwa.app.kinds.table import KINDS, SECTIONS
from pwa.build import record_types
from tests.helpers.samples import broken, sample
from tests.helpers.trade import CONTENT

ROOT = Path(__file__).parents[3]
ELSEWHERE = (shape.HEAD, shape.JOINTS, shape.TIMELINE, shape.SHOP)
each_kind = pytest.mark.parametrize("kind", KINDS.values(), ids=list(KINDS))


@each_kind
def test_a_kind_has_its_title_its_section_and_its_conflict(kind):
    fields = {field.name: field for field in kind.fields}
    assert kind.title.endswith((":", "."))
    assert kind.section in SECTIONS + ELSEWHERE
    assert (kind.subject is None) == bool(kind.alone), "a subject, or why two of it cannot disagree"
    assert all(fields[name].needed for name in kind.subject or ())
    assert set(kind.says or ()) <= set(fields)
    assert not {kind.photo, kind.corrects} - {""} - set(fields)


def test_every_heading_of_the_summary_has_its_kind():
    assert set(SECTIONS) <= {kind.section for kind in KINDS.values()}


@each_kind
@pytest.mark.parametrize("whole", [False, True], ids=["least", "most"])
def test_a_kind_is_told_in_words_on_both_interpreters(twin, kind, whole):
    data = sample(kind.fields, whole)
    assert twin("pwa.app.kinds.check").problems(kind.name, data) == []
    record = {"kind": kind.name, "data": data, "clock": "001764065263000.0000000"}
    said = twin("pwa.app.story").text_of(record, CONTENT)
    assert said or kind.name == "photo"
    fields = ", ".join(f"{name} {data[name]}" for name in sorted(data))
    assert said != fields, "a kind that is understood is told in words, not as its fields"


@each_kind
def test_what_lacks_a_field_or_has_another_type_decides_nothing(twin, kind):
    check = twin("pwa.app.kinds.check")
    assert check.understood(kind.name, sample(kind.fields, True))
    for what, data in broken(kind.fields):
        assert not check.understood(kind.name, data), what
        assert check.problems(kind.name, data), what


@each_kind
def test_a_field_of_a_newer_version_changes_nothing(kind):
    assert here.problems(kind.name, {**sample(kind.fields, True), "colour": "red"}) == []


@pytest.mark.parametrize(
    ("kind", "field", "value", "says"),
    [
        ("note", "text", "x" * (shape.TEXT + 1), "text is longer than 20000 characters."),
        ("job-opened", "drive", "steam", "drive is none of: electric, pneumatic, hydraulic, not known."),
        ("tolerance", "degrees", 91, "degrees is more than 90."),
        ("photo", "turned", 361, "turned is more than 360."),
        ("unphotographed", "joints", ["j"] * 201, "joints has not 0 to 200 parts."),
    ],
)
def test_what_is_out_of_bounds_is_told_and_decides_nothing(kind, field, value, says):
    data = {**sample(KINDS[kind].fields, True), field: value}
    assert here.problems(kind, data) == [says]
    assert not here.understood(kind, data)


def test_data_that_is_no_object_and_kinds_of_a_newer_version(twin):
    check = twin("pwa.app.kinds.check")
    assert check.problems("note", ["text"]) == ["Its data is no object."]
    assert not check.understood("note", None)
    assert check.problems("dream", {}) == ["This version knows no kind of record called dream."]
    assert check.understood("dream", {"any": "thing"})


def drafted() -> list[tuple[str, str]]:
    """Every kind that the app drafts by name, and where."""
    found = []
    for path in (ROOT / "pwa/app").rglob("*.py"):
        for item in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(item, ast.Call) and ast.unparse(item.func).split(".")[-1] == "draft":
                assert isinstance(item.args[1], ast.Constant), f"{path}:{item.lineno} names no kind"
                found.append((str(item.args[1].value), f"{path}:{item.lineno}"))
    return found


def test_every_kind_that_is_written_is_in_the_table_and_the_other_way_round():
    written = drafted()
    for kind, where in written:
        assert kind in KINDS, where
    assert set(KINDS) == {kind for kind, _ in written}


def test_the_types_of_data_are_those_of_the_table():
    assert record_types.STUB.read_text("utf-8") == record_types.stub(), (
        "the table has changed: run python -m pwa.build.record_types"
    )


MISSPELT = """
from pwa.app.record import jobs
from pwa.app.record.chain import draft
from pwa.app.record.jobs import Job

def read(job: Job) -> object:
    return [record["data"]["turnt"] for record in jobs.of_kind(job["settled"], "torque")]  # wrong

def read_last(job: Job) -> object:
    found = jobs.latest(job["settled"], "note")
    return found and found["data"]["txt"]  # wrong

def read_kind(job: Job) -> object:
    return jobs.of_kind(job["settled"], "torqe")  # wrong

def write() -> object:
    return draft("job", "note", {"txt": "words"})  # wrong

def write_less() -> object:
    return draft("job", "torque", {"fastener": "sheet", "bolt": 1})  # wrong

def right(job: Job) -> object:
    return draft("job", "note", {"text": job["opened"]["complaint"]})
"""


def test_a_misspelt_kind_or_field_fails_the_type_check(tmp_path, monkeypatch):
    snippet = tmp_path / "snippet.py"
    snippet.write_text(MISSPELT, "utf-8")
    monkeypatch.chdir(ROOT)
    monkeypatch.setenv("MYPYPATH", str(ROOT))
    said, trouble, _ = api.run(["--strict", "--hide-error-context", str(snippet)])
    assert not trouble
    wrong = {int(number) for number in re.findall(r"snippet\.py:(\d+): error:", said)}
    meant = {n for n, line in enumerate(MISSPELT.split("\n"), 1) if "# wrong" in line}
    assert wrong == meant, said
