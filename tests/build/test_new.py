"""`layby new` writes files that the build refuses until they are filled in, and takes once they are."""

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
import yaml

from pwa.build.checks import unfinished
from pwa.build.content import reader, schema
from pwa.build.new import blank, notes
from pwa.build.new.new import new
from pwa.engine import measures
from server import cli

ROOT = Path(__file__).parents[2]
FILLED = {
    "cause": {
        "name": "Bracket cracked", "system": "mechanism", "text": "The bracket has a crack.",
        "shows": "It rattles.", "chance": "0.002", "wrong": "It breaks off.",
        "put_right": "{free-linkage: 0.9}",
        "source": "our-estimate",
    },
    "measure": {
        "title": "Fan pressure", "kind": "air", "how": "Read it.", "where": "At the fan", "label": "Read",
        "unit": "kPa", "value": "3", "source": "our-estimate", "sources": "[worked-out]",
    },
    "joint": {
        "name": "Sensor flange", "why": "It leaks.", "do": "mark", "text": "A line over both.",
        "marks": "photo", "fixed": "housing", "moving": "sensor", "fixing": "bolts",
        "source": "common-practice",
    },
}  # fmt: skip
TRIED = """
from pwa.build import record_types
from tests.helpers.notebooks import Desk
from tests.helpers.trade import CONTENT, accept_all

assert record_types.STUB.read_text("utf-8") == record_types.stub()
phone = Desk(CONTENT)
job = phone.open_job()
accept_all(phone, job)
assert phone.get(job + "/tyre-seen").find("textarea")
phone.post(job + "/tyre-seen", text="The left one is flat")
assert "The left one is flat" in phone.get(job + "/timeline").text
"""
PLACES = {
    "cause": "content/model/causes/{}.yaml",
    "measure": "content/measures/{}.yaml",
    "joint": "content/joints/{}.yaml",
}
each = pytest.mark.parametrize("what", PLACES)


@pytest.fixture
def tree(tmp_path):
    """The content, and beside it the code that marks are looked for in."""
    shutil.copytree(ROOT / "content", tmp_path / "content")
    return tmp_path


def fill(file, values):
    """Write each value where its name has none."""
    text = file.read_text("utf-8")
    for name, value in values.items():
        text = re.sub(rf"^([ -]*{name}:)$", rf"\1 {value}", text, flags=re.MULTILINE)
    file.write_text(text, "utf-8")


@each
def test_every_place_to_fill_in_is_refused_with_its_line(tree, what):
    new(what, "try-out", tree)
    file = tree / PLACES[what].format("try-out")
    empty = {
        number
        for number, line in enumerate(file.read_text("utf-8").splitlines(), 1)
        if line.endswith(":") and line[0] != "#" and line.strip() not in ("inputs:", "limits:", "guide:")
    }
    with pytest.raises(reader.ContentError) as caught:
        reader.load(tree / "content")
    named = [problem.split(":")[:2] for problem in caught.value.problems]
    assert {name for name, _ in named} == {file.relative_to(tree / "content").as_posix()}
    assert {int(line) for _, line in named} == empty
    assert len(empty) >= 8


@pytest.mark.parametrize("what", ["cause", "joint"])
def test_a_filled_file_passes_the_build(tree, what):
    told = new(what, "try-out", tree)
    assert told[0] == f"Written: {PLACES[what].format('try-out')}"
    fill(tree / PLACES[what].format("try-out"), FILLED[what])
    content = reader.load(tree / "content")
    assert any(item.key == "try-out" for item in (content.causes if what == "cause" else content.joints))


def test_a_new_joint_has_the_next_order(tree):
    new("joint", "try-out", tree)
    new("joint", "another", tree)
    orders = [
        yaml.safe_load(path.read_text("utf-8"))["order"] for path in (tree / "content/joints").iterdir()
    ]
    assert sorted(orders) == list(range(1, len(orders) + 1))


def test_a_filled_measure_judges_a_reading_and_its_test_passes(tree, monkeypatch):
    new("measure", "try-out", tree)
    code, test = tree / "pwa/engine/measures/try_out.py", tree / "tests/engine/measures/test_try_out.py"
    marked = [n for n, line in enumerate(code.read_text("utf-8").splitlines(), 1) if "FILL IN" in line]
    with pytest.raises(unfinished.UnfinishedError) as caught:
        unfinished.check(tree / "pwa")
    assert [int(line.split(":")[1]) for line in str(caught.value).splitlines()] == marked
    text = re.sub(r'number\("reading", "[^"]+"\)', 'number("reading", "pressure")', code.read_text("utf-8"))
    text = text.replace("FILL IN: the unit of this limit", "kPa").replace("FILL IN: unit", "kPa")
    text = text.replace('limits["most"]', '1e3 * limits["most"]')
    code.write_text(re.sub(r"  # FILL IN.*|FILL IN: ", "", text), "utf-8")
    unfinished.check(tree / "pwa")
    monkeypatch.setattr(measures, "__path__", [*measures.__path__, str(code.parent)])
    fill(tree / PLACES["measure"].format("try-out"), FILLED["measure"])
    loaded = reader.load(tree / "content")
    assert [item.calculation for item in loaded.measures if item.key == "try-out"] == ["try_out.judge"]
    assert measures.calculate("try_out.judge", {"reading": 4000.0}, {"most": 3.0})["outcome"] == "high"
    del sys.modules["pwa.engine.measures.try_out"]
    assert "try_out.judge" in test.read_text("utf-8")


