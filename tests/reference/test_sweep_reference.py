"""Sweeps against closed forms and independent libraries.

First order with dead time: T63 = Td + τ, T86 = Td + 2 τ (worked example with scipy 1.17.1, signal.lti).
Second order: overshoot exp(-π z / sqrt(1 - z²)), any handbook of control.
Play: a play operator of 6 % of span under a triangle in 10 % steps.
Independent linearity: the Chebyshev line as a linear programme, scipy.optimize.linprog.
"""

import math

import numpy as np
import pytest
import scipy
from hypothesis import given, settings
from hypothesis import strategies as st

from pwa.engine.sweep import linearity as linearity_module

INTERVAL = 0.005
LIMITS = {"still": 1.0, "jump": 10.0, "low": -5.0, "high": 105.0}


def step_samples(system, dead, low=0.0, high=100.0, length=8.0):
    """A step at 1 s of a system with dead time, from `low` to `high`."""
    times = np.arange(0, length, INTERVAL)
    _, answer = scipy.signal.step(system, T=times)
    found = [[round(-1 + index * INTERVAL, 6), low, low] for index in range(200)]
    late = round(dead / INTERVAL)
    for index, time in enumerate(times):
        share = answer[index - late] if index >= late else 0.0
        found.append([round(float(time), 6), high, float(low + (high - low) * share)])
    return found


@pytest.mark.parametrize(("dead", "tau"), [(0.10, 0.25), (0.05, 0.40), (0.20, 1.00)])
@pytest.mark.parametrize(("low", "high"), [(0, 100), (90, 20)])
def test_first_order_with_dead_time(twin, dead, tau, low, high):
    samples = step_samples(scipy.signal.lti([1], [tau, 1]), dead, low, high, length=14)
    (step,) = twin("pwa.engine.sweep.step_response").steps(samples, 5.0, 0.5)
    assert step["dead_time"] == pytest.approx(dead + tau * 0.5 / abs(high - low), abs=2 * INTERVAL)
    assert step["t63"] == pytest.approx(dead + tau, abs=INTERVAL)
    assert step["t86"] == pytest.approx(dead + 2 * tau, abs=INTERVAL)
    assert step["overshoot"] == pytest.approx(0, abs=0.2)
    assert step["settled"]


@pytest.mark.parametrize(
    ("z", "wn", "overshoot"), [(0.3, 10, 37.233), (0.5, 10, 16.303), (0.7, 10, 4.599), (0.2, 5, 52.662)]
)
def test_second_order_overshoot(twin, z, wn, overshoot):
    assert overshoot == pytest.approx(100 * math.exp(-math.pi * z / math.sqrt(1 - z * z)), abs=5e-4)
    samples = step_samples(scipy.signal.lti([wn**2], [1, 2 * z * wn, wn**2]), 0.0, length=12)
    (step,) = twin("pwa.engine.sweep.step_response").steps(samples, 5.0, 0.5)
    assert step["overshoot"] == pytest.approx(overshoot, abs=0.2)


def play(commands, width):
    """The play operator (Krasnosel'skii): the position moves only when a side of the gap pushes it."""
    position, found = commands[0] + width / 2, []
    for command in commands:
        position = min(max(position, command - width / 2), command + width / 2)
        found.append([command, position])
    return found


@pytest.mark.parametrize(("width", "step"), [(6, 10), (6, 2), (4, 1)])
def test_play_is_dead_band_and_hysteresis(twin, width, step):
    up = list(range(0, 101, step))
    commands = up + up[-2::-1] + up[1:] + up[-2::-1]
    found = twin("pwa.engine.sweep.stepped").analyse(play(commands, width), 0.5, 10.0, -5.0, 105.0)
    assert found["hysteresis"] == pytest.approx(width, abs=1e-9)
    assert found["dead_band"] == pytest.approx(width, rel=0.12)  # the slope is that of the whole table
    assert found["repeatability"] == pytest.approx(0, abs=1e-9)
    # Only the very start, of which no way before is known, looks stuck; turns are dead band.
    assert all(stop["start"] == 0 and stop["end"] <= width for stop in found["stuck"])
    assert found["jumps"] == []
    assert (found["resolution"], found["resolution_is"]) == (step, "at most")


@settings(max_examples=60, deadline=None)
@given(st.lists(st.floats(-20, 120), min_size=3, max_size=15))
def test_linearity_is_the_best_line_of_a_linear_programme(positions):
    points = [(10.0 * index, position) for index, position in enumerate(positions)]
    # least e with |y - a - b x| <= e, x scaled to keep the programme well conditioned
    rows, sides = [], []
    for index, (_, y) in enumerate(points):
        rows += [[-1, -index, -1], [1, index, -1]]
        sides += [-y, y]
    best = scipy.optimize.linprog([0, 0, 1], A_ub=rows, b_ub=sides, bounds=[(None, None)] * 2 + [(0, None)])
    assert linearity_module.independent(points) == pytest.approx(best.fun, abs=1e-6)
