"""content/ loads whole, and what is wrong with it is said with file and line."""

import shutil
from pathlib import Path
from typing import get_args

import pytest

from pwa.build.content import reader, schema

REAL = Path(__file__).parent.parent.parent / "content"


@pytest.fixture
def copy(tmp_path):
    shutil.copytree(REAL, tmp_path / "content")
    return tmp_path / "content"


def change(root: Path, name: str, old: str, new: str) -> int:
    """Change a file once; returns the line it was changed on."""
    text = (root / name).read_text("utf-8")
    assert old in text
    (root / name).write_text(text.replace(old, new, 1), "utf-8")
    return text[: text.index(old)].count("\n") + 1


def problems(root: Path) -> list[str]:
    with pytest.raises(reader.ContentError) as caught:
        reader.load(root)
    return caught.value.problems


def test_the_real_content_loads_and_is_large_enough_for_the_job():
    loaded = reader.load(REAL)
    assert len(loaded.causes) >= 12
    assert len(loaded.findings) >= 20
    assert {cause.system for cause in loaded.causes} == set(get_args(schema.System))
    assert any(cause.upstream for cause in loaded.causes)
    assert set(loaded.codes.fmi) == {str(number) for number in range(32)}


@pytest.mark.parametrize(
    ("name", "old", "new", "says"),
    [
        ("cautions/battery.yaml", "hazard:", "hasard:", "no field hasard; did you mean hazard?"),
        ("cautions/battery.yaml", "steps: [measure, repair]", "steps: [measure, fly]", "Input should be"),
        ("codes/fmi.yaml", "source: sae-j1939-73", "source: nowhere", "no source nowhere"),
        ("measures/ground-drop.yaml", "finding: ground-drop", "finding: nothing", "no finding nothing"),
        ("measures/ground-drop.yaml", "where:", "ware:", "no field ware; did you mean where?"),
        ("model/causes/vanes-sooted.yaml", "soot-made:", "no-such:", "no cause no-such"),
        ("model/findings/soot-seen.yaml", "vanes-sooted:", "no-such:", "no cause no-such"),
        ("model/findings/soot-seen.yaml", "caution: [hot-parts", "caution: [cold", "no caution cold"),
        ("procedures/reading-codes.md", "cautions: [moving-parts]", "cautions: [none]", "no caution none"),
        ("cautions/roadside.yaml", "source: uk-highway-code", "source: common-practice", "law or a standard"),
        ("cautions/roadside.yaml", "key: us-divided", "key: us-two-way", "a second time"),
        ("cautions/roadside.yaml", "at least 45 m (147 ft)", "far enough", "no distance with its unit"),
        ("cautions/roadside.yaml", 'as_of: "2026-11-25"', "as_of: lately", "String should match pattern"),
        ("codes/dtc.yaml", "finding: code-circuit", "finding: code-nothing", "no finding code-nothing"),
        ("codes/pairs.yaml", "finding: code-circuit", "kind: circuit", "a second time"),
        ("codes/spn.yaml", "source: from-memory", "source: from-memory\n  outcome: x", "without the finding"),
        ("joints/pipes.yaml", "key: pipes", "key: tubes", "must agree"),
        ("measures/ground-drop.yaml", "unit: V}", "unit: ''}", "a number needs its unit"),
        (
            "measures/ground-drop.yaml",
            "calculation: electrical.ground_drop",
            "calculation: guess",
            "no calculation guess",
        ),
        ("measures/ground-drop.yaml", "caution: [battery", "caution: [cold", "no caution cold"),
        ("measures/ground-drop.yaml", "source: common-practice", "source: hearsay", "no source hearsay"),
        ("model/findings/soot-seen.yaml", "leak: [", "leak: [0.1, ", "one number for each outcome"),
        ("proofs.yaml", 'unit: "%"', 'unit: ""', "a number needs its unit"),
        ("repairs.yaml", "- key: calibrate", "- key: repair-wiring", "a second time"),
        ("repairs.yaml", "parts: 34", "parts: -1", "greater than or equal to 0"),
        (
            "repairs.yaml",
            "oil-consumption, egr-cooler-leak",
            "vanes-sooted, egr-cooler-leak",
            "no upstream cause",
        ),
        (
            "model/causes/ring-worn.yaml",
            "put_right: {replace-cartridge:",
            "put_right: {magic:",
            "no repair magic",
        ),
        ("model/causes/boost-low.yaml", "source:", "put_right: {clean: 0.9}\nsource:", "an effect has none"),
        (
            "model/causes/ring-worn.yaml",
            "replace-cartridge: 0.95",
            "replace-cartridge: 1",
            "lies between 0 and 1",
        ),
        ("sources.yaml", "kind: handbook", "kind: hearsay", "Input should be"),
    ],
)
def test_a_mistake_is_named_with_its_file_and_line(copy, name, old, new, says):
    line = change(copy, name, old, new)
    found = [problem for problem in problems(copy) if says in problem]
    assert found, problems(copy)
    file, number, _ = found[0].split(":", 2)
    assert file == name
    # What is missing stands nowhere: its line is that of what lacks it. A repeated key is a line on.
    missing = "required" in says or "needs" in says
    assert int(number) <= line if missing else line <= int(number) <= line + 1


def test_the_line_is_the_very_one(copy):
    line = change(copy, "joints/pipes.yaml", "fixing: other", "fixing: glue")
    assert problems(copy)[0].startswith(f"joints/pipes.yaml:{line}: fixing:")


