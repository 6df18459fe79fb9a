"""Air against ISO 2533 / US Standard Atmosphere 1976, textbooks, and independent libraries.

The libraries are imported by the tests that ask them: they take seconds, and each core reads every test.
"""

import pytest

from pwa.engine.air import orifice as orifice_module

MILLIMETRE = 7.853981633974483e-7  # m², a hole of 1 mm


def real_air(wanted, *state):
    """A property of real air by CoolProp, in SI units."""
    from CoolProp.CoolProp import PropsSI

    return PropsSI(wanted, *state, "Air")


@pytest.fixture(scope="module")
def atmosphere(twin):
    return twin("pwa.engine.air.atmosphere")


@pytest.fixture(scope="module")
def charge(twin):
    return twin("pwa.engine.air.charge")


@pytest.fixture(scope="module")
def orifice(twin):
    return twin("pwa.engine.air.orifice")


# ISO 2533:1975 and US Standard Atmosphere 1976, rows by geopotential height: m, K, Pa, kg/m³.
@pytest.mark.parametrize(
    ("height", "temperature", "pressure", "density"),
    [
        (-500, 291.400, 107477.5, 1.28489),
        (0, 288.150, 101325.0, 1.22500),
        (500, 284.900, 95460.8, 1.16727),
        (1000, 281.650, 89874.6, 1.11164),
        (1500, 278.400, 84556.0, 1.05807),
        (2000, 275.150, 79495.2, 1.00649),
        (2500, 271.900, 74682.5, 0.95686),
        (3000, 268.650, 70108.5, 0.90912),
        (4000, 262.150, 61640.2, 0.81913),
        (5000, 255.650, 54019.9, 0.73612),
    ],
)
def test_the_standard_atmosphere_as_printed(atmosphere, height, temperature, pressure, density):
    air = atmosphere.standard(float(height))
    assert air["temperature"] == pytest.approx(temperature, abs=1e-3)
    assert air["pressure"] == pytest.approx(pressure, abs=0.5)
    assert air["density"] == pytest.approx(density, abs=1e-5)
    assert atmosphere.altitude(pressure) == pytest.approx(height, abs=0.5)


# Printed in US tables of the standard atmosphere, psi at so many feet.
@pytest.mark.parametrize(("feet", "psi"), [(5000, 12.228), (10000, 10.108), (15000, 8.297)])
def test_the_standard_atmosphere_in_feet_and_psi(atmosphere, feet, psi):
    pressure = atmosphere.standard(atmosphere.geopotential(feet * 0.3048))["pressure"]
    assert pressure / 6894.757 == pytest.approx(psi, abs=1e-3)


@pytest.mark.parametrize("altitude", [-400.0, 0.0, 850.0, 1609.344, 3000.0, 4900.0])
def test_the_libraries_ambiance_and_fluids_agree_on_a_maps_height(atmosphere, altitude):
    """Both take geometric height; so the conversion to geopotential is checked too."""
    import fluids
    from ambiance import Atmosphere

    height = atmosphere.geopotential(altitude)
    air = atmosphere.standard(height)
    theirs, others = Atmosphere(altitude), fluids.ATMOSPHERE_1976(altitude)
    assert air["pressure"] == pytest.approx(theirs.pressure[0], abs=0.5)
    assert air["pressure"] == pytest.approx(others.P, abs=0.5)
    assert air["temperature"] == pytest.approx(theirs.temperature[0], abs=1e-3)
    assert air["density"] == pytest.approx(others.rho, rel=1e-5)


@pytest.mark.parametrize(("millibar", "metres"), [(1013.25, 1588.0), (990.0, 1000.0), (1030.0, 2500.0)])
def test_altimeter_setting_to_station_pressure(atmosphere, millibar, metres):
    """Smithsonian Meteorological Tables, 6th ed. (1951), p. 269, with its 0.3 mb and rounded constants."""
    power = 0.190284
    printed = (millibar**power - 1013.25**power * 0.0065 * metres / 288) ** (1 / power) + 0.3
    assert atmosphere.from_sea_level(100 * millibar, metres) / 100 == pytest.approx(printed, abs=0.5)


