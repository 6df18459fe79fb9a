"""Cooling against worked numbers and scipy's fit; burn thresholds against independent data."""

import math

import numpy
import pytest
import scipy

ZERO = 273.15
READ = [[0, 182], [5, 151], [10, 126], [15, 106], [20, 91]]  # min, °C; invented, with scatter


@pytest.fixture(scope="module")
def heat(twin):
    return twin("pwa.engine.heat.touch")


@pytest.fixture(scope="module")
def cooling(twin):
    return twin("pwa.engine.heat.cooling")


def kelvin(rows):
    return [[60.0 * minutes, ZERO + celsius] for minutes, celsius in rows]


# t = τ·ln((T0 − Ta)/(T − Ta)), Newton's law as in Incropera, ch. 5 (lumped capacitance), worked by hand.
@pytest.mark.parametrize(
    ("hot", "air", "target", "tau", "minutes"),
    [(180, 20, 51, 25, 41.03), (250, 25, 55, 30, 60.45), (120, 15, 48, 20, 23.15), (90, -10, 43, 15, 9.523)],
)
def test_newton_cooling_worked_by_hand(heat, hot, air, target, tau, minutes):
    second = air + (hot - air) * math.exp(-5 / tau)
    found = heat.until(kelvin([[0, hot], [5, second]]), ZERO + target, 0.2, ZERO + air, 0.1)
    assert found["likely"] / 60 + 5 == pytest.approx(minutes, abs=5e-3)


def test_three_even_readings_give_the_air_in_closed_form(cooling):
    """Ta = (T0·T2 − T1²)/(T0 + T2 − 2·T1), worked by hand, for readings every 10 min."""
    found = cooling.fit(kelvin([[0, 180.0], [10, 127.251], [20, 91.893]]))
    assert found["ambient"] - ZERO == pytest.approx(20, abs=0.01)
    assert found["tau"] / 60 == pytest.approx(25, abs=0.01)


@pytest.mark.parametrize("air", [None, 20.0])
def test_the_fit_agrees_with_scipy(cooling, air):
    times, celsius = numpy.array(READ, dtype=float).T

    def law(time, excess, tau, ambient=air):
        return ambient + excess * numpy.exp(-time / tau)

    start = [150, 20] if air is not None else [150, 20, 25]
    theirs, spread = scipy.optimize.curve_fit(law, times, celsius, p0=start, xtol=1e-14, ftol=1e-14)
    found = cooling.fit(kelvin(READ), None if air is None else ZERO + air)
    assert found["excess"] == pytest.approx(theirs[0], rel=1e-6)
    assert found["tau"] / 60 == pytest.approx(theirs[1], rel=1e-6)
    if air is None:
        assert found["ambient"] - ZERO == pytest.approx(theirs[2], rel=1e-6)
        assert math.sqrt(spread[2][2]) > 3  # and the air is known poorly from 20 minutes


def test_the_times_uncertainty_agrees_with_scipys_covariance(heat):
    """JCGM 100 (GUM), 5.1.2: the gradient of t over (D, τ) times scipy's covariance of the two."""
    times, celsius = numpy.array(READ, dtype=float).T

    def law(time, excess, tau):
        return 20 + excess * numpy.exp(-time / tau)

    (excess, tau), spread = scipy.optimize.curve_fit(
        law, times, celsius, p0=[150, 20], sigma=numpy.full(5, 5.0), absolute_sigma=True
    )
    gradient = numpy.array([tau / excess, math.log(excess / (43 - 20))])
    theirs = math.sqrt(gradient @ spread @ gradient)
    found = heat.until(kelvin(READ), ZERO + 43, 5.0, ZERO + 20)
    assert found["u"] / 60 == pytest.approx(theirs, rel=0.25)


# A burn institute's public table of serious burns from hot metal: °C and s. Thresholds must lie below.
@pytest.mark.parametrize(
    ("celsius", "seconds"), [(52, 90), (55, 30), (57, 10), (60, 5), (63, 3), (66, 1.5), (68, 1)]
)
def test_thresholds_lie_below_temperatures_of_serious_burns(heat, celsius, seconds):
    assert heat.burn_threshold(seconds) - ZERO < celsius


def test_the_lowest_threshold_lies_below_the_lowest_known_burn(heat):
    """Moritz & Henriques, Studies of thermal injury II (1947): 44 °C for 6 h."""
    assert heat.burn_threshold(6 * 3600) - ZERO < 44


# Total radiation of a grey body, σ·T⁴ (Incropera, ch. 12), by hand: shown, emissivity, around, real, in °C.
@pytest.mark.parametrize(
    ("shown", "emissivity", "around", "real"),
    [(150, 0.7, 25, 180.7), (200, 0.8, 20, 223.4), (100, 0.3, 25, 190.4)],
)
def test_infrared_correction_worked_by_hand(heat, shown, emissivity, around, real):
    found = heat.infrared(ZERO + shown, emissivity, ZERO + around, 1.0)
    assert found - ZERO == pytest.approx(real, abs=0.1)
