"""The standard atmosphere to 5,000 m, station pressure, and gauge against absolute pressure.

T = T0 − L·H, p = p0·(T/T0)^(g0/(L·R)), ρ = p/(R·T), with H the geopotential height (ISO 2533:1975, the same
as US Standard Atmosphere 1976 below 32 km). Real air differs: weather moves the pressure by 2 to 3 kPa either
way on ordinary days and more in a storm, so a measured pressure always goes before a computed one.
"""

from typing import TypedDict

T0 = 288.15  # K
P0 = 101325.0  # Pa
LAPSE = 0.0065  # K/m
GRAVITY = 9.80665  # m/s²
R = 287.05287  # J/(kg·K), dry air
EXPONENT = GRAVITY / (LAPSE * R)  # 5.25588
EARTH = 6356766.0  # m, the radius that makes geometric height geopotential
LOWEST, HIGHEST = -500.0, 5000.0  # m
# Pa: what the air outside can weigh between those heights in any weather; beyond, something else was read.
THINNEST, THICKEST = 50e3, 112e3
WEATHER = 3e3  # Pa, common practice: an ordinary day's distance from the standard


class Air(TypedDict):
    """Standard air at one height: m (geopotential), K, Pa, kg/m³."""

    height: float
    temperature: float
    pressure: float
    density: float


def geopotential(altitude: float) -> float:
    """Geopotential height of a height on a map or from a satellite, both in m: H = r·h/(r + h)."""
    return EARTH * altitude / (EARTH + altitude)


def standard(height: float) -> Air:
    """Standard air at a geopotential height in m, −500 to 5,000.

    Taking a map's height for it is wrong by less than 30 Pa up to 5,000 m.

    Raises:
        ValueError: a height outside that range.
    """
    if not LOWEST <= height <= HIGHEST:
        raise ValueError(
            f"{height:.0f} m is outside {LOWEST:.0f} to {HIGHEST:.0f} m. Check the number and its unit."
        )
    temperature = T0 - LAPSE * height
    pressure = P0 * (temperature / T0) ** EXPONENT
    return {
        "height": height,
        "temperature": temperature,
        "pressure": pressure,
        "density": pressure / (R * temperature),
    }


def altitude(pressure: float) -> float:
    """The height in m at which the standard atmosphere has a pressure in Pa: H = T0/L·(1 − (p/p0)^(LR/g0)).

    It is a pressure altitude: weather moves it by some 250 m from the height on a map.

    Raises:
        ValueError: no pressure of air outside between −500 and 5,000 m.
    """
    station(pressure)
    return float(T0 / LAPSE * (1 - (pressure / P0) ** (1 / EXPONENT)))


def from_sea_level(qnh: float, height: float) -> float:
    """Station pressure in Pa from one reduced to sea level (altimeter setting, QNH) and the height in m.

    The inverse of the altimeter's formula: p = p0·((QNH/p0)^(1/n) − L·H/T0)^n, n = 5.25588 (ISO 2533;
    Smithsonian Meteorological Tables, 6th ed.). Weather reports that reduce with the day's temperature
    instead differ by up to 1 kPa at 1,500 m and more above, so it is a makeshift.

    Raises:
        ValueError: a height outside the range, or a pressure that is not one at sea level.
    """
    standard(height)
    if not 87e3 <= qnh <= 109e3:
        raise ValueError(
            f"{qnh / 1e3:.1f} kPa is no pressure reduced to sea level. If it was measured at the truck, "
            "type it as the measured pressure."
        )
    return float(P0 * ((qnh / P0) ** (1 / EXPONENT) - LAPSE * height / T0) ** EXPONENT)


def station(pressure: float) -> float:
    """The pressure of the air outside in Pa, if it can be one at −500 to 5,000 m.

    Raises:
        ValueError: it cannot.
    """
    if not THINNEST <= pressure <= THICKEST:
        raise ValueError(
            f"{pressure / 1e3:.4g} kPa cannot be the air outside between {LOWEST:.0f} and {HIGHEST:.0f} m. "
            "Check the number and its unit, and that it is absolute."
        )
    return pressure


def absolute(gauge: float, outside: float) -> float:
    """Absolute pressure in Pa: gauge + the air outside.

    Raises:
        ValueError: the gauge shows more vacuum than there is air.
    """
    pressure = gauge + station(outside)
    if pressure <= 0:
        raise ValueError(
            f"{gauge / 1e3:.1f} kPa gauge is below vacuum with {outside / 1e3:.1f} kPa outside. "
            "Check the sign and the unit."
        )
    return pressure


def gauge(pressure: float, outside: float) -> float:
    """Gauge pressure in Pa: absolute − the air outside.

    Raises:
        ValueError: a negative absolute pressure.
    """
    if pressure < 0:
        raise ValueError(f"An absolute pressure of {pressure / 1e3:.1f} kPa cannot be. Is the reading gauge?")
    return pressure - station(outside)
