"""`layby codes`: in words and as JSON, from arguments and from standard input, mistakes in one sentence."""

import io
import json
import shlex

import pytest

from server import cli
from server.commands import codes

FRAMES = "1CECFF00#200A0002FFCAFE00\n1CEBFF00#0114FF8102070266\n1CEBFF00#02001001FFFFFFFF\n"


def said(capsys, *arguments):
    assert cli.main(["codes", *arguments]) == 0
    return capsys.readouterr().out


def test_a_pair_may_be_typed_as_one_word_or_as_several(capsys):
    assert said(capsys, "641/7") == said(capsys, "SPN", "641", "FMI", "7")


def test_the_example_of_the_help_works(capsys):
    assert cli.main(shlex.split(codes.EXAMPLE)[1:]) == 0
    told = capsys.readouterr().out
    assert "stop on; warning on" in told
    assert "641/7" in told
    assert "counted 2" in told


def test_frames_are_read_from_standard_input(capsys, monkeypatch):
    monkeypatch.setattr("sys.stdin", io.StringIO(FRAMES))
    assert said(capsys, "-").startswith("DM1 from address 0 (active)\n")


def test_a_message_that_is_incomplete_is_named_beside_the_others(capsys):
    told = said(capsys, FRAMES + "1CECFF03#200A0002FFCAFE00")
    assert "102/16" in told
    assert "Mind: The message 65226 from address 3 is incomplete" in told


def test_a_code_nobody_knows_is_shown_as_unknown(capsys):
    assert "P3FFF       Not a code this version knows" in said(capsys, "P3FFF")
    assert "Unknown parameter 519999" in said(capsys, "519999/3")


def test_what_a_code_answers_is_told(capsys):
    assert "answers “VGT code, kind not told”" in said(capsys, "641/11")
    assert "answers" not in said(capsys, "84/2")


def test_a_failure_type_is_told(capsys):
    told = said(capsys, "P0299-71", "U0100-F1")
    assert "Failure type 71: mechanical." in told
    assert "Failure type F1: not known here." in told


def test_no_active_code_is_said(capsys):
    assert "No code." in said(capsys, "00 FF 00 00 00 00 FF FF")


def test_an_old_layout_shows_every_reading(capsys):
    told = said(capsys, "44 FF 66 00 04 85 FF FF")
    assert all(key in told for key in ("102/4", "208896/4", "816/4"))
    assert "the bytes do not tell" in told


def test_everything_is_there_as_json(capsys):
    read = json.loads(said(capsys, "P0299", "P3FFF", "--json"))
    found = [code for report in read["reports"] for code in report["codes"]]
    assert [code["bytes"] for code in found] == [[0x02, 0x99], [0x3F, 0xFF]]
    assert [code["meanings"][0]["kind"] for code in found] == ["system", "unknown"]


@pytest.mark.parametrize("typed", ["hello", "641", "1CECFF00#200A0002FFCAFE00"])
def test_a_mistake_is_one_sentence(typed, capsys):
    assert cli.main(["codes", typed]) == 2
    assert capsys.readouterr().err.count("\n") == 1
