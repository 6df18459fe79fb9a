"""Air outside, charge air, and holes in the charge system: how results behave, and what is refused."""

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from pwa.engine.air import atmosphere as atmosphere_module
from pwa.engine.air import charge as charge_module
from pwa.engine.air import orifice as orifice_module

HEIGHTS = st.floats(-500, 5000)


@pytest.fixture(scope="module")
def atmosphere(twin):
    return twin("pwa.engine.air.atmosphere")


@pytest.fixture(scope="module")
def charge(twin):
    return twin("pwa.engine.air.charge")


@pytest.fixture(scope="module")
def orifice(twin):
    return twin("pwa.engine.air.orifice")


def test_gauge_and_absolute_differ_by_the_air_outside(atmosphere):
    assert atmosphere.absolute(200e3, 83e3) == 283e3
    assert atmosphere.gauge(283e3, 83e3) == 200e3
    assert atmosphere.absolute(-5e3, 83e3) == 78e3


@pytest.mark.parametrize(
    ("name", "arguments", "says"),
    [
        ("standard", (5001.0,), "outside -500 to 5000 m"),
        ("standard", (-501.0,), "outside -500 to 5000 m"),
        ("altitude", (200e3,), "cannot be the air outside"),
        ("altitude", (-97e3,), "cannot be the air outside"),
        ("from_sea_level", (84e3, 1600.0), "measured at the truck"),
        ("from_sea_level", (101e3, 9000.0), "outside -500 to 5000 m"),
        ("absolute", (200e3, 14.0), "cannot be the air outside"),
        ("absolute", (-90e3, 83e3), "below vacuum"),
        ("gauge", (-1.0, 83e3), "Is the reading gauge"),
    ],
)
def test_air_that_cannot_be_outside_is_refused(atmosphere, name, arguments, says):
    with pytest.raises(ValueError, match=says):
        getattr(atmosphere, name)(*arguments)


@given(HEIGHTS)
def test_pressure_gives_its_height_back(height):
    pressure = atmosphere_module.standard(height)["pressure"]
    assert atmosphere_module.altitude(pressure) == pytest.approx(height, abs=1e-6)


@given(HEIGHTS)
def test_a_standard_day_at_sea_level_is_a_standard_day_above(height):
    expected = atmosphere_module.standard(height)["pressure"]
    assert atmosphere_module.from_sea_level(101325, height) == pytest.approx(expected, rel=1e-12)


@given(st.floats(0.3, 1.0), st.floats(1.2, 5.0), st.floats(250, 330))
def test_a_compressor_gives_its_efficiency_back(efficiency, ratio, inlet):
    hot = charge_module.outlet(inlet, ratio, efficiency)
    assume(hot < charge_module.HOTTEST)
    assert charge_module.efficiency(inlet, hot, ratio) == pytest.approx(efficiency, rel=1e-9)


@pytest.mark.parametrize(("ratio", "least", "most"), [(1.2, -0.01, 0.01), (2.0, 0.05, 0.5), (3.5, 0.3, 1.0)])
def test_real_air_gets_a_little_less_hot(charge, ratio, least, most):
    difference = charge.isentropic_outlet(303.15, ratio) - charge.real_outlet(303.15, ratio)
    assert least < difference < most


def test_the_same_engine_at_the_same_place_shows_the_same_boost(charge):
    boost = charge.expected_boost(200e3, 101325.0, 101325.0, 298.15, 298.15)
    assert all(value == pytest.approx(200e3) for value in boost.values())


def test_thin_air_opens_a_range_of_boost(charge):
    boost = charge.expected_boost(200e3, 101325.0, 83e3)
    assert boost["least"] == pytest.approx(163.83e3, rel=1e-4)  # the same ratio, 2.9739
    assert boost["same_gauge"] == 200e3
    assert boost["most"] == pytest.approx(218.325e3)


def test_hot_air_lowers_the_least_boost(charge):
    cool = charge.expected_boost(200e3, 101325.0, 83e3, 298.15, 298.15)
    hot = charge.expected_boost(200e3, 101325.0, 83e3, 298.15, 318.15)
    assert hot["least"] < cool["least"]
    assert abs(hot["least_real"] - hot["least"]) < 0.01 * hot["least"]


