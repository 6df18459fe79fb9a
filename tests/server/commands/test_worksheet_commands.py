"""Worksheets in a terminal: listed, asked, answered in words and as JSON, mistakes in one sentence."""

import json
import shlex

import pytest

from server import cli
from server.commands import air, circuits, fasteners, heat

BOOST = ["air", "expected-boost", "known=200 kPa", "boost=23 psi", "reads=gauge", "altitude=5280 ft"]
HOT = ["heat", "touch-safe", "ambient=20", "surface=dull", "contact=hold"]
RATIO = ["air", "pressure-ratio"]


def test_the_worksheets_are_listed(capsys):
    assert cli.main(["air"]) == 0
    said = capsys.readouterr().out
    assert "expected-boost" in said
    assert "touch-safe" not in said
    assert cli.main(["heat", "--json"]) == 0
    assert [item["key"] for item in json.loads(capsys.readouterr().out)] == ["touch-safe"]


def test_a_worksheet_says_what_it_asks(capsys):
    assert cli.main(["air", "leak-down"]) == 0
    said = capsys.readouterr().out
    assert "volume= Volume shut in (L)" in said
    assert "limit.hole= Largest hole" in said
    assert cli.main(["circuits", "wiggle-test"]) == 0
    assert "rows= Places (Place, Smallest in V, Largest in V, Dropouts)" in capsys.readouterr().out
    assert cli.main(["heat", "touch-safe", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["calculation"] == "heat.touch_safe"


def test_a_result_is_told_in_words_with_its_doubts(capsys):
    assert cli.main(BOOST) == 0
    said = capsys.readouterr().out
    assert "doubt alone" in said
    assert "The same gauge boost held: 200 kPa" in said
    assert "Mind: The pressure outside comes from the altitude" in said


def test_a_result_is_told_as_json(capsys):
    assert cli.main([*BOOST, "--json"]) == 0
    verdict = json.loads(capsys.readouterr().out)
    assert verdict["value"] == pytest.approx(158.58, abs=0.01)
    assert verdict["warnings"]


def test_rows_and_decimal_commas_are_read(capsys):
    assert cli.main([*HOT, "readings=0, 180; 10 min, 127,3 °C; 20, 92", "--json"]) == 0
    verdict = json.loads(capsys.readouterr().out)
    assert {item["label"]: item["value"] for item in verdict["details"]}["Last reading"] == pytest.approx(92)


def test_a_limit_is_changed_in_any_of_its_units(capsys):
    typed = ["air", "filter-restriction", "drop=20 inH2O"]
    assert cli.main([*typed, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["outcome"] == "ok"
    assert cli.main([*typed, "limit.most=15 inH2O", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["outcome"] == "high"


def test_a_command_may_offer_measures_of_two_kinds(capsys):
    assert cli.main(["circuits"]) == 0
    said = capsys.readouterr().out
    assert "wire-drop" in said
    assert "bus-terminators" in said
    assert "touch-safe" not in said


def test_a_torque_is_typed_in_any_of_its_units(capsys):
    assert cli.main(["fasteners", "v-band-steps", "torque=100 lb·in", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["value"] == pytest.approx(11.298, abs=0.001)  # NIST SP 811


@pytest.mark.parametrize("example", [air.EXAMPLE, circuits.EXAMPLE, heat.EXAMPLE, fasteners.EXAMPLE])
def test_the_example_of_the_help_works(example, capsys):
    assert cli.main(shlex.split(example)[1:]) == 0
    assert "Mind:" in capsys.readouterr().out


@pytest.mark.parametrize("command", ["air", "circuits", "heat", "fasteners"])
def test_the_help_has_an_example(command, capsys):
    with pytest.raises(SystemExit):
        cli.main([command, "--help"])
    assert f"example: layby {command}" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["air", "weather"], "There is no worksheet weather"),
        (["air", "touch-safe"], "There is no worksheet touch-safe"),
        (["circuits", "drop-located", "battery=12.6", "plug=13.5"], "The voltage rises"),
        (["circuits", "wire-drop", "current=1", "length=1", "ways=one", "area=1 m"], "area: “m” is no unit"),
        ([*RATIO, "boost"], "is not key=value"),
        ([*RATIO, "boost="], "is not key=value"),
        ([*RATIO, "boost=1 bar", "boost=2 bar"], "typed twice"),
        ([*RATIO, "bost=1 bar"], "asks for no bost"),
        ([*RATIO, "limit.boost=1 bar"], "asks for no limit.boost"),
        ([*RATIO, "boost=14 p"], "boost: “p” can mean Pa or psi"),
        ([*RATIO, "boost=1,234"], "boost: “1,234” can mean 1.234 or 1234"),
        ([*RATIO, "boost=30 psia"], "says absolute"),
        ([*RATIO, "reads=maybe"], "reads is one of gauge, absolute"),
        ([*RATIO, "boost=1 bar", "station=1 bar"], "“reads” is missing"),
        ([*HOT, "readings=0, 180; 10"], "each row has"),
        ([*HOT, "readings=0, 90; 9, 120"], "It got hotter"),
    ],
)
def test_a_mistake_is_one_sentence(arguments, says, capsys):
    assert cli.main(arguments) == 2
    said = capsys.readouterr().err
    assert says in said
    assert said.count("\n") == 1
