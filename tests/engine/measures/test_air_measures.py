"""Verdicts on air, heat and clean cycles with the limits of content/, on both interpreters."""

import pytest
from hypothesis import given

from tests.helpers import sheets

MEASURES = sheets.measures_of(("air", "heat", "proof"))
# Typed as at the truck: texts become SI as on the screen.
HERE = {"station": "83 kPa"}
BOOST = {"boost": "28 psi", "reads": "gauge"}
COOLING = {"readings": [["0", "180"], ["10 min", "127"], ["20", "92"]], "ambient": "20 °C", "surface": "dull"}
LEAK = {"volume": "20 L", "start": "20 psi", "end": "15 psi", "seconds": "15", "station": "100 kPa"}
EXPECTED = {"known": "200 kPa", "altitude": "5280 ft", "reads": "gauge"}
COOLER = {"hot": "180", "ambient": "25 °C"}
OFF = {"boost": "83 kPa", "reads": "absolute"}
# measure, typed, outcome, value in the verdict's unit (None: not looked at), words of the sentence
CASES = [
    ("station-pressure", {"station": "24.5 inHg"}, "", 82.97, "standard atmosphere at 1654 m"),
    ("station-pressure", {"altitude": "1609 m"}, "", 83.43, "83.4 kPa (12.1 psi)"),
    ("station-pressure", {"altitude": "1588 m", "qnh": "1013 hPa"}, "", 83.6, "kPa"),
    ("boost-engine-off", OFF | HERE, "no", 0.0, "agrees"),
    ("boost-engine-off", OFF | {"station": "95 kPa"}, "yes", -12.0, "12.0 kPa (1.7 psi) away"),
    ("boost-engine-off", OFF | {"altitude": "1600 m"}, "no", None, "agrees"),
    ("boost-engine-off", OFF | {"altitude": "1900 m"}, "", None, "Weather could explain"),
    ("boost-engine-off", OFF | {"altitude": "0 m"}, "yes", None, "away"),
    ("boost-engine-off", {"boost": "0", "reads": "gauge"}, "no", 0.0, "agrees"),
    ("boost-engine-off", {"boost": "-1 psi", "reads": "gauge"}, "yes", -6.895, "away"),
    ("pressure-ratio", HERE | {"boost": "200", "reads": "gauge"}, "", 3.4096, "3.41"),
    ("pressure-ratio", HERE | {"boost": "283", "reads": "absolute"}, "", 3.4096, "3.41"),
    ("pressure-ratio", HERE | BOOST | {"restriction": "25 inH2O"}, "", 3.596, "3.60"),
    ("charge-density", HERE | {"boost": "217 kPa", "reads": "gauge", "temperature": "50", "ambient": "30 °C"},
     "", 3.2342, "3.39 times"),
    ("compressor-efficiency", {"inlet": "25", "outlet": "200 °C", "boost": "3 bar", "reads": "gauge",
                               "station": "1 bar"}, "", 82.8, "within what compressors do"),
    ("compressor-efficiency", {"inlet": "25", "outlet": "120 °C", "boost": "3 bar", "reads": "gauge",
                               "station": "1 bar"}, "", None, "not believable"),
    ("cooler-effectiveness", COOLER | {"cooled": "45 °C"}, "ok", 87.1, "good"),
    ("cooler-effectiveness", COOLER | {"cooled": "212 °F"}, "low", 51.6, "less than 65 %"),
    ("expected-boost", EXPECTED | {"boost": "170 kPa"}, "ok", 170, "164.7 kPa (23.9 psi) to 217.9 kPa"),
    ("expected-boost", EXPECTED | {"boost": "1.2 bar"}, "low", 120, "too little"),
    ("expected-boost", EXPECTED | {"boost": "155 kPa", "known_inlet": "25", "inlet": "45"},
     "ok", None, "not too little"),
    ("expected-boost", EXPECTED | {"boost": "155 kPa"}, "low", None, "too little"),
    ("expected-boost", EXPECTED | {"boost": "160 kPa"}, "", None, "doubt alone"),
    ("filter-restriction", {"drop": "15 inH2O"}, "ok", 3.736, "not more than allowed"),
    ("filter-restriction", {"drop": "30 inH2O"}, "high", 7.472, "more than allowed"),
    ("filter-restriction", {"drop": "2 kPa", "flow": "60"}, "ok", None, "not more"),
    ("filter-restriction", {"drop": "3 kPa", "flow": "60"}, "", None, "read it at full flow"),
    ("back-pressure", {"reading": "12 kPa", "allowed": "3.5 inHg"}, "high", 12, "blocks the exhaust"),
    ("back-pressure", {"reading": "1.5 psi", "allowed": "12"}, "ok", 10.34, "not more than 12.0 kPa"),
    ("leak-down", LEAK, "ok", None, "5 mm are taken as the limit: good"),
    ("leak-down", LEAK | {"volume": "40 US gal", "seconds": "5"}, "fast", None, "too fast"),
    ("leak-down", LEAK | {"allowed": "3 psi"}, "fast", None, "the maker allows a fall of 20.7 kPa"),
    ("leak-down", LEAK | {"allowed": "5.1 psi"}, "ok", None, "good"),
    ("leak-down", LEAK | {"allowed": "4.7 psi"}, "fast", None, "too fast"),
    ("leak-down", LEAK | {"allowed": "4.7 psi", "start_temperature": "40", "end_temperature": "35"},
     "ok", None, "good"),
    ("test-energy", {"volume": "20 L", "pressure": "2 bar"}, "", 10.0, "20 L at 200.0 kPa (29.0 psi) gauge"),
    ("touch-safe", COOLING | {"contact": "work"}, "", None, "below 43 °C (109 °F)"),
    ("touch-safe", COOLING | {"contact": "touch"}, "", None, "below 51 °C (124 °F)"),
    ("touch-safe", {"readings": [["0", "50"], ["15", "40"]], "surface": "probe", "contact": "hold"},
     "", 15, "15 min"),
    ("clean-cycles", {"clean": "0"}, "", 0, "No clean cycle yet: 22"),
    ("clean-cycles", {"clean": "10", "failures": "1", "cycles": "5"}, "", 10, "12 more clean ones"),
    ("clean-cycles", {"clean": "22 cycles"}, "", 22, "That is what was asked for"),
]  # fmt: skip


