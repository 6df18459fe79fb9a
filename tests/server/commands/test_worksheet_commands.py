"""Worksheets in a terminal: listed, asked, answered in words and as JSON, mistakes in one sentence."""

import json
import shlex
from pathlib import Path

import pytest

from server import cli
from server.commands import calc

ROOT = Path(__file__).parents[3]
BOOST = ["calc", "expected-boost", "known=200 kPa", "boost=23 psi", "reads=gauge", "altitude=5280 ft"]
HOT = ["calc", "touch-safe", "ambient=20", "surface=dull", "contact=hold"]
RATIO = ["calc", "pressure-ratio"]


def test_the_worksheets_of_all_kinds_are_listed_with_units_and_source(capsys):
    assert cli.main(["calc"]) == 0
    said = capsys.readouterr().out
    place = said.index("  touch-safe ")
    assert said.rindex("\n\nHeat\n", 0, place) < place
    told = said[place:].splitlines()
    assert told[1].strip() == "in min, °C"
    assert told[2].strip().startswith("Source: ")
    assert cli.main(["calc", "--json"]) == 0
    listed = {item["key"]: item for item in json.loads(capsys.readouterr().out)}
    assert len(listed) == len(list((ROOT / "content/measures").glob("*.yaml")))
    assert listed["wire-drop"]["kind"] == "electrical"
    assert listed["v-band-steps"]["units"] == ["N·m"]


def test_a_worksheet_says_what_it_asks(capsys):
    assert cli.main(["calc", "leak-down"]) == 0
    said = capsys.readouterr().out
    assert "volume= Volume shut in (L)" in said
    assert "limit.hole= Largest hole" in said
    assert cli.main(["calc", "wiggle-test"]) == 0
    assert "rows= Places (Place, Smallest in V, Largest in V, Dropouts)" in capsys.readouterr().out
    assert cli.main(["calc", "touch-safe", "--json"]) == 0
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
    typed = ["calc", "filter-restriction", "drop=20 inH2O"]
    assert cli.main([*typed, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["outcome"] == "ok"
    assert cli.main([*typed, "limit.most=15 inH2O", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["outcome"] == "high"


def test_a_torque_is_typed_in_any_of_its_units(capsys):
    assert cli.main(["calc", "v-band-steps", "torque=100 lb·in", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["value"] == pytest.approx(11.298, abs=0.001)  # NIST SP 811


def test_the_example_of_the_help_works(capsys):
    assert cli.main(shlex.split(calc.EXAMPLE)[1:]) == 0
    assert "Mind:" in capsys.readouterr().out
    with pytest.raises(SystemExit):
        cli.main(["calc", "--help"])
    assert "example: layby calc" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["calc", "weather"], "There is no worksheet weather"),
        (["sweep", "touch-safe"], "There is no worksheet touch-safe"),
        (["calc", "drop-located", "battery=12.6", "plug=13.5"], "The voltage rises"),
        (["calc", "wire-drop", "current=1", "length=1", "ways=one", "area=1 m"], "area: “m” is no unit"),
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