@pytest.mark.parametrize("millibar", [1013.25, 900.0, 700.0])
def test_pressure_altitude_by_the_weather_services_formula(atmosphere, millibar):
    """US National Weather Service, pressure altitude: 145366.45 ft·(1 − (p/1013.25)^0.190284)."""
    printed = 145366.45 * 0.3048 * (1 - (millibar / 1013.25) ** 0.190284)
    assert atmosphere.altitude(100 * millibar) == pytest.approx(printed, abs=2)


@pytest.mark.parametrize(
    ("inlet", "ratio", "efficiency"), [(298.15, 3.0, 1.0), (298.15, 3.0, 0.75), (293.15, 2.5, 0.7)]
)
def test_compressor_outlet_agrees_with_the_library_fluids(charge, inlet, ratio, efficiency):
    import fluids

    theirs = fluids.isentropic_T_rise_compression(inlet, 1e5, ratio * 1e5, 1.4, efficiency)
    assert charge.outlet(inlet, ratio, efficiency) == pytest.approx(theirs, abs=1e-3)


@pytest.mark.parametrize(
    ("inlet", "ratio"), [(298.15, 3.0), (293.15, 2.5), (303.15, 3.5), (255.0, 4.0), (318.15, 1.5)]
)
def test_compressor_outlet_agrees_with_real_air_of_coolprop(charge, inlet, ratio):
    entropy = real_air("S", "T", inlet, "P", 1e5)
    theirs = real_air("T", "S", entropy, "P", ratio * 1e5)
    assert charge.real_outlet(inlet, ratio) == pytest.approx(theirs, abs=0.3)
    assert charge.isentropic_outlet(inlet, ratio) == pytest.approx(theirs, abs=1)


def test_efficiency_of_a_textbook_compressor(charge):
    """Eastop & McConkey, Applied Thermodynamics: 1 bar 25 °C to 4 bar 200 °C; the book says 0.83."""
    assert charge.efficiency(298.15, 473.15, 4.0) == pytest.approx(0.828, abs=5e-3)


def test_efficiency_of_a_textbook_turbo(charge):
    """Çengel & Boles, Thermodynamics, the turbocharger problem: 70 °C, 95 to 135 kPa, 126.1 °C: 64.2 %.

    The book takes k at 100 °C, 1.397; with 1.4 it is 0.4 points more.
    """
    ratio = charge.pressure_ratio(135e3, 95e3)
    assert charge.efficiency(343.15, 273.15 + 126.1, ratio) == pytest.approx(0.642, abs=5e-3)
    assert charge.efficiency(343.15, 273.15 + 126.1, ratio, True) == pytest.approx(0.642, abs=2e-3)


def test_outlet_of_a_textbook_brayton_compressor(charge):
    """Çengel & Boles, simple ideal Brayton cycle: 300 K, pressure ratio 8, variable heat: 540 K."""
    assert charge.real_outlet(300.0, 8.0) == pytest.approx(540, abs=1)


@pytest.mark.parametrize(("pressure", "temperature"), [(101325.0, 288.15), (300e3, 323.15), (83e3, 303.15)])
def test_density_agrees_with_coolprop(charge, pressure, temperature):
    theirs = real_air("D", "T", temperature, "P", pressure)
    assert charge.density(pressure, temperature) == pytest.approx(theirs, rel=1e-3)


@pytest.mark.parametrize(
    ("hot", "cooled", "ambient", "share"), [(180, 45, 25, 0.8710), (160, 50, 30, 0.8462)]
)
def test_cooler_effectiveness_worked_by_hand(charge, hot, cooled, ambient, share):
    """The definition in Çengel & Ghajar, Heat and Mass Transfer, ch. 11: 135/155 and 110/130."""
    kelvin = [273.15 + value for value in (hot, cooled, ambient)]
    assert charge.cooler_effectiveness(*kelvin) == pytest.approx(share, abs=1e-4)