@pytest.fixture(scope="module")
def calculate(twin):
    return sheets.calculator(twin("pwa.engine.measures"), MEASURES)


def test_every_measure_of_these_kinds_is_tried_here():
    assert {case[0] for case in CASES} == set(MEASURES)


def test_what_a_measure_needs_and_its_units_are_known():
    for measure in MEASURES.values():
        assert sheets.units_are_known(measure)
        assert measure.sources, measure.key


@pytest.mark.parametrize(("key", "typed", "outcome", "value", "says"), CASES)
def test_what_is_typed_becomes_a_verdict(calculate, key, typed, outcome, value, says):
    verdict = calculate(key, typed)
    assert verdict["outcome"] == outcome
    assert value is None or verdict["value"] == pytest.approx(value, rel=2e-3, abs=1e-6)
    assert says in verdict["sentence"]
    assert verdict["sentence"].endswith(".")
    assert all(warning.endswith((".", "?")) for warning in verdict["warnings"])
    assert verdict["details"]


@pytest.mark.parametrize(
    ("key", "typed", "says"),
    [
        ("station-pressure", {}, "Type the air pressure outside, or the altitude"),
        ("station-pressure", {"station": "12.2 bar"}, "cannot be the air outside"),
        ("station-pressure", {"qnh": "1013 hPa"}, "or the altitude"),
        ("boost-engine-off", OFF, "Type the air pressure outside"),
        ("pressure-ratio", HERE | {"boost": "28 psi"}, "“reads” is missing"),
        ("pressure-ratio", HERE | {"boost": "28 psi", "reads": "absolute"} | {"boost": "28 inHg"}, "83|94"),
        ("pressure-ratio", HERE | {"boost": "60 kPa", "reads": "absolute"}, "Is the reading gauge"),
        ("pressure-ratio", HERE | {"boost": "-90 kPa", "reads": "gauge"}, "below vacuum"),
        ("pressure-ratio", HERE | BOOST | {"restriction": "-3 kPa"}, "without a sign"),
        ("compressor-efficiency", HERE | BOOST | {"inlet": "100", "outlet": "25"}, "hotter than it enters"),
        ("cooler-effectiveness", COOLER | {"cooled": "10"}, "colder than the air outside"),
        ("expected-boost", EXPECTED | {"boost": "60 kPa", "reads": "absolute"}, "Is the reading gauge"),
        ("expected-boost", EXPECTED | {"known": "-10 kPa", "boost": "60"}, "above zero"),
        ("filter-restriction", {"drop": "15 psi"}, "cannot be"),
        ("filter-restriction", {"drop": "2 kPa", "flow": "20"}, "half of the full"),
        ("back-pressure", {"reading": "-2 kPa", "allowed": "12"}, "Zero the gauge"),
        ("back-pressure", {"reading": "2 kPa", "allowed": "0"}, "limit is above zero"),
        ("leak-down", LEAK | {"end": "0 psi"}, "empty at the end"),
        ("leak-down", LEAK | {"end": "20 psi"}, "did not fall"),
        ("leak-down", LEAK | {"volume": "20 m³"}, "below 2 m³"),
        ("leak-down", LEAK | {"end": "19.8 psi", "start_temperature": "40", "end_temperature": "30"},
         "Cooling alone"),
        ("touch-safe", COOLING | {"contact": "work", "ambient": "45 °C"}, "Use gloves"),
        ("touch-safe", COOLING | {"contact": "hold", "readings": [["0", "90"], ["9", "99"]]}, "got hotter"),
        ("touch-safe", COOLING | {"contact": "hold", "readings": [["0", "90"], ["9", "10"]]}, "not above"),
        ("clean-cycles", {"clean": "2.5"}, "whole number"),
        ("clean-cycles", {"clean": "-1"}, "whole number"),
        ("clean-cycles", {"clean": "5", "failures": "3"}, "“cycles” is missing"),
        ("clean-cycles", {"clean": "5", "failures": "6", "cycles": "5"}, "no more cycles"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_with_a_reason(calculate, key, typed, says):
    if says == "83|94":
        assert calculate(key, typed)["value"] == pytest.approx(94.8 / 83, rel=1e-3)
        return
    with pytest.raises(ValueError, match=says):
        calculate(key, typed)


def test_a_pressure_that_says_what_it_counts_from_is_held_to_it():
    measure = MEASURES["leak-down"]
    assert sheets.read(measure, {"start": "20 psig"}) == sheets.read(measure, {"start": "20 psi"})
    with pytest.raises(ValueError, match="asked gauge"):
        sheets.read(measure, {"start": "35 psia"})


@pytest.mark.parametrize(
    ("key", "typed", "says"),
    [
        ("station-pressure", {"altitude": "1600 m"}, "weather moves it"),
        ("station-pressure", {"altitude": "1600 m", "qnh": "1013 hPa"}, "reduce in different ways"),
        ("station-pressure", {"altitude": "1600 m", "station": "1013 hPa"}, "reduced to sea level"),
        ("expected-boost", EXPECTED | {"boost": "300 kPa"}, "more than any healthy engine"),
        ("expected-boost", EXPECTED | {"boost": "200 kPa"}, "at sea level"),
        ("filter-restriction", {"drop": "2 kPa", "flow": "60"}, "reading at full flow is better"),
        ("leak-down", LEAK, "until it has settled"),
        ("leak-down", LEAK, "open valves"),
        ("test-energy", {"volume": "20 L", "pressure": "2 bar"}, "nobody in line"),
        ("touch-safe", COOLING | {"contact": "work"}, "measure again before you touch"),
        ("touch-safe", COOLING | {"contact": "work", "surface": "bright"}, "far too low"),
        ("touch-safe", {"readings": [["0", "90"], ["15", "70"]], "surface": "probe", "contact": "hold"},
         "taken as 30 °C"),
        ("touch-safe", COOLING | {"contact": "work", "readings": [["0", "180"], ["5", "150"]]}, "far ahead"),
        ("clean-cycles", {"clean": "3", "failures": "1", "cycles": "5"}, "hide by luck"),
    ],
)  # fmt: skip
def test_what_is_doubtful_is_said(calculate, key, typed, says):
    assert says in " ".join(calculate(key, typed)["warnings"])


def test_bright_metal_is_waited_for_longer(calculate):
    dull = calculate("touch-safe", COOLING | {"contact": "work"})
    bright = calculate("touch-safe", COOLING | {"contact": "work", "surface": "bright"})
    assert bright["value"] > dull["value"]


def test_no_shop_can_lower_the_floor_to_nothing(calculate):
    cool = {"readings": [["0", "50"], ["15", "40"]], "surface": "probe", "contact": "hold", "ambient": "20"}
    assert calculate("touch-safe", cool, floor=0.0)["value"] == 10


def test_an_unanswered_choice_is_not_guessed(twin):
    measures = twin("pwa.engine.measures")
    with pytest.raises(ValueError, match="gauge or absolute"):
        measures.calculate("air.ratio", {"station": 83e3, "boost": 2e5, "reads": ""}, {})
    with pytest.raises(ValueError, match="Choose one of hold, touch, work"):
        measures.calculate("heat.touch_safe", {"readings": [], "contact": "lick", "surface": "dull"}, {})


@given(sheets.anything(MEASURES))
def test_whatever_is_typed_gives_a_verdict_or_a_reason(typed):
    sheets.judge_or_refuse(*typed)
