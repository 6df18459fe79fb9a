"""Clean cycles after a repair: what they show, and counts that cannot be."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pwa.engine import proof as module

SHARES = st.floats(0.05, 0.99)


@pytest.fixture(scope="module")
def proof(twin):
    return twin("pwa.engine.proof")


@given(SHARES, SHARES)
def test_the_cycles_needed_are_enough_and_one_fewer_is_not(reliability, confidence):
    needed = module.cycles_needed(reliability, confidence)
    assert module.still_possible(needed, confidence) <= 1 - reliability + 1e-6
    if needed > 1:
        assert module.still_possible(needed - 1, confidence) > 1 - reliability - 1e-6


def test_a_share_that_comes_out_whole_is_not_rounded_up(proof):
    assert proof.cycles_needed(0.9, 1 - 0.9**2) == 2
    assert proof.cycles_needed(0.5, 0.5) == 1


@given(st.integers(1, 30), st.integers(0, 30), st.integers(0, 60))
def test_a_small_sample_makes_luck_likelier(failures, more, clean):
    cycles = failures + more + 1
    assert module.luck_seen(failures, cycles, clean) >= module.luck(failures / cycles, clean) - 1e-12


def test_no_clean_cycle_leaves_everything_to_luck(proof):
    assert proof.luck(0.2, 0) == 1
    assert proof.luck_seen(2, 5, 0) == 1


@pytest.mark.parametrize(
    ("name", "arguments", "says"),
    [
        ("cycles_needed", (1.0, 0.9), "below 100 %"),
        ("cycles_needed", (0.9, 0.0), "above 0"),
        ("still_possible", (0, 0.95), "shows nothing"),
        ("still_possible", (-3, 0.95), "whole number"),
        ("still_possible", (2.5, 0.95), "whole number"),
        ("luck", (0.0, 5), "above 0"),
        ("luck", (0.2, -5), "whole number"),
        ("luck_seen", (0, 5, 3), "at least once"),
        ("luck_seen", (6, 5, 3), "no more cycles"),
    ],
)
def test_counts_and_shares_that_cannot_be_are_refused(proof, name, arguments, says):
    with pytest.raises(ValueError, match=says):
        getattr(proof, name)(*arguments)
