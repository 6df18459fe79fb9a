"""Verdicts on wires, sensors and the bus with the limits of content/, on both interpreters."""

import pytest
from hypothesis import given

from tests.helpers import sheets

ALL = sheets.measures_of(("electrical", "network"))
MEASURES = {key: measure for key, measure in ALL.items() if not measure.calculation.startswith("electrical.")}
WIRE = {"current": "10", "length": "6 m", "ways": "both", "area": "2.5"}
PATH = {"battery": "12.6", "fuse_in": "12.55", "fuse_out": "12.52", "plug": "12.4", "pin": "12.35",
        "ground": "0.05", "stud": "0.02"}  # fmt: skip
SENSOR = {"reference": "5.0"}
# measure, typed, outcome, value in the verdict's unit (None: not looked at), words of the sentence
CASES = [
    ("wire-drop", WIRE, "", 0.8276, "At 10 A this wire drops 0.83 to 0.99 V"),
    ("wire-drop", WIRE | {"temperature": "80 °C"}, "", 1.0227, "1.02 to 1.23 V"),
    ("wire-drop", {"current": "15 A", "length": "4", "ways": "both", "gauge": "14 AWG"}, "", 0.9943, "0.99"),
    ("wire-drop", {"current": "5", "length": "3", "ways": "one", "area": "0.75 mm2"}, "", 0.3448,
     "0.34 to 0.41"),
    ("wire-drop", WIRE | {"measured": "0.9"}, "ok", 0.9, "not more than a joint may add"),
    ("wire-drop", WIRE | {"measured": "1.5 V"}, "high", 1.5, "51 mΩ too many"),
    ("wire-drop", {"current": "0.1", "length": "30 ft", "ways": "one", "gauge": "-3", "measured": "0"},
     "ok", 0, "0 V measured"),
    ("drop-located", PATH, "ok", 0.12, "No step stands out; the largest is 0.12 V: harness or relay."),
    ("drop-located", PATH | {"plug": "11.4", "pin": "11.38"}, "high", 1.12,
     "Most is lost here, 1.12 V: harness or relay."),
    ("drop-located", PATH | {"pin": "11.9"}, "high", 0.5, "Most is lost here, 0.50 V: connector."),
    ("drop-located", PATH | {"fuse_out": "12.1", "plug": "12.1", "pin": "12.1"}, "high", 0.45,
     "fuse and holder"),
    ("drop-located", PATH | {"ground": "0.6", "stud": "0.03"}, "high", 0.57, "ground wire or its plug"),
    ("drop-located", PATH | {"ground": "0.62", "stud": "0.6"}, "high", 0.6, "ground stud or its cable"),
    ("drop-located", PATH | {"fuse_out": "0", "plug": "0", "pin": "0", "ground": "0", "stud": "0"},
     "high", 12.55, "open or nearly so: fuse and holder."),
    ("drop-located", PATH | {"pin": "12.35", "ground": "12.3", "stud": "0.01"}, "high", 12.29, "ground wire"),
    ("drop-located", {"battery": "25.2 V", "pin": "24.1"}, "high", 1.1,
     "cable to the fuse, fuse and holder, harness or relay, connector."),
    ("drop-located", {"battery": "12.6", "ground": "0.3"}, "high", 0.3,
     "ground wire or its plug, ground stud or its cable."),
    ("drop-located", {"battery": "12.6", "pin": "12.55"}, "ok", 0.05, "No step stands out"),
    ("sensor-volts", SENSOR | {"percent": "50"}, "", 2.5, "At 50 % the signal should read 2.50 V"),
    ("sensor-volts", {"reference": "4.85", "percent": "50"}, "", 2.425, "At 50 %"),
    ("sensor-volts", SENSOR | {"angle": "30", "full_angle": "48°"}, "", 3.0,
     "At 62.5 % the signal should read 3.00 V"),
    ("sensor-volts", SENSOR | {"signal": "1.5 V"}, "ok", 25, "1.5 V stands for 25.0 % of travel"),
    ("sensor-volts", SENSOR | {"signal": "1.5 V", "percent": "62.5"}, "ok", 25, "it should read 3.00 V"),
    ("sensor-volts", SENSOR | {"signal": "200 mV"}, "out-of-band", None, "0.2 V is below anything"),
    ("sensor-volts", SENSOR | {"signal": "4.9"}, "out-of-band", None, "4.9 V is above anything"),
    ("wiggle-test", {"steady": "2.5", "rows": [["1", "2.48", "2.52", "0"]]}, "no", 0.02, "Moved at 1 place,"),
    ("wiggle-test", {"steady": "2.5", "rows": [["1", "2.48", "2.52", "0"], ["2", "1.9", "2.5", "0"]]},
     "yes", 0.6, "moves by 0.60 V while the harness was moved, most at place 2"),
    ("wiggle-test", {"steady": "2.5", "rows": [["1", "2.5", "2.5", "0"], ["2", "2.5", "2.5", "3"]]},
     "yes", 0, "3 dropouts while the harness was moved, most at place 2"),
    ("wiggle-test", {"steady": "2.5", "rows": [["4", "0", "2.5", "1"]]}, "yes", 2.5, "A dropout while"),
    ("bus-terminators", {"ohms": "60"}, "sixty", 60, "2 terminators: as it should be"),
    ("bus-terminators", {"ohms": "90"}, "other", 90, "no whole number of terminators"),
    ("bus-terminators", {"ohms": "120 ohm"}, "one-twenty", 120, "one is missing"),
    ("bus-terminators", {"ohms": "40.2"}, "many", 40.2, "too many"),
    ("bus-terminators", {"ohms": "1.2 kΩ"}, "open", 1200, "open between you and them"),
    ("bus-terminators", {"ohms": "0.4"}, "short", 0.4, "touch each other"),
    ("bus-levels", {"high": "2.65", "low": "2.35 V", "state": "traffic"}, "ok", 0.3, "as a sound bus"),
    ("bus-levels", {"high": "2,5", "low": "2,5", "state": "recessive"}, "ok", 0, "as a sound bus"),
    ("bus-levels", {"high": "3.5", "low": "1.5", "state": "dominant"}, "ok", 2, "as a sound bus"),
    ("bus-levels", {"high": "12.4", "low": "12.3", "state": "traffic"}, "wrong", 0.1, "touches a supply"),
    ("bus-levels", {"high": "0", "low": "0", "state": "traffic"}, "wrong", 0, "no power or sleep"),
]  # fmt: skip


