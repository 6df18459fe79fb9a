"""Stepped tables and traces: sound ones, one for each fault, and what content asks for. Data is invented."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pwa.engine import measures as module
from pwa.engine.measures import sweep
from tests.helpers.sheets import all_measures

MEASURES = {measure.key: measure for measure in all_measures() if measure.kind == "sweep"}
UP = list(range(0, 101, 10))
ROUND = UP + UP[-2::-1]
OUTCOMES = {"follows", "slow", "sticks", "jumps", "short", ""}


def limits(key):
    return {limit.key: limit.value for limit in MEASURES[key].limits}


@pytest.fixture(scope="module")
def calculate(twin):
    measures = twin("pwa.engine.measures")
    return lambda key, rows: measures.calculate(MEASURES[key].calculation, {"rows": rows}, limits(key))


def as_text(verdict):
    return {item["label"]: item["value"] for item in verdict["details"]}


def table(position, commands=ROUND):
    return [[command, position(command, index)] for index, command in enumerate(commands)]


def trace(commands=(10, 90, 10, 50, 90), hold=3.0, interval=0.05, tau=0.1, change=None):
    """A first-order follower; `change(time, command, position)` gives what is shown of it."""
    found, position, time = [], float(commands[0]), 0.0
    for command in commands:
        for _ in range(round(hold / interval)):
            found.append([round(time, 6), float(command), position])
            position += (command - position) * (1 - math.exp(-interval / tau))
            time += interval
    return [[t, c, change(t, c, p)] for t, c, p in found] if change else found


def test_content_asks_for_each_calculation():
    assert {measure.calculation for measure in MEASURES.values()} == {
        f"sweep.{name}" for name in sweep.CALCULATIONS
    }


@pytest.mark.parametrize(
    ("position", "outcome", "says"),
    [
        (lambda c, i: c + 1, "follows", "neither"),
        (lambda c, i: c if i != 4 else 106.0, "jumps", "out of its range 1 times"),
        (lambda c, i: c if i != 4 else -9.0, "jumps", "electrical"),
        (lambda c, i: c if i != 4 else 85.0, "jumps", "at 40 %"),
        (lambda c, i: min(c, 70), "short", "high end by 30 %"),
        (lambda c, i: max(min(c, 92), 8), "short", "low end by 8 % and the high end by 8 %"),
        (lambda c, i: 40 if 40 <= c < 70 and i <= 10 else c, "sticks", "stands still at 40 %"),
        (lambda c, i: c + (3 if i > 10 else -3) if 5 < c < 95 else c, "sticks", "differ by 6.0 %"),
        (lambda c, i: 50.0, "", "never moved"),
    ],
)
def test_each_pattern_of_a_table_has_its_outcome(calculate, position, outcome, says):
    found = calculate("stepped-sweep", table(position))
    assert (found["outcome"], says in found["sentence"]) == (outcome, True), found["sentence"]


def test_a_sound_table_tells_its_numbers(calculate):
    found = as_text(calculate("stepped-sweep", table(lambda c, i: c + (1.2 if i > 10 else 0))))
    assert found["Travel"] == pytest.approx(100)
    assert found["Hysteresis with dead band"] == pytest.approx(1.2, abs=0.01)
    assert found["Resolution (at most)"] == 10


def test_a_jump_is_not_a_release_after_sticking(calculate):
    rows = table(lambda c, i: 20 if 20 <= c < 80 and i <= 10 else c)
    found = calculate("stepped-sweep", rows)
    assert found["outcome"] == "sticks"


def test_repeated_rounds_tell_how_well_it_repeats(calculate):
    rows = table(lambda c, i: c, ROUND) + table(lambda c, i: c + 2, ROUND[1:])
    assert as_text(calculate("stepped-sweep", rows))["Repeatability"] == pytest.approx(2)


def test_a_table_without_a_way_back_says_so(calculate):
    found = calculate("stepped-sweep", table(lambda c, i: c, UP))
    assert "no way back" in found["warnings"][0]
    assert "Dead band" not in as_text(found)


def test_a_table_of_a_part_says_nothing_of_the_ends(calculate):
    found = calculate("stepped-sweep", table(lambda c, i: c + 7, [20, 30, 40, 50, 60, 50, 40]))
    assert found["outcome"] == "follows"
    assert "ends stay unknown" in found["warnings"][0]
    assert "not tried" in found["sentence"]


@pytest.mark.parametrize(
    ("rows", "says"),
    [
        ([[0, 0], [100, 100]], "at least 3 rows"),
        ([[0, 0], [50, 50], [120, 100]], "120 % cannot be"),
        ([[50, 1], [50, 2], [50, 3]], "never changed"),
        ([[0, -20], [50, 150], [100, 100]], "Fewer than three"),
    ],
)
def test_a_table_that_cannot_be_is_refused(calculate, rows, says):
    with pytest.raises(ValueError, match=says):
        calculate("stepped-sweep", rows)


@pytest.mark.parametrize(
    ("rows", "outcome", "says"),
    [
        (trace(), "follows", "neither"),
        (trace(tau=0.8, hold=6), "slow", "63 % of a step"),
        (trace(change=lambda t, c, p: 130.0 if 4 < t < 4.2 else p), "jumps", "out of its range"),
        (trace(change=lambda t, c, p: p - 30 if 4.1 < t < 4.2 else p), "jumps", "at 4.15"),
        (trace(change=lambda t, c, p: min(p, 60)), "short", "high end by 30 %"),
        (trace(hold=2, change=lambda t, c, p: min(p, 50) if t < 5 else p), "sticks", "stands still at 50 %"),
        (trace(change=lambda t, c, p: 40.0), "", "never moved"),
        (trace((50, 51, 50)), "", "hardly changed"),
        (
            [[t / 20, 50 + 40 * math.sin(t / 20), 50 + 40 * math.sin(t / 20 - 0.3)] for t in range(400)],
            "",
            "held",
        ),
    ],
)
def test_each_pattern_of_a_trace_has_its_outcome(calculate, rows, outcome, says):
    found = calculate("command-trace", rows)
    assert (found["outcome"], says in found["sentence"]) == (outcome, True), found["sentence"]


def test_a_trace_tells_times_and_play(calculate):
    found = as_text(calculate("command-trace", trace(tau=0.2, interval=0.02)))
    assert found["T63, longest"] == pytest.approx(0.2, abs=0.03)
    assert found["T86, longest"] == pytest.approx(0.4, abs=0.04)
    assert found["Steps of the command"] == 4
    assert found["Hysteresis with dead band"] == pytest.approx(0, abs=0.1)


def test_overshoot_and_a_command_that_turns_back_are_no_jumps(calculate):
    rows = trace(
        (10, 90, 10, 90), hold=0.5, interval=0.05, tau=0.05, change=lambda t, c, p: p + 4 * math.cos(20 * t)
    )
    assert calculate("command-trace", rows)["outcome"] != "jumps"


def test_a_slow_recorder_blames_nobody_for_being_slow(calculate):
    found = calculate("command-trace", trace(interval=1.0, hold=8, tau=0.2))
    assert found["outcome"] == "follows"
    assert any("far apart" in warning for warning in found["warnings"])


def test_holes_and_unsettled_steps_are_said(calculate):
    rows = [row for row in trace() if not 4 < row[0] < 5]
    assert any("no samples came" in warning for warning in calculate("command-trace", rows)["warnings"])
    rows = trace(tau=2.0, hold=2)
    assert any("came to rest" in warning for warning in calculate("command-trace", rows)["warnings"])


@pytest.mark.parametrize(
    ("rows", "says"),
    [
        (trace()[:9], "at least 10 samples"),
        (trace()[:20] + trace()[:20], "do not rise"),
        ([[0, c, p] for _, c, p in trace()], "same time"),
        ([[t, c, 200] for t, c, _ in trace()], "Hardly a position"),
    ],
)
def test_a_trace_that_cannot_be_is_refused(calculate, rows, says):
    with pytest.raises(ValueError, match=says):
        calculate("command-trace", rows)


@settings(max_examples=200, deadline=None)
@given(st.lists(st.tuples(st.floats(0, 100), st.floats(-10, 110)), min_size=3, max_size=25))
def test_any_table_has_an_outcome_or_a_sentence(rows):
    try:
        found = module.calculate(
            "sweep.table", {"rows": [list(row) for row in rows]}, limits("stepped-sweep")
        )
    except ValueError as error:
        assert str(error).endswith(".")
    else:
        assert found["outcome"] in OUTCOMES
        assert all(math.isfinite(item["value"]) for item in found["details"])


@settings(max_examples=200, deadline=None)
@given(
    st.lists(
        st.tuples(st.floats(0, 2), st.sampled_from([0.0, 10.0, 50.0, 100.0]), st.floats(-10, 110)),
        min_size=10,
        max_size=60,
    )
)
def test_any_trace_has_an_outcome_or_a_sentence(rows):
    now, samples = 0.0, []
    for gap, command, position in rows:
        now += gap
        samples.append([now, command, position])
    try:
        found = module.calculate("sweep.samples", {"rows": samples}, limits("command-trace"))
    except ValueError as error:
        assert str(error).endswith(".")
    else:
        assert found["outcome"] in OUTCOMES
        assert all(math.isfinite(item["value"]) for item in found["details"])
