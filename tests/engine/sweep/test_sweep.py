"""Hand sweeps: sound ones, and one for each thing that can be wrong."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pwa.engine.sweep import hand as module

SOUND = [[position, 0.5 + position * 0.04] for position in range(0, 101, 10)]


@pytest.fixture(scope="module")
def sweep(twin):
    return twin("pwa.engine.sweep.hand")


def changed(**volts):
    """The sound sweep with other volts at some positions: changed(p40=1.2)."""
    return [[position, volts.get(f"p{position}", signal)] for position, signal in SOUND]


def test_a_sound_sweep_shows_no_pattern(sweep):
    found = sweep.hand_sweep(SOUND, 5.0)
    assert found["travel"] == pytest.approx(100)
    assert (found["reaches_low"], found["reaches_high"], found["monotonic"]) == (True, True, True)
    assert (found["jumps"], found["dropouts"], found["stuck"], found["pattern"]) == ([], 0, 0, "none")


def test_a_sensor_that_runs_the_other_way_is_as_sound(sweep):
    assert sweep.hand_sweep([[p, 5 - v] for p, v in SOUND], 5.0)["pattern"] == "none"


def test_the_order_of_the_points_does_not_matter(sweep):
    assert sweep.hand_sweep(SOUND[::-1], 5.0) == sweep.hand_sweep(SOUND, 5.0)


def test_a_dropout_is_electrical(sweep):
    found = sweep.hand_sweep(changed(p50=0.0), 5.0)
    assert (found["dropouts"], found["pattern"]) == (1, "electrical")
    assert found["travel"] == pytest.approx(100)  # the dropout is no travel


def test_a_jump_is_electrical_and_says_where(sweep):
    found = sweep.hand_sweep(changed(p50=3.2), 5.0)
    assert [(jump["start"], jump["end"]) for jump in found["jumps"]] == [(40, 50), (50, 60)]
    assert found["pattern"] == "electrical"
    assert not found["monotonic"]


def test_a_small_step_back_is_seen_too(sweep):
    found = sweep.hand_sweep(changed(p50=2.05), 5.0)
    assert (found["jumps"], found["monotonic"], found["pattern"]) == ([], False, "electrical")


def test_a_signal_that_waits_while_the_lever_moves_is_lost_motion(sweep):
    found = sweep.hand_sweep([[p, v if p < 40 else 1.7 if p <= 60 else v - 1.2] for p, v in SOUND], 5.0)
    assert found["stuck"] == pytest.approx(30)
    assert found["pattern"] == "either"


def test_an_even_signal_that_ends_early_is_mechanical(sweep):
    found = sweep.hand_sweep([[position, 0.5 + position * 0.02] for position in range(0, 101, 10)], 5.0)
    assert (found["reaches_low"], found["reaches_high"], found["pattern"]) == (True, False, "mechanical")
    assert found["travel"] == pytest.approx(50)


def test_a_signal_that_never_moves_blames_nobody_yet(sweep):
    assert sweep.hand_sweep([[p, 2.5] for p, _ in SOUND], 5.0)["pattern"] == "no signal"


def test_a_dead_line_has_no_travel(sweep):
    found = sweep.hand_sweep([[0, 0.0], [50, 0.0], [100, 0.0]], 5.0)
    assert (found["travel"], found["dropouts"], found["reaches_low"]) == (0, 3, False)


@pytest.mark.parametrize(
    ("points", "says"),
    [
        ([[0, 1], [100, 4]], "at least 3 points"),
        ([[0, 1], [50, 2], [50, 3]], "same position"),
        ([[0, 1], [50, 13], [100, 4]], "13 V cannot come"),
    ],
)
def test_a_sweep_that_cannot_be_is_refused(sweep, points, says):
    with pytest.raises(ValueError, match=says):
        sweep.hand_sweep(points, 5.0)


@given(st.lists(st.floats(0.5, 4.5), min_size=3, max_size=12))
def test_rising_signals_are_monotonic_and_mirroring_changes_no_travel(volts):
    rising = [[index, signal] for index, signal in enumerate(sorted(volts))]
    one = module.hand_sweep(rising, 5.0)
    other = module.hand_sweep([[position, 5.0 - signal] for position, signal in rising], 5.0)
    assert one["monotonic"]
    assert one["travel"] == pytest.approx(other["travel"], abs=1e-9)