def test_a_calculation_without_a_quantity_is_refused_with_its_line(tree, monkeypatch):
    new("measure", "unmeasured", tree)
    monkeypatch.setattr(measures, "__path__", [*measures.__path__, str(tree / "pwa/engine/measures")])
    file = tree / PLACES["measure"].format("unmeasured")
    fill(file, FILLED["measure"])
    with pytest.raises(reader.ContentError, match=r"measures/unmeasured.yaml:\d+: inputs.0: .*quantity"):
        reader.load(tree / "content")
    del sys.modules["pwa.engine.measures.unmeasured"]


@pytest.mark.parametrize("name", ["measures/try_out.py"])
def test_code_is_clean_as_it_is_written(tree, name):
    new("measure", "try-out", tree)
    for tool in (["ruff", "check"], ["ruff", "format", "--check"]):
        files = [tree / "pwa/engine" / name, tree / "tests/engine/measures/test_try_out.py"]
        config = ["--config", str(ROOT / "pyproject.toml")]
        done = subprocess.run(
            [sys.executable, "-m", *tool, *config, *files], capture_output=True, text=True, cwd=ROOT
        )
        assert done.returncode == 0, done.stdout + done.stderr


def test_a_new_kind_has_its_page_its_types_and_its_place_in_the_timeline(tree):
    """In a Python of its own, for this one has imported the table as it is."""
    shutil.copytree(ROOT / "pwa", tree / "pwa", ignore=shutil.ignore_patterns("node_modules", "dist"))
    (tree / "pwa/node_modules").symlink_to((ROOT / "pwa/node_modules").resolve())
    shutil.copytree(ROOT / "tests", tree / "tests")
    shutil.copy(ROOT / "pyproject.toml", tree)
    new("kind", "tyre-seen", tree)
    with pytest.raises(unfinished.UnfinishedError) as caught:
        unfinished.check(tree / "pwa")
    marked = [line.split(":")[0] for line in str(caught.value).splitlines()]
    assert len(set(marked)) == 3
    for name in set(marked):
        text = (tree / name).read_text("utf-8")
        (tree / name).write_text(re.sub(r"  # FILL IN.*|FILL IN: ", "", text), "utf-8")
    unfinished.check(tree / "pwa")
    (tree / "tried.py").write_text(TRIED, "utf-8")
    environment = os.environ | {"PYTHONPATH": str(tree)}
    checked = ["pwa/app/kinds/tyre_seen.py", "pwa/app/screens/job/tyre_seen.py", "pwa/app/routes.py"]
    for command in (
        ["tried.py"],
        ["-m", "pytest", "-q", "tests/app/kinds/test_kinds.py", "-k", "tyre or every_kind or types_of"],
        ["-m", "mypy", "--strict", "--follow-imports=silent", *checked],
        ["-m", "ruff", "check", *checked, "pwa/app/kinds/table.py"],
        ["-m", "ruff", "format", "--check", *checked, "pwa/app/kinds/table.py"],
    ):
        done = subprocess.run(
            [sys.executable, *command], cwd=tree, env=environment, capture_output=True, text=True
        )
        assert done.returncode == 0, done.stdout + done.stderr
    with pytest.raises(ValueError, match="is taken by a kind"):
        new("kind", "tyre-seen", tree)
    with pytest.raises(ValueError, match="is taken by a kind"):
        new("kind", "photo", tree)


def every_file(tree):
    return {path: path.read_bytes() for path in tree.rglob("*") if path.is_file()}


@pytest.mark.parametrize(
    ("what", "key", "says"),
    [
        ("cause", "vanes-sooted", "is there already"),
        ("cause", "soot-seen", "There is a finding called soot-seen"),
        ("measure", "ground-drop", "is there already"),
        ("joint", "pipes", "is there already"),
        ("joint", "Pipes", "is no key"),
        ("joint", "two words", "is no key"),
        ("joint", "../pipes", "is no key"),
        ("joint", "pipes-", "is no key"),
        ("joint", "3-pipes", "is no key"),
        ("joint", "", "is no key"),
        ("measure", "import", "a word of Python's own"),
    ],
)
def test_a_key_that_is_taken_or_odd_is_refused_and_nothing_is_written(tree, what, key, says):
    before = every_file(tree)
    with pytest.raises(ValueError, match=re.escape(says)):
        new(what, key, tree)
    assert every_file(tree) == before


def test_what_was_begun_is_never_overwritten(tree):
    new("measure", "try-out", tree)
    (tree / PLACES["measure"].format("try-out")).unlink()
    (tree / "pwa/engine/measures/try_out.py").write_text("mine\n", "utf-8")
    before = every_file(tree)
    with pytest.raises(ValueError, match=r"pwa/engine/measures/try_out\.py is there already"):
        new("measure", "try-out", tree)
    assert every_file(tree) == before


@pytest.mark.parametrize(
    ("model", "notes"),
    [(schema.Cause, notes.CAUSE), (schema.Measure, notes.MEASURE), (schema.Joint, notes.JOINT)],
)
def test_a_note_stands_for_a_field_that_is_there(model, notes):
    assert {name.split(".")[0] for name in notes} <= set(model.model_fields)


def test_a_new_required_field_appears_by_itself():
    class Longer(schema.Cause):
        colour: str

    assert blank.text(Longer, {"key": "k"}, set(), notes.CAUSE).endswith("# text\ncolour:\n")


def test_outside_a_checkout_it_says_so_in_one_sentence(monkeypatch, capsys):
    monkeypatch.setitem(sys.modules, "pwa.build.new.new", None)
    assert cli.main(["new", "cause", "try-out"]) == 2
    said = capsys.readouterr().err
    assert said.startswith("layby: `layby new` writes into Layby's source, so it needs a checkout of it")
    assert said.count("\n") == 1


def test_the_source_of_this_checkout_has_no_mark_left():
    unfinished.check()
