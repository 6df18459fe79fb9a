"""`layby sweep`: typed rows, and command and position out of a log. All data is generated."""

import json
import shlex

import pytest

from server import cli
from server.commands import sweep


@pytest.fixture
def log(tmp_path):
    """A table that follows at once: 10 % and 90 %, two seconds each."""
    lines = ["Time (s),VGT command (%),VGT position (%)"]
    for index in range(80):
        command = 10 if index < 40 else 90
        lines.append(f"{index / 20},{command},{command + (0.5 if index % 2 else 0)}")
    (tmp_path / "drive.csv").write_text("\n".join(lines))
    return str(tmp_path / "drive.csv")


def test_the_example_of_the_help_works(capsys):
    assert cli.main(shlex.split(sweep.EXAMPLE)[1:]) == 0
    said = capsys.readouterr().out
    assert "follows the command from end to end" in said
    assert "Hysteresis with dead band" in said


def test_the_worksheets_are_listed(capsys):
    assert cli.main(["sweep"]) == 0
    said = capsys.readouterr().out
    assert "stepped-sweep" in said
    assert "command-trace" in said


def test_a_log_gives_command_and_position(log, capsys):
    assert cli.main(["sweep", "--log", log, "--json"]) == 0
    verdict = json.loads(capsys.readouterr().out)
    assert verdict["outcome"] == "follows"
    assert {item["label"]: item["value"] for item in verdict["details"]}["Samples"] == 80


@pytest.mark.parametrize("arguments", [["limit.end=0.1"], ["command-trace", "limit.end=0.1"]])
def test_limits_are_typed_beside_a_log(log, arguments, capsys):
    assert cli.main(["sweep", *arguments, "--log", log]) == 0
    assert "misses the low end" in capsys.readouterr().out


def test_other_columns_are_mapped(log, capsys):
    swapped = ["--map", "vgt-command=VGT position (%)", "--map", "vgt-position=VGT command (%)"]
    assert cli.main(["sweep", "--log", log, *swapped]) == 0
    assert "Travel: 80 %" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["--map", "vgt-position="], "no signal vgt-position"),
        (["limit.speed=1"], "asks for no limit.speed"),
    ],
)
def test_a_mistake_is_one_sentence(log, arguments, says, capsys):
    assert cli.main(["sweep", "--log", log, *arguments]) == 2
    said = capsys.readouterr().err
    assert says in said
    assert said.count("\n") == 1
