"""The numbers of findings in case codes: complete, and what was once given out never changes."""

import json
import re
import shutil
from pathlib import Path

import pytest

from pwa.build.content import reader
from pwa.engine.case_code import codec
from tests.helpers.trade import CONTENT

REAL = Path(__file__).parent.parent.parent / "content"
# Codes as they were once written, which together name every finding and outcome of their day. Add to this
# file when many findings have come; never change what stands in it.
OLD = json.loads((Path(__file__).parent / "old_case_codes.json").read_text("utf-8"))


@pytest.mark.parametrize("old", OLD, ids=lambda old: old["code"][:8])
def test_an_old_code_still_says_what_it_said(old):
    case = codec.decode(old["code"], CONTENT["case_code"])
    assert (case["drive"], case["place"], case["newer"]) == (old["drive"], old["place"], 0)
    assert {said["finding"]: said["outcome"] for said in case["findings"]} == old["findings"]
    assert {said["state"] for said in case["findings"]} == {old["state"]}


@pytest.fixture
def copy(tmp_path):
    shutil.copytree(REAL, tmp_path / "content")
    return tmp_path / "content"


@pytest.mark.parametrize(
    ("name", "old", "new", "says"),
    [
        (
            "case-code.yaml",
            '  - {key: soot-seen, outcomes: ["no", "yes"]}\n',
            "",
            "model/findings/soot-seen.yaml:1: key: case-code.yaml has no number for soot-seen; append there:"
            '   - {key: soot-seen, outcomes: ["no", "yes"]}',
        ),
        ("case-code.yaml", '"smooth", ', "", "has no number for hand-sweep smooth; append it"),
        ("case-code.yaml", "{key: soot-seen,", "{key: soot-sene,", "there is no finding soot-sene"),
        ("case-code.yaml", "{key: stood-long,", "{key: soot-seen,", "soot-seen stands here a second time"),
        ("case-code.yaml", '["smooth", ', '["smooth", "smooth", ', "an outcome stands here a second time"),
        ("case-code.yaml", "drives: [electric, ", "drives: [", "drives: electric must stand here once"),
        ("case-code.yaml", "turbo off]", "turbo off, bay]", "places: bay must stand here once"),
        ("case-code.yaml", "states: [assembled, ", "states: [", "states: assembled must stand here once"),
        ("case-code.yaml", "drives:", "drive:", "drive: Extra inputs are not permitted"),
    ],
)
def test_a_gap_stops_the_build_with_file_and_line(copy, name, old, new, says):
    text = (copy / name).read_text("utf-8")
    assert old in text
    (copy / name).write_text(text.replace(old, new, 1), "utf-8")
    with pytest.raises(reader.ContentError) as caught:
        reader.load(copy)
    assert any(says in problem for problem in caught.value.problems), caught.value.problems
    assert all(problem.split(":")[1].isdigit() for problem in caught.value.problems)


def test_a_finding_that_is_gone_keeps_its_number(copy):
    table = (copy / "case-code.yaml").read_text("utf-8")
    line = '  - {key: gone-since, outcomes: ["no", "yes"], retired: true}\n'
    (copy / "case-code.yaml").write_text(table + line, "utf-8")
    loaded = reader.load(copy).case_code.model_dump()
    said = {"finding": "gone-since", "outcome": "yes", "state": "assembled", "weights": {}}
    code = codec.encode("electric", "bay", [said], loaded)
    assert codec.decode(code, loaded)["findings"] == [said]


def test_the_build_appends_a_new_finding_and_a_new_outcome(copy):
    before = reader.load(copy).case_code
    new = (
        (copy / "model/findings/soot-seen.yaml").read_text("utf-8").replace("key: soot-seen", "key: soot-new")
    )
    (copy / "model/findings/soot-new.yaml").write_text(new, "utf-8")
    sweep = copy / "model/findings/black-smoke.yaml"
    text = sweep.read_text("utf-8").replace(
        "shown_by:", "  - {key: sometimes, label: Now and then}\nshown_by:"
    )
    text = re.sub(r"\[(0[.\d]*|[.\d]+e-\d+)\]", r"[\1, 0.01]", text)
    sweep.write_text(text, "utf-8")
    with pytest.raises(reader.ContentError, match="has no number for soot-new"):
        reader.load(copy)
    after = reader.load(copy, number=True).case_code
    assert [item.key for item in after.findings] == [item.key for item in before.findings] + ["soot-new"]
    for was, now in zip(before.findings, after.findings, strict=False):
        added = ["sometimes"] if was.key == "black-smoke" else []
        assert now.outcomes == was.outcomes + added
    assert reader.load(copy).case_code == after


def test_no_number_is_given_while_anything_else_is_wrong(copy):
    new = (
        (copy / "model/findings/soot-seen.yaml").read_text("utf-8").replace("key: soot-seen", "key: soot-new")
    )
    (copy / "model/findings/soot-new.yaml").write_text(new.replace("source: ", "source: no-"), "utf-8")
    table = (copy / "case-code.yaml").read_bytes()
    with pytest.raises(reader.ContentError, match="there is no source no-our-estimate"):
        reader.load(copy, number=True)
    assert (copy / "case-code.yaml").read_bytes() == table


def test_without_the_table_there_is_no_build(copy):
    (copy / "case-code.yaml").unlink()
    with pytest.raises(reader.ContentError, match=r"case-code.yaml:1: file: there is no such file"):
        reader.load(copy)
