"""`layby case encode` and `layby case decode`: there and back, and what is wrong in one sentence."""

import json

import pytest

from server import cli

CASE = {
    "drive": "pneumatic",
    "place": "roadside",
    "state": "turbine housing off",
    "findings": {
        "supply-drop": {"outcome": "high", "state": "assembled", "weights": {"ok": 0.25, "high": 1.0}},
        "hand-sweep": "smooth",
    },
}


@pytest.fixture
def run(tmp_path, capsys):
    def command(*arguments, status=0):
        assert cli.main(["case", *arguments]) == status
        said = capsys.readouterr()
        return said.err if status else said.out

    def encode(case, *options, status=0):
        path = tmp_path / "case.json"
        path.write_text(json.dumps(case))
        return command("encode", str(path), *options, status=status)

    command.encode = encode
    return command


def test_a_case_goes_into_a_code_and_comes_back_as_a_case(run, tmp_path):
    code = run.encode(CASE).strip()
    assert all(len(group) <= 4 for group in code.split())
    back = json.loads(run("decode", *code.split(), "--json"))
    assert (back["drive"], back["place"], back["newer"]) == ("pneumatic", "roadside", 0)
    assert back["findings"]["hand-sweep"] == {"outcome": "smooth", "state": "turbine housing off"}
    assert back["findings"]["supply-drop"]["weights"] == pytest.approx({"ok": 0.25, "high": 1}, abs=1e-3)
    assert run.encode(back).strip() == code
    assert cli.main(["isolate", str(tmp_path / "case.json")]) == 0


def test_a_code_is_told_in_words_with_what_was_mended(run):
    said = json.loads(run.encode(CASE, "--json"))
    assert "".join(said["groups"]) == said["code"]
    wrong = said["code"][:5] + ("Z" if said["code"][5] != "Z" else "Y") + said["code"][6:]
    told = run("decode", wrong.lower())
    assert f"Character 6: not {wrong[5]}, but {said['code'][5]}" in told
    assert "pneumatic actuator, roadside" in told
    assert "(turbine housing off)" in told


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["decode", "HELLO"], "More than one character"),
        (["decode", "3"], "no whole case code"),
        (["encode", "nowhere.json"], "No such file"),
    ],
)
def test_what_is_wrong_is_one_sentence(run, arguments, says):
    said = run(*arguments, status=2)
    assert says in said
    assert said.count("\n") == 1


def test_weights_are_numbers(run):
    weighted = {"supply-drop": {"outcome": "ok", "weights": {"ok": "much"}}}
    assert "weights are numbers" in run.encode({"findings": weighted}, status=2)


@pytest.mark.parametrize("findings", [{"colour": "red"}, {"supply-drop": "purple"}])
def test_a_finding_without_a_number_is_named(run, findings):
    assert "A case code has no number" in run.encode({"findings": findings}, status=2)
