"""Charge air: pressure ratio, density, compressor temperature and efficiency, cooler, boost to expect.

k = cp/cv = 1.4 unless a function says "real": then the specific heat rises with temperature, because the
molecules begin to vibrate (rigid rotor and harmonic oscillator of any text on statistical thermodynamics;
within 0.2 % of real air at these pressures from 250 to 700 K). Dry air; humid air is lighter, by 1 % on a hot
and damp day. Formulas: Çengel & Boles, Thermodynamics; Heywood, Internal Combustion Engine Fundamentals, 6.8.
"""

import math
from typing import TypedDict

from pwa.engine.air import atmosphere

K = 1.4
POWER = (K - 1) / K
STILL = 3.5 - 0.0093  # cp/R without vibration: 7/2 for the pairs of atoms, 5/2 for argon's 0.93 %
# Nitrogen and oxygen: share of the molecules, and the temperature in K at which they begin to vibrate.
VIBRATING = ((0.781, 3393.0), (0.2095, 2273.0))
COLDEST, HOTTEST = 220.0, 900.0  # K, what air at a compressor can be
HIGHEST_RATIO = 8.0  # of a road truck's two stages, by far
ALMOST = 1e-9


class Boost(TypedDict):
    """Gauge boost in Pa that a healthy engine may show, from the least to the most; and what each assumes."""

    least: float  # the turbo at its limit, constant k
    least_real: float  # the same with real air
    same_gauge: float  # boost held above the air outside
    most: float  # absolute boost held


def pressure_ratio(outlet: float, inlet: float) -> float:
    """Absolute pressure behind the compressor over that before it, both in Pa.

    Raises:
        ValueError: a pressure that is not above zero, or a ratio that no compressor has.
    """
    if inlet <= 0 or outlet <= 0:
        raise ValueError("An absolute pressure is above zero. Is one of the readings gauge?")
    ratio = outlet / inlet
    if ratio > HIGHEST_RATIO:
        raise ValueError(f"A pressure ratio of {ratio:.1f} cannot be. Check both readings and their units.")
    return ratio


def density(pressure: float, temperature: float) -> float:
    """Density in kg/m³ of air at absolute Pa and K: ρ = p/(R·T), within 0.1 % of real dry air below 400 kPa.

    Raises:
        ValueError: a pressure below zero, or a temperature that air at an engine cannot have.
    """
    if pressure <= 0:
        raise ValueError("An absolute pressure is above zero. Is the reading gauge?")
    return pressure / (atmosphere.R * _possible(temperature))


def isentropic_outlet(inlet: float, ratio: float) -> float:
    """K behind an ideal compressor: T1·ratio^((k − 1)/k), up to 1 K above real air at a ratio of 3.5."""
    return float(_possible(inlet) * _compressing(ratio) ** POWER)


def real_outlet(inlet: float, ratio: float) -> float:
    """K behind an ideal compressor with real air's heat: s(T2) − s(T1) = R·ln(ratio).

    Solved by Newton's method, which converges in a few steps because s rises evenly.
    """
    target = _entropy(_possible(inlet)) + math.log(_compressing(ratio))
    temperature = isentropic_outlet(inlet, ratio)
    for _ in range(20):
        temperature -= (_entropy(temperature) - target) * temperature / _heat(temperature)
    return temperature


def outlet(inlet: float, ratio: float, efficiency: float) -> float:
    """K behind a compressor of an isentropic efficiency (0 to 1): T1 + (T2s − T1)/η.

    Raises:
        ValueError: an efficiency outside 0 to 1, or an impossible temperature or ratio.
    """
    if not 0 < efficiency <= 1:
        raise ValueError("An efficiency is above 0 and at most 100 %.")
    return inlet + (isentropic_outlet(inlet, ratio) - inlet) / efficiency


def efficiency(inlet: float, outlet_temperature: float, ratio: float, real: bool = False) -> float:
    """Isentropic (total) efficiency from four readings: η = (T2s − T1)/(T2 − T1); `real` by enthalpies.

    The housing loses heat to the air and takes some from the turbine, so it is an apparent efficiency.

    Raises:
        ValueError: no temperature rise, no pressure ratio above 1, or impossible readings.
    """
    if _possible(outlet_temperature) <= _possible(inlet):
        raise ValueError("The air leaves a compressor hotter than it enters. Check the two temperatures.")
    if ratio <= 1:
        raise ValueError("Without a pressure ratio above 1 there is no efficiency. Read it under boost.")
    if real:
        ideal = _enthalpy(real_outlet(inlet, ratio)) - _enthalpy(inlet)
        return ideal / (_enthalpy(outlet_temperature) - _enthalpy(inlet))
    return (isentropic_outlet(inlet, ratio) - inlet) / (outlet_temperature - inlet)


