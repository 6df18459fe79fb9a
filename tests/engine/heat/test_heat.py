"""Hot metal: thresholds, infrared readings, cooling read ahead, and readings that say nothing."""

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from pwa.engine.heat import touch as module

ZERO = 273.15


def newton(air, hot, tau, times):
    """Readings in s and K of a body that cools by Newton's law; air and hot in °C, tau and times in min."""
    return [[60.0 * time, ZERO + air + (hot - air) * math.exp(-time / tau)] for time in times]


@pytest.fixture(scope="module")
def heat(twin):
    return twin("pwa.engine.heat.touch")


@pytest.fixture(scope="module")
def cooling(twin):
    return twin("pwa.engine.heat.cooling")


def test_a_longer_contact_burns_at_a_lower_temperature(heat):
    celsius = [heat.burn_threshold(seconds) - ZERO for seconds in (0.5, 1, 3, 10, 30, 60, 3600, 90000)]
    assert celsius == pytest.approx([65, 65, 58, 55, 51, 51, 43, 43])


def test_bright_metal_is_hotter_than_an_infrared_thermometer_shows(heat):
    shown = ZERO + 150
    assert heat.infrared(shown, 0.95, ZERO + 25) == pytest.approx(shown)
    assert heat.infrared(shown, 0.3, ZERO + 25) > ZERO + 250


def test_two_readings_and_the_air_give_the_time(heat):
    found = heat.until(newton(20, 180, 25, [0, 10]), ZERO + 51, 0.5, ZERO + 20, 0.5)
    assert found["likely"] / 60 == pytest.approx(41.03 - 10, abs=0.01)
    assert found["late"] > found["likely"] + 2 * found["u"] - 1e-6


def test_several_readings_give_the_air_too(heat):
    found = heat.until(newton(20, 180, 25, [0, 10, 20, 30, 45]), ZERO + 51, 0.5)
    assert found["fit"]["ambient"] == pytest.approx(ZERO + 20, abs=1e-6)
    assert found["likely"] / 60 == pytest.approx(0, abs=1e-6)


@given(st.floats(-20, 40), st.floats(120, 400), st.floats(8, 60), st.floats(1, 3))
def test_the_law_comes_back_whatever_the_engine(air, hot, tau, span):
    readings = newton(air, hot, tau, [0, 0.3 * span * tau, 0.6 * span * tau, span * tau])
    found = module.until(readings, ZERO + 43, 0.01, ZERO + air, 0.01)
    assert found["fit"]["tau"] == pytest.approx(60 * tau, rel=1e-6)


@given(st.floats(-20, 30), st.floats(100, 300), st.floats(10, 40), st.floats(0.3, 1.5))
def test_metal_that_cools_by_free_convection_is_not_called_cool_too_early(air, hot, minutes, share):
    """The 5/4 law, dθ/dt = −c·θ^1.25, cools more slowly than Newton's law read ahead from hot readings."""
    excess = hot - air

    def at(time):
        return ZERO + air + excess * (1 + time / (4 * 60 * minutes)) ** -4

    last = 60 * minutes * share
    true = 4 * 60 * minutes * ((excess / (43 - air)) ** 0.25 - 1)
    assume(at(last) > ZERO + 50)
    found = module.until([[0.0, at(0)], [last, at(last)]], ZERO + 43, 0.5, ZERO + air, 0.5)
    assert found["late"] >= true - last


def test_poor_thermometers_make_it_later(heat):
    readings = newton(20, 180, 25, [0, 10, 20])
    fine, poor = (heat.until(readings, ZERO + 43, u, ZERO + 20, 1.0) for u in (0.5, 3.0))
    assert poor["likely"] == fine["likely"]
    assert poor["late"] > fine["late"]


def test_scatter_around_the_law_counts_if_it_is_more_than_the_thermometers(heat):
    readings = newton(20, 180, 25, [0, 5, 10, 15, 20])
    readings[2][1] -= 6
    assert heat.until(readings, ZERO + 43, 0.5, ZERO + 20)["u"] > 60


def test_what_is_cool_already_needs_no_time(heat):
    readings = newton(20, 60, 25, [0, 30])
    assert heat.until(readings, ZERO + 48, 1.0, ZERO + 20, 1.0)["likely"] == 0


@pytest.mark.parametrize(
    ("readings", "air", "says"),
    [
        ([[0, 453.15]], 293.15, "Two readings or more"),
        ([[0, 453.15], [600, 473.15]], 293.15, "It got hotter, from 180 to 200 °C"),
        ([[0, 453.15], [600, 454.15]], 293.15, "does not cool"),
        ([[0, 453.15], [600, 430.15], [1200, 445.15]], 293.15, "It got hotter"),
        ([[0, 453.15], [600, 283.15]], 293.15, "not above the air around"),
        ([[600, 453.15], [0, 430.15]], 293.15, "in the order they were taken"),
        ([[0, 453.15], [0, 430.15]], 293.15, "in the order they were taken"),
        ([[0, 1800.0], [600, 430.15]], 293.15, "1527 °C cannot be"),
        ([[0, 180.0], [600, 100.0]], None, "-93 °C cannot be"),
        ([[0, 453.15], [600, 430.15]], None, "measure and type it"),
        ([[0, 453.15], [600, 443.15], [1200, 433.15]], None, "do not bend enough"),
        ([[0, 453.15], [600, 443.15], [1200, 423.15]], None, "do not bend enough"),
        ([[0, 373.15], [60, 372.65]], 293.15, "cooled too little"),
        ([[0, 453.15], [600, 430.15]], 320.15, "Use gloves"),
    ],
)
def test_readings_that_tell_nothing_are_refused(heat, readings, air, says):
    with pytest.raises(ValueError, match=says):
        heat.until(readings, ZERO + 43, 2.0, air, 1.0)


@pytest.mark.parametrize(
    ("name", "arguments", "says"),
    [
        ("burn_threshold", (0.0,), "longer than zero"),
        ("infrared", (423.15, 0.02, 298.15), "emissivity"),
        ("infrared", (423.15, 1.2, 298.15), "emissivity"),
        ("infrared", (250.0, 0.2, 320.0), "cannot be"),
        ("until", ([[0, 453.15], [600, 400.15]], 316.15, 300.0, 293.15), "at most 50 K"),
    ],
)
def test_numbers_that_cannot_be_are_refused(heat, name, arguments, says):
    with pytest.raises(ValueError, match=says):
        getattr(heat, name)(*arguments)


@given(st.lists(st.tuples(st.floats(0, 7200), st.floats(250, 900)), min_size=2, max_size=6), st.booleans())
def test_whatever_is_typed_gives_a_time_or_a_reason(rows, typed):
    readings = sorted([seconds, temperature] for seconds, temperature in rows)
    try:
        found = module.until(readings, ZERO + 43, 2.0, ZERO + 20 if typed else None, 1.0)
    except ValueError as error:
        assert str(error).endswith(".")
    else:
        assert 0 <= found["likely"] <= found["late"]