@pytest.mark.parametrize(
    ("name", "arguments", "says"),
    [
        ("pressure_ratio", (-283e3, 83e3), "above zero"),
        ("pressure_ratio", (283e3, 0.0), "above zero"),
        ("pressure_ratio", (283e3, 14.0), "Check both readings"),
        ("density", (-1.0, 300.0), "above zero"),
        ("density", (1e5, 25.0), "-248 °C cannot be air"),
        ("isentropic_outlet", (298.15, -3.0), "pressure ratio of -3"),
        ("outlet", (298.15, 3.0, 0.0), "An efficiency"),
        ("outlet", (298.15, 3.0, 1.1), "An efficiency"),
        ("efficiency", (370.0, 295.0, 1.9), "hotter than it enters"),
        ("efficiency", (295.0, 370.0, 1.0), "under boost"),
        ("cooler_effectiveness", (298.15, 298.15, 298.15), "no hotter than outside"),
        ("cooler_effectiveness", (453.15, 290.0, 298.15), "colder than the air outside"),
        ("cooler_effectiveness", (453.15, 460.0, 298.15), "swapped"),
        ("expected_boost", (-5e3, 101325.0, 83e3), "above zero"),
        ("expected_boost", (200e3, 101325.0, 8.3), "cannot be the air outside"),
        ("at_full_flow", (2e3, 0.2), "half of the full"),
        ("at_full_flow", (-2e3, 1.0), "without a sign"),
    ],
)
def test_charge_air_that_cannot_be_is_refused(charge, name, arguments, says):
    with pytest.raises(ValueError, match=says):
        getattr(charge, name)(*arguments)


def test_a_restriction_grows_with_the_flow(charge):
    assert charge.at_full_flow(2e3, 1.0) == [2e3, 2e3]
    assert charge.at_full_flow(2e3, 0.5) == [4e3, 8e3]


@given(
    st.floats(0.001, 0.1), st.floats(150e3, 400e3), st.floats(0.3, 0.95), st.floats(1, 600),
    st.floats(80e3, 105e3),
)  # fmt: skip
def test_a_hole_twice_as_large_empties_twice_as_fast(volume, start, share, seconds, outside):
    end = outside + share * (start - outside)
    once = orifice_module.effective_area(volume, start, end, seconds, outside, 293.15)
    twice = orifice_module.effective_area(volume, start, end, seconds / 2, outside, 293.15)
    assert twice == pytest.approx(2 * once, rel=1e-9)


def test_time_adds_up_over_a_fall(orifice):
    """Falling in two stages through one hole takes as long as in one, across the choked limit too."""
    whole = orifice.effective_area(0.02, 300e3, 110e3, 100.0, 100e3, 293.15)
    first = orifice.effective_area(0.02, 300e3, 200e3, 100.0, 100e3, 293.15)
    second = orifice.effective_area(0.02, 200e3, 110e3, 100.0, 100e3, 293.15)
    assert whole == pytest.approx(first + second, rel=1e-8)


@pytest.mark.parametrize(
    ("name", "arguments", "says"),
    [
        ("mass_flow", (1e-6, -3e5, 1e5, 293.15), "Is one of the readings gauge"),
        ("mass_flow", (1e-6, 1e5, 1e5, 293.15), "not above the air outside"),
        ("mass_flow", (0.0, 3e5, 1e5, 293.15), "area of the hole"),
        ("mass_flow", (1e-6, 3e5, 1e5, -20.0), "temperature is above zero"),
        ("mass_flow", (1e-6, 3e5, 1e5, 293.15, 1.5), "discharge coefficient"),
        ("effective_area", (0.02, 3e5, 3e5, 15.0, 1e5, 293.15), "did not fall"),
        ("effective_area", (0.02, 3e5, 1e5, 15.0, 1e5, 293.15), "empty at the end"),
        ("effective_area", (0.0, 3e5, 2e5, 15.0, 1e5, 293.15), "volume is above zero"),
        ("effective_area", (0.02, 3e5, 2e5, 0.0, 1e5, 293.15), "time is above zero"),
        ("at_temperature", (3e5, 0.0, 293.15), "above zero"),
        ("leak_rate", (0.02, 3e5, 2e5, -1.0), "time is above zero"),
        ("diameter", (1e-6, 0.0), "discharge coefficient"),
        ("stored_energy", (0.02, 1e5, 1e5), "not above the air outside"),
    ],
)
def test_leaks_that_cannot_be_are_refused(orifice, name, arguments, says):
    with pytest.raises(ValueError, match=says):
        getattr(orifice, name)(*arguments)
