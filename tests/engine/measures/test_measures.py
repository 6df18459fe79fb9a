"""Verdicts on what is measured at the truck, and the content that asks for them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pwa.engine import measures as module
from pwa.engine.measures import electrical
from tests.helpers.sheets import all_measures

MEASURES = {
    measure.key: measure for measure in all_measures() if measure.calculation.startswith("electrical.")
}
OUTCOMES = {
    "supply-drop": {"ok", "high"},
    "ground-drop": {"ok", "high"},
    "reference-voltage": {"ok", "low", "high"},
    "position-feedback": {"follows", "short", "out-of-band", "frozen"},
    "hand-sweep": {"smooth", "stops-short", "rough", "jumps"},
}
SWEEP = {
    "reference": 5.0, "stop_a": 0.5, "quarter": 1.5, "half": 2.5, "three_quarters": 3.5, "stop_b": 4.5,
    "smallest": 0.5, "largest": 4.5,
}  # fmt: skip
FOLLOWS = {"reference": 5.0, "signal": 2.5, "command": 50.0}


@pytest.fixture(scope="module")
def calculate(twin):
    """The verdict of a measure of content/, with its own limits, on both interpreters."""
    measures = twin("pwa.engine.measures")

    def run(key, **values):
        limits = {limit.key: limit.value for limit in MEASURES[key].limits}
        return measures.calculate(MEASURES[key].calculation, values, limits)

    return run


def test_content_asks_for_each_calculation_under_the_finding_it_answers():
    asked = {measure.calculation for measure in MEASURES.values()}
    assert asked == {f"electrical.{name}" for name in electrical.CALCULATIONS}
    assert set(MEASURES) == set(OUTCOMES)
    assert all(measure.key == stem == measure.finding for stem, measure in MEASURES.items())


@pytest.mark.parametrize(
    ("key", "values", "outcome"),
    [
        ("supply-drop", {"battery": 12.6, "pin": 12.1}, "ok"),
        ("supply-drop", {"battery": 12.6, "pin": 12.05}, "high"),
        ("supply-drop", {"battery": 12.6, "pin": 0.0}, "high"),
        ("ground-drop", {"drop": 0.2}, "ok"),
        ("ground-drop", {"drop": 0.21}, "high"),
        ("reference-voltage", {"reference": 4.75}, "ok"),
        ("reference-voltage", {"reference": 4.7}, "low"),
        ("reference-voltage", {"reference": 0.0}, "low"),
        ("reference-voltage", {"reference": 5.3}, "high"),
        ("position-feedback", FOLLOWS, "follows"),
        ("position-feedback", FOLLOWS | {"reference": 4.85, "signal": 2.425}, "follows"),
        ("position-feedback", FOLLOWS | {"signal": 1.5}, "short"),
        ("position-feedback", FOLLOWS | {"signal": 0.1}, "out-of-band"),
        ("position-feedback", FOLLOWS | {"signal": 4.9}, "out-of-band"),
        ("position-feedback", FOLLOWS | {"command_before": 10.0, "signal_before": 2.5}, "frozen"),
        ("position-feedback", FOLLOWS | {"command_before": 50.0, "signal_before": 2.5}, "follows"),
        ("position-feedback", FOLLOWS | {"command_before": 10.0, "signal_before": 0.9}, "follows"),
        ("hand-sweep", SWEEP, "smooth"),
        ("hand-sweep", {key: 5.0 - volts for key, volts in SWEEP.items() if key != "reference"}
         | {"reference": 5.0, "smallest": 0.5, "largest": 4.5}, "smooth"),
        ("hand-sweep", SWEEP | {"smallest": 0.0}, "jumps"),
        ("hand-sweep", SWEEP | {"largest": 4.65}, "jumps"),
        ("hand-sweep", SWEEP | {"half": 3.6, "three_quarters": 3.7}, "jumps"),
        ("hand-sweep", SWEEP | {"half": 1.2}, "jumps"),
        ("hand-sweep", SWEEP | {"drags": 1.0}, "rough"),
        ("hand-sweep", SWEEP | {"half": 1.5, "three_quarters": 2.8, "stop_b": 4.2, "largest": 4.2}, "rough"),
        ("hand-sweep", SWEEP | {"quarter": 1.0, "half": 1.5, "three_quarters": 2.0, "stop_b": 2.5,
                               "largest": 2.5}, "stops-short"),
    ],
)  # fmt: skip
def test_readings_answer_the_finding(calculate, key, values, outcome):
    verdict = calculate(key, **values)
    assert verdict["outcome"] == outcome
    assert outcome in OUTCOMES[key]
    assert verdict["sentence"].endswith(".")


def test_a_verdict_shows_the_numbers_behind_it(calculate):
    verdict = calculate("supply-drop", battery=12.6, pin=11.8)
    assert (verdict["value"], verdict["unit"]) == (pytest.approx(0.8), "V")
    assert [item["label"] for item in verdict["details"]] == ["Drop", "Limit"]


def test_a_sweep_without_any_change_answers_nothing(calculate):
    still = {key: 5.0 if key == "reference" else 2.5 for key in SWEEP}
    verdict = calculate("hand-sweep", **still)
    assert verdict["outcome"] == ""
    assert "never moved" in verdict["sentence"]


@pytest.mark.parametrize(
    ("key", "values", "says"),
    [
        ("reference-voltage", {"reference": 13.0}, "13 V cannot come from a line of 5 V"),
        ("position-feedback", FOLLOWS | {"signal": 13.0}, "13 V cannot come from a line of 5 V"),
        ("position-feedback", FOLLOWS | {"reference": 13.0}, "13 V cannot come from a line of 5 V"),
        ("position-feedback", FOLLOWS | {"reference": 0.0}, "mend the reference first"),
        ("position-feedback", FOLLOWS | {"command": 101.0}, "from 0 to 100 %"),
        ("position-feedback", FOLLOWS | {"signal_before": 2.5}, "“command before” is missing"),
        ("hand-sweep", SWEEP | {"half": 13.0}, "13 V cannot come"),
        ("hand-sweep", SWEEP | {"smallest": 4.0, "largest": 1.0}, "swap the two"),
        ("hand-sweep", SWEEP | {"drags": -1.0}, "0 or more"),
        ("supply-drop", {"battery": 12.6, "pin": 14.0}, "negative"),
        ("supply-drop", {"battery": 0.0, "pin": 0.0}, "more than 0 V"),
        ("supply-drop", {"battery": 12.6, "pin": -12.6}, "swapped"),
        ("ground-drop", {"drop": -0.5}, "negative"),
        ("ground-drop", {}, "“drop” is missing"),
    ],
)
def test_readings_that_cannot_be_are_refused_with_a_reason(calculate, key, values, says):
    with pytest.raises(ValueError, match=says):
        calculate(key, **values)


def test_an_unknown_calculation_is_refused():
    with pytest.raises(ValueError, match="no calculation called"):
        module.calculate("guess", {}, {})


@given(st.floats(-1, 30), st.floats(-1, 30), st.floats(-1, 30), st.floats(-10, 110))
def test_whatever_is_typed_gives_a_known_outcome_or_a_reason(signal, before, reference, command):
    values = {"signal": signal, "signal_before": before, "reference": reference, "command": command,
              "command_before": 0.0}  # fmt: skip
    limits = {limit.key: limit.value for limit in MEASURES["position-feedback"].limits}
    try:
        outcome = module.calculate("electrical.position", values, limits)["outcome"]
    except ValueError as error:
        assert str(error).endswith(".")
    else:
        assert outcome in OUTCOMES["position-feedback"]
