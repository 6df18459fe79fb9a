"""content/ loads whole, and what is wrong with it is said with file and line."""

import shutil
from pathlib import Path

import pytest

from pwa.build import content

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
    with pytest.raises(content.ContentError) as caught:
        content.load(root)
    return caught.value.problems


def test_the_real_content_loads_and_is_large_enough_for_the_job():
    loaded = content.load(REAL)
    assert len(loaded.causes) >= 12
    assert len(loaded.findings) >= 20
    assert {cause.fault for cause in loaded.causes} == {"electrical", "mechanical", "air path", "upstream"}
    assert set(loaded.codes.fmi) == {str(number) for number in range(32)}


@pytest.mark.parametrize(
    ("name", "old", "new", "says"),
    [
        ("cautions/battery.yaml", "hazard:", "hasard:", "hazard: Field required"),
        ("cautions/battery.yaml", "steps: [measure, repair]", "steps: [measure, fly]", "Input should be"),
        ("codes/fmi.yaml", "source: sae-j1939-73", "source: nowhere", "no source nowhere"),
        ("measures/ground-drop.yaml", "finding: ground-drop", "finding: nothing", "no finding nothing"),
        ("measures/ground-drop.yaml", "unit: V", "unyt: V", "Field required"),
        ("model/causes/vanes-sooted.yaml", "idling-duty:", "no-such:", "no cause no-such"),
        ("model/findings/soot-seen.yaml", "vanes-sooted:", "no-such:", "no cause no-such"),
        ("model/findings/soot-seen.yaml", "caution: [hot-parts", "caution: [cold", "no caution cold"),
        ("procedures/reading-codes.md", "cautions: [moving-parts]", "cautions: [none]", "no caution none"),
        ("cautions/roadside.yaml", "source: uk-highway-code", "source: common-practice", "law or a standard"),
        ("joints/pipes.yaml", "key: pipes", "key: tubes", "must agree"),
    ],
)
def test_a_mistake_is_named_with_its_file_and_line(copy, name, old, new, says):
    change(copy, name, old, new)
    found = [line for line in problems(copy) if says in line]
    assert found, problems(copy)
    file, line, _ = found[0].split(":", 2)
    assert file == name
    assert line.isdigit()


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
    assert len(problems(copy)) >= 3


def test_markdown_cannot_bring_html_of_its_own(copy):
    change(
        copy, "procedures/reading-codes.md", "No code is evidence", "<script>x</script> No code is evidence"
    )
    bodies = [item.body for item in content.load(copy).procedures if item.key == "reading-codes"]
    assert "<script>" not in bodies[0]