@pytest.mark.parametrize(
    ("diameter", "inside", "outside", "temperature"),
    [
        (1, 300e3, 100e3, 293.15), (1, 200e3, 100e3, 293.15), (1, 150e3, 100e3, 293.15),
        (1, 110e3, 100e3, 293.15), (3, 120e3, 100e3, 293.15), (2, 300e3, 101325.0, 313.15),
    ],
)  # fmt: skip
def test_flow_through_a_hole_agrees_with_real_air_of_coolprop(
    orifice, diameter, inside, outside, temperature
):
    """Energy and entropy of real air from rest to the throat; choked where the flux is largest."""
    enthalpy = real_air("H", "T", temperature, "P", inside)
    entropy = real_air("S", "T", temperature, "P", inside)

    def flux(pressure):
        density = real_air("D", "P", pressure, "S", entropy)
        rest = enthalpy - real_air("H", "P", pressure, "S", entropy)
        return density * (2 * rest) ** 0.5

    theirs = max(flux(outside + share / 500 * (inside - outside)) for share in range(500))
    ours = orifice.mass_flow(diameter**2 * MILLIMETRE, inside, outside, temperature)
    assert ours == pytest.approx(theirs * diameter**2 * MILLIMETRE, rel=2.5e-3)


def test_the_critical_ratio_agrees_with_the_library_fluids(orifice):
    import fluids

    assert fluids.P_critical_flow(1.0, 1.4) == pytest.approx(orifice.CRITICAL, rel=1e-9)


@pytest.mark.parametrize(
    ("start", "end", "outside"),
    [(300e3, 200e3, 100e3), (300e3, 120e3, 100e3), (150e3, 105e3, 83e3), (130e3, 101e3, 100e3)],
)
def test_leak_down_agrees_with_an_integrated_decay(orifice, start, end, outside):
    """scipy's solve_ivp lets 20 L sink through a 1 mm hole; the hole must come back."""
    from scipy.integrate import solve_ivp

    def sink(_, pressure):
        flow = orifice_module.mass_flow(MILLIMETRE, pressure[0], outside, 293.15)
        return [-flow * 287.05287 * 293.15 / 0.02]

    def reached(_, pressure):
        return pressure[0] - end

    reached.terminal = True
    decay = solve_ivp(sink, (0, 2000), [start], events=reached, rtol=1e-10, atol=1e-6)
    seconds = float(decay.t_events[0][0])
    area = orifice.effective_area(0.02, start, end, seconds, outside, 293.15)
    assert orifice.diameter(area, 1.0) == pytest.approx(1e-3, rel=1e-6)


def test_choked_leak_down_by_the_closed_form(orifice):
    """τ = V/(Cd·A·0.68473·√(R·T)), from the equations in Çengel & Boles: 20 L, 1 mm, 293 K: 51.98 s."""
    area = orifice.effective_area(0.02, 300e3, 200e3, 51.98, 100e3, 293.0)
    assert orifice.diameter(area, 1.0) == pytest.approx(1e-3, rel=2e-4)


def test_a_sealed_system_that_cools_loses_pressure(orifice):
    """Gay-Lussac's law by hand: 300 kPa from 40 to 35 °C is 4.79 kPa less."""
    assert 300e3 - orifice.at_temperature(300e3, 313.15, 308.15) == pytest.approx(4790, abs=1)


def test_leak_rate_worked_by_hand(orifice):
    """q = V·Δp/t: 20 L, 20 kPa in 15 s are 26.667 Pa·m³/s, 15.79 L/min of outside air."""
    rate = orifice.leak_rate(0.02, 300e3, 280e3, 15.0)
    assert rate == pytest.approx(26.667, abs=1e-3)
    assert rate / 101325 * 60e3 == pytest.approx(15.79, abs=5e-3)


def test_stored_energy_agrees_with_brode_and_coolprop(orifice):
    """Brode's equation by hand: 200 kPa · 20 L / 0.4 = 10 kJ; the expansion by CoolProp's internal energy."""
    assert orifice.stored_energy(0.02, 300e3, 100e3) == pytest.approx(10e3)
    density = real_air("D", "T", 293.15, "P", 300e3)
    entropy = real_air("S", "T", 293.15, "P", 300e3)
    before = real_air("U", "T", 293.15, "P", 300e3)
    after = real_air("U", "P", 100e3, "S", entropy)
    assert orifice.expansion_work(0.02, 300e3, 100e3) == pytest.approx(
        density * 0.02 * (before - after), rel=5e-3
    )
