"""`layby log`: told in words and as JSON, mistakes in one sentence. All data is generated."""

import json

import pytest

from server import cli

FRAMES = """(5.000000) can0 0CF00400#FFFFFF0019FFFFFF
(5.500000) can0 10FDA300#FFFF7DFFFFFFFFFF
(6.000000) can0 10FDA300#FFFFFEFFFFFFFFFF
(6.500000) can0 18FECA00#04FF81020702FFFF
(7.000000) can0 18FECA00#04FF8102
"""
TABLE = "Time (s);Speed 1;Output 3\n0,0;800;20,5\n0,1;900;30,5\nx\n"


@pytest.fixture
def write(tmp_path):
    def written(text):
        (tmp_path / "log").write_text(text)
        return str(tmp_path / "log")

    return written


def test_frames_are_told_with_source_standing_and_codes(write, capsys):
    assert cli.main(["log", write(FRAMES)]) == 0
    said = capsys.readouterr().out
    assert "5 rows, 2.0 s" in said
    assert "SPN 641 in PGN 64931, byte 3" in said
    assert "scale: public lists agree; the sender reports an error 1 times" in said
    assert "641/7       active, from 0, 2 times, 1.5 to 1.5 s" in said
    assert "Mind: 1 messages of codes cannot be read." in said


def test_a_table_is_told_with_its_damage(write, capsys):
    assert cli.main(["log", write(TABLE)]) == 0
    said = capsys.readouterr().out
    assert "Damaged lines: 1\n  4: x" in said
    assert "Output 3" in said


def test_columns_are_mapped_and_all_is_json(write, capsys):
    arguments = ["log", write(TABLE), "--map", "vgt-command=Output 3", "--map", "engine-speed=2", "--json"]
    assert cli.main(arguments) == 0
    log = json.loads(capsys.readouterr().out)
    assert [(item["key"], item["last"]) for item in log["signals"]] == [
        ("engine-speed", 900),
        ("vgt-command", 30.5),
    ]


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["nowhere.csv"], "No such file"),
        (["FILE", "--map", "boost"], "is not SIGNAL=COLUMN"),
        (["FILE", "--map", "boost=z"], "no column “z”"),
        (["FILE", "--map", "lift=1"], "no signal lift"),
    ],
)
def test_a_mistake_is_one_sentence(write, arguments, says, capsys):
    path = write(TABLE)
    assert cli.main(["log", *(path if item == "FILE" else item for item in arguments)]) == 2
    said = capsys.readouterr().err
    assert says in said
    assert said.count("\n") == 1