def test_a_key_written_twice_is_refused(copy):
    change(copy, "joints/pipes.yaml", "fixing: other", "fixing: other\nfixing: bolts")
    assert "a second time" in problems(copy)[0]


def test_broken_yaml_is_named_with_its_line(copy):
    (copy / "joints/pipes.yaml").write_text("key: pipes\nname: [unclosed\n")
    assert problems(copy)[0].startswith("joints/pipes.yaml:")


def test_every_problem_is_listed_not_the_first_alone(copy):
    change(copy, "joints/pipes.yaml", "fixing: other", "fixing: glue")
    change(copy, "repairs.yaml", "key: clean", "kee: clean")
    assert len(problems(copy)) == 2


@pytest.mark.parametrize(
    ("name", "text", "says"),
    [
        ("joints/pipes.yaml", "", "joints/pipes.yaml:1: file: the file is empty"),
        ("joints/pipes.yaml", "- pipes\n", "joints/pipes.yaml:1: file: Input should be a valid dictionary"),
        ("joints/pipes.yaml", "key: pipes\n? [a]\n: b\n", "joints/pipes.yaml:2: file: a key must be a plain"),
        ("joints/pipes.yaml", "key: &a [*a]\n", "joints/pipes.yaml:1: file: it holds itself"),
        ("repairs.yaml", "key: clean\n", "repairs.yaml:1: file: this file must hold a list"),
        ("codes/spn.yaml", "- a\n", "codes/spn.yaml:1: file: this file must hold a mapping"),
        ("procedures/reading-codes.md", "No front matter\n", "procedures/reading-codes.md:1: file: "),
    ],
)
def test_a_file_that_is_not_what_it_should_be_is_named(copy, name, text, says):
    (copy / name).write_text(text, "utf-8")
    assert [problem for problem in problems(copy) if problem.startswith(says)], problems(copy)


def test_a_file_that_is_no_text_is_named(copy):
    (copy / "joints/pipes.yaml").write_bytes(b"key: \xff\n")
    assert problems(copy)[0].startswith("joints/pipes.yaml:1: file: ")


def test_a_number_and_the_same_digits_as_text_are_one_key(copy):
    with (copy / "codes/spn.yaml").open("a", encoding="utf-8") as file:
        file.write("641:\n  text: again\n  kind: device\n  source: from-memory\n")
    assert any("the key 641 stands here a second time" in problem for problem in problems(copy))


def test_problems_in_front_matter_count_from_the_top_of_the_file(copy):
    line = change(copy, "procedures/reading-codes.md", "sources: [", "sources: [nowhere, ")
    assert f"procedures/reading-codes.md:{line}: sources.0: there is no source nowhere" in "".join(
        problems(copy)
    )


def test_folders_that_are_not_there_yet_give_empty_lists(copy):
    for folder in ("measures", "model", "codes", "stops"):
        shutil.rmtree(copy / folder)
    for name in ("repairs.yaml", "openings.yaml"):  # they name causes, and the rules that stand for them
        (copy / name).write_text("[]")
    numbers = (copy / "case-code.yaml").read_text("utf-8").partition("findings:\n")[0]
    (copy / "case-code.yaml").write_text(numbers)
    loaded = reader.load(copy)
    assert loaded.causes == loaded.findings == loaded.measures == []
    assert loaded.codes.dtc == {}


def test_a_failure_mode_alone_is_no_evidence_and_the_actuators_own_is():
    """SAE J1939-73 gives failure modes to every parameter: a wire broken elsewhere is not the actuator's."""
    codes = reader.load(REAL).codes
    assert not [key for key, code in codes.fmi.items() if code.finding]
    assert {key: codes.pairs[f"641/{key}"].finding for key in (3, 7, 9, 13)} == {
        3: "code-circuit", 7: "code-mechanical", 9: "code-network", 13: "code-calibration",
    }  # fmt: skip
    assert not codes.spn["102"].finding
    assert codes.pairs["102/18"].finding == "code-boost-low"


def test_levels_of_believable_values_stand_in_the_standards_order():
    """SAE J1939-73: 15 high least, 16 high moderate, 17 low least, 18 low moderate; 22 to 30 reserved."""
    fmi = reader.load(REAL).codes.fmi
    assert ["high" in fmi[str(key)].text for key in (15, 16, 17, 18)] == [True, True, False, False]
    assert ["low" in fmi[str(key)].text for key in (15, 16, 17, 18)] == [False, False, True, True]
    assert ["little" in fmi[str(key)].text for key in (15, 16, 17, 18)] == [True, False, True, False]
    assert all("reserved" in fmi[str(key)].text for key in range(22, 31))


def test_a_jurisdiction_can_forbid_placing_anything():
    """UK Highway Code rule 277 and Hong Kong Road Users' Code: no triangle on a motorway or expressway."""
    roadside = next(item for item in reader.load(REAL).cautions if item.key == "roadside")
    assert {item.key for item in roadside.distances if item.devices == "none"} == {
        "gb-motorway",
        "hk-expressway",
    }


def test_the_roadside_comes_first_of_all_cautions():
    assert [item.key for item in reader.load(REAL).cautions][:2] == ["roadside", "wheels"]


def test_markdown_cannot_bring_html_of_its_own(copy):
    change(
        copy, "procedures/reading-codes.md", "No code is evidence", "<script>x</script> No code is evidence"
    )
    bodies = [item.body for item in reader.load(copy).procedures if item.key == "reading-codes"]
    assert "<script>" not in bodies[0]