def cooler_effectiveness(hot: float, cooled: float, ambient: float) -> float:
    """Share of the possible cooling that the charge air cooler does: ε = (T_in − T_out)/(T_in − T_ambient).

    Raises:
        ValueError: no hotter air in than outside, or air leaving colder than outside or hotter than it came.
    """
    if _possible(hot) <= _possible(ambient):
        raise ValueError("The air before the cooler is no hotter than outside. Read it under boost.")
    if _possible(cooled) < ambient:
        raise ValueError("No cooler makes air colder than the air outside. Check the two temperatures.")
    if cooled > hot:
        raise ValueError("The air leaves the cooler hotter than it came. Are the two swapped?")
    return (hot - cooled) / (hot - ambient)


def expected_boost(
    known: float, known_outside: float, outside: float, known_inlet: float = 0.0, inlet: float = 0.0
) -> Boost:
    """Gauge boost in Pa that a healthy engine shows here, from what it shows at a known place.

    Who holds the boost decides, and that differs by maker, so it is a range with its assumptions:
    - least: the turbo is at its limit and does the same work on each kilogram of air:
      T1·(PR^((k−1)/k) − 1) stays, which is the same pressure ratio if the inlet is as warm as there.
    - same gauge: a spring against the air outside holds it.
    - most: the controller holds the same absolute pressure, while the turbo still can.
    Makers may also lower the boost on purpose in thin air; the maker's figure goes first.

    Args:
        known: gauge boost in Pa of a healthy engine at the known place.
        known_outside, outside: air pressure there and here, Pa.
        known_inlet, inlet: air temperature before the compressor there and here, K; 0 if not known.

    Raises:
        ValueError: no boost, or impossible pressures or temperatures.
    """
    if known <= 0:
        raise ValueError("The boost known for this engine is above zero, as gauge pressure.")
    there, here = atmosphere.station(known_outside), atmosphere.station(outside)
    ratio = pressure_ratio(atmosphere.absolute(known, there), there)
    share = _possible(known_inlet) / _possible(inlet) if known_inlet and inlet else 1.0
    limit = (1 + share * (ratio**POWER - 1)) ** (1 / POWER)
    real = _same_work(ratio, known_inlet, inlet) if known_inlet and inlet else ratio
    return {
        "least": here * (limit - 1),
        "least_real": here * (real - 1),
        "same_gauge": known,
        "most": known + there - here,
    }


def _same_work(ratio: float, known_inlet: float, inlet: float) -> float:
    """The ratio that the same work per kilogram gives at another inlet temperature, with real air."""
    work = _enthalpy(real_outlet(known_inlet, ratio)) - _enthalpy(known_inlet)
    temperature = inlet
    for _ in range(20):
        temperature -= (_enthalpy(temperature) - _enthalpy(inlet) - work) / _heat(temperature)
    return math.exp(_entropy(temperature) - _entropy(inlet))


def at_full_flow(drop: float, share: float) -> "list[float]":
    """A pressure drop in Pa read at a share (0 to 1) of the full air flow, least and most at full flow.

    Between drop/share (laminar, a clean filter's paper) and drop/share² (turbulent, ducts): Darcy's law and
    Darcy-Weisbach. A guess below half flow, so that is refused.

    Raises:
        ValueError: a share outside 0.5 to 1, or a negative drop.
    """
    if not 0.5 - ALMOST <= share <= 1 + ALMOST:
        raise ValueError("Below half of the full air flow a reading says nothing about full flow.")
    if drop < 0:
        raise ValueError("A restriction is typed without a sign, as how far it pulls below the air outside.")
    return [drop / share, drop / (share * share)]


def _possible(temperature: float) -> float:
    if not COLDEST <= temperature <= HOTTEST:
        raise ValueError(
            f"{temperature - 273.15:.0f} °C cannot be air at a compressor. Check the number and its unit."
        )
    return temperature


def _compressing(ratio: float) -> float:
    if not 0 < ratio <= HIGHEST_RATIO:
        raise ValueError(f"A pressure ratio of {ratio:g} cannot be; it is absolute over absolute.")
    return ratio


def _heat(temperature: float) -> float:
    """cp/R."""
    heat = STILL
    for share, start in VIBRATING:
        x = start / temperature
        heat += share * x * x * math.exp(x) / (math.exp(x) - 1) ** 2
    return heat


def _enthalpy(temperature: float) -> float:
    """h/R in K: the integral of cp/R."""
    total = STILL * temperature
    for share, start in VIBRATING:
        total += share * start / (math.exp(start / temperature) - 1)
    return total


def _entropy(temperature: float) -> float:
    """s/R at one pressure: the integral of cp/(R·T)."""
    total = STILL * math.log(temperature)
    for share, start in VIBRATING:
        x = start / temperature
        total += share * (x / (math.exp(x) - 1) - math.log(1 - math.exp(-x)))
    return total