@pytest.fixture(scope="module")
def calculate(twin):
    return sheets.calculator(twin("pwa.engine.measures"), MEASURES)


def test_every_measure_of_these_kinds_is_tried_here():
    assert {case[0] for case in CASES} == set(MEASURES)


def test_what_a_measure_needs_its_units_and_its_sources_are_known():
    for measure in ALL.values():
        assert sheets.units_are_known(measure)
    assert all(measure.sources for measure in MEASURES.values())


def test_what_is_evidence_answers_its_finding():
    answered = {key: measure.finding for key, measure in MEASURES.items() if measure.finding}
    assert answered == {
        "wiggle-test": "moves-with-harness",
        "bus-terminators": "bus-resistance",
        "bus-levels": "bus-levels",
    }


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
        ("wire-drop", WIRE | {"gauge": "14"}, "either in mm² or as an American gauge"),
        ("wire-drop", {"current": "10", "length": "6", "ways": "one"}, "either in mm² or"),
        ("wire-drop", WIRE | {"current": "0"}, "only while current flows"),
        ("wire-drop", WIRE | {"measured": "-0.5"}, "from 0 to 32 V, not -0.5 V"),
        ("wire-drop", {"current": "1", "length": "1", "ways": "one", "gauge": "14.5"}, "whole number"),
        ("wire-drop", {"current": "1", "length": "1", "ways": "one", "gauge": "44"}, "from -3"),
        ("wire-drop", WIRE | {"area": "0.001"}, "0.001 mm² and 12 m are none"),
        ("wire-drop", WIRE | {"length": "12 km"}, "are none"),
        ("wire-drop", WIRE | {"length": "300"}, "This wire would drop 41 V"),
        ("wire-drop", WIRE | {"temperature": "400 °C"}, "from -60 to 200"),
        ("drop-located", {"battery": "12.6", "current": "5"}, "largest|one more point"),
        ("drop-located", PATH | {"current": "0"}, "load the circuit"),
        ("drop-located", {"battery": "0", "pin": "0"}, "more than 0 V"),
        ("drop-located", PATH | {"plug": "13.5"}, "rises from 12.52 V"),
        ("drop-located", PATH | {"pin": "-12"}, "probes are swapped"),
        ("drop-located", PATH | {"stud": "0.4"}, "rises from 0.05 V"),
        ("drop-located", {"battery": "12.6", "pin": "0.1", "ground": "12.5"}, "the two are swapped"),
        ("sensor-volts", SENSOR, "Type the commanded percentage or angle, or the signal"),
        ("sensor-volts", SENSOR | {"percent": "50", "angle": "3", "full_angle": "48"}, "not both"),
        ("sensor-volts", SENSOR | {"percent": "120"}, "from 0 to 100 %"),
        ("sensor-volts", SENSOR | {"angle": "30"}, "“full angle” is missing"),
        ("sensor-volts", SENSOR | {"angle": "50", "full_angle": "48"}, "angle is from 0"),
        ("sensor-volts", {"reference": "13 V", "percent": "50"}, "13 V cannot come from a line of 5 V"),
        ("sensor-volts", {"reference": "0.4 V", "signal": "0.2"}, "mend the reference first"),
        ("sensor-volts", SENSOR | {"signal": "13"}, "13 V cannot come"),
        ("wiggle-test", {"steady": "2.5", "rows": []}, "at least one place"),
        ("wiggle-test", {"steady": "2.5", "rows": [["3", "2.6", "2.4", "0"]]}, "Place 3: the smallest"),
        ("wiggle-test", {"steady": "2.5", "rows": [["3", "2.4", "2.6", "-1"]]}, "Place 3: dropouts"),
        ("wiggle-test", {"steady": "2.5", "rows": [["3", "2.4", "2.6", "0.5"]]}, "whole number"),
        ("bus-terminators", {"ohms": "-3"}, "not negative"),
        ("bus-levels", {"high": "230", "low": "2.5", "state": "traffic"}, "cannot be"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_with_a_reason(calculate, key, typed, says):
    with pytest.raises(ValueError, match=says):
        calculate(key, typed)


@pytest.mark.parametrize(
    ("key", "typed", "says"),
    [
        ("wire-drop", WIRE, "Taken at 20 °C"),
        ("wire-drop", WIRE | {"measured": "0.1"}, "Less than the wire alone drops"),
        ("drop-located", {"battery": "12.6", "fuse_out": "12.5"}, "supply pin is missing"),
        ("drop-located", {"battery": "12.6", "pin": "12.6"}, "does current flow?"),
        ("drop-located", PATH | {"pin": "12.28"}, "More than a joint may drop, 0.12 V: connector."),
        ("sensor-volts", SENSOR | {"signal": "0.4"}, "Beyond a stop, yet no fault"),
        ("wiggle-test", {"steady": "2.5", "rows": [["1", "2.5", "2.5", "0"]]}, "misses what is shorter"),
        ("bus-terminators", {"ohms": "60"}, "can still touch ground"),
        ("bus-terminators", {"ohms": "120"}, "cut off from you"),
        ("bus-levels", {"high": "2.6", "low": "2.4", "state": "traffic"}, "only a mean"),
        ("bus-levels", {"high": "2.5", "low": "2.5", "state": "recessive"}, "branch that is cut off"),
    ],
)
def test_what_is_doubtful_is_said(calculate, key, typed, says):
    assert says in " ".join(calculate(key, typed)["warnings"])


def test_each_step_has_its_resistance_if_the_current_is_known(calculate):
    verdict = calculate("drop-located", PATH | {"current": "5 A"})
    found = {item["label"]: item["value"] for item in verdict["details"]}
    assert found["Resistance of: harness or relay"] == pytest.approx(24)


def test_a_makers_sensor_is_read_with_its_own_stops(calculate):
    typed = SENSOR | {"signal": "4.7", "percent": "0"}
    verdict = calculate("sensor-volts", typed, low=94.0, high=6.0, fault_low=3.0, fault_high=97.0)
    assert verdict["value"] == pytest.approx(0)
    assert calculate("sensor-volts", SENSOR | {"signal": "0.2"}, fault_low=3.0)["outcome"] == "ok"


def test_an_unanswered_choice_is_not_guessed(twin):
    measures = twin("pwa.engine.measures")
    wire = {"current": 1.0, "length": 1.0, "area": 1e-6, "ways": ""}
    with pytest.raises(ValueError, match="once or there and back"):
        measures.calculate("wiring.wire", wire, {"joint": 0.1})
    with pytest.raises(ValueError, match="quiet, talking, or dominant"):
        measures.calculate("network.levels", {"high": 2.5, "low": 2.5, "state": ""}, {"meter": 0.05})


@given(sheets.anything(ALL))
def test_whatever_is_typed_gives_a_verdict_or_a_reason(typed):
    sheets.judge_or_refuse(*typed)
