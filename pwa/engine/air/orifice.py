"""Air through a hole, and a pressurised charge system that leaks: flow, equivalent hole, stored energy.

Flow through an ideal nozzle, times a discharge coefficient (Çengel & Boles, Thermodynamics, ch. 17; the same
equations as ISO 9300 for the choked case with ideal air). Absolute pressures in Pa, temperatures in K.
"""

import math

from pwa.engine.air.atmosphere import R

K = 1.4
CRITICAL = (2 / (K + 1)) ** (K / (K - 1))  # 0.528282: at or below this ratio the hole is choked
CHOKED: float = math.sqrt(K) * (2 / (K + 1)) ** ((K + 1) / (2 * (K - 1)))  # 0.6847315
STEPS = 200  # of Simpson's rule; the integrand is smooth, 200 give ten digits


def flow_number(ratio: float) -> float:
    """ψ of ṁ = Cd·A·p0·ψ/√(R·T0), for the pressure behind the hole over that before it.

    Choked: √k·(2/(k+1))^((k+1)/(2(k−1))). Otherwise √(2k/(k−1)·(r^(2/k) − r^((k+1)/k))).
    """
    if ratio <= CRITICAL:
        return CHOKED
    inside = 2 * K / (K - 1) * (ratio ** (2 / K) - ratio ** ((K + 1) / K))
    return math.sqrt(max(0.0, inside))


def mass_flow(
    area: float, inside: float, outside: float, temperature: float, discharge: float = 1.0
) -> float:
    """kg/s of air through a hole of an area in m² from `inside` to `outside`.

    Raises:
        ValueError: pressures or temperature not above zero, flow that would go inwards, a discharge
            coefficient outside 0 to 1.
    """
    _pressures(inside, outside)
    _positive(area, "The area of the hole")
    _positive(temperature, "An absolute temperature")
    _coefficient(discharge)
    return discharge * area * inside * flow_number(outside / inside) / math.sqrt(R * temperature)


def effective_area(
    volume: float, start: float, end: float, seconds: float, outside: float, temperature: float
) -> float:
    """Cd·A in m² of the hole that lets a volume in m³ sink from `start` to `end` in so many seconds.

    The air inside stays at one temperature, as slow leaks in metal do: V·dp/dt = −Cd·A·√(R·T)·p·ψ(p_out/p).
    While choked p decays exponentially, so that part is a logarithm; the rest is integrated over
    u = √(p − p_out), which takes the root at the end out of the integrand.

    Raises:
        ValueError: no drop, an end below the air outside, or sizes not above zero.
    """
    _positive(volume, "The volume")
    _positive(seconds, "The time")
    _positive(temperature, "An absolute temperature")
    _pressures(start, outside)
    if end >= start:
        raise ValueError("The pressure did not fall, so no leak can be told from these readings.")
    if end <= outside:
        raise ValueError(
            "It is empty at the end: only pressures above the air outside say how large a leak is. "
            "Stop the clock earlier."
        )
    return volume / (seconds * math.sqrt(R * temperature)) * _fall(start, end, outside)


def _fall(start: float, end: float, outside: float) -> float:
    """∫ dp/(p·ψ(p_out/p)) from end to start."""
    critical = outside / CRITICAL
    total = 0.0
    if start > critical:
        total = math.log(start / max(end, critical)) / CHOKED
    if end < critical:
        total += _unchoked(min(start, critical), end, outside)
    return total


def _unchoked(start: float, end: float, outside: float) -> float:
    low, high = math.sqrt(end - outside), math.sqrt(start - outside)
    step = (high - low) / STEPS
    total = 0.0
    for index in range(STEPS + 1):
        root = low + index * step
        pressure = outside + root * root
        weight = 1 if index in (0, STEPS) else 4 if index % 2 else 2
        total += weight * 2 * root / (pressure * flow_number(outside / pressure))
    return total * step / 3


def at_temperature(pressure: float, measured: float, wanted: float) -> float:
    """A sealed pressure in Pa at another temperature than it was measured at: p·T_wanted/T_measured."""
    _positive(measured, "An absolute temperature")
    _positive(wanted, "An absolute temperature")
    return pressure * wanted / measured


def leak_rate(volume: float, start: float, end: float, seconds: float) -> float:
    """Mean leak in Pa·m³/s: V·Δp/t; divided by 101,325 Pa it is m³ of outside air a second."""
    _positive(volume, "The volume")
    _positive(seconds, "The time")
    return volume * (start - end) / seconds


def diameter(effective: float, discharge: float) -> float:
    """Diameter in m of a round hole of an effective area Cd·A in m²."""
    _coefficient(discharge)
    return math.sqrt(4 * effective / (discharge * math.pi))


def stored_energy(volume: float, inside: float, outside: float) -> float:
    """J that a pressurised volume can throw, on the safe side: (p − p_out)·V/(k − 1) (Brode's equation).

    It is all the heat put in; an ideal expansion does 40 to 60 % of it at these pressures.
    """
    _positive(volume, "The volume")
    _pressures(inside, outside)
    return (inside - outside) * volume / (K - 1)


def expansion_work(volume: float, inside: float, outside: float) -> float:
    """J of an ideal expansion to the air outside: p·V/(k − 1)·(1 − (p_out/p)^((k−1)/k))."""
    _positive(volume, "The volume")
    _pressures(inside, outside)
    return float(inside * volume / (K - 1) * (1 - (outside / inside) ** ((K - 1) / K)))


def _pressures(inside: float, outside: float) -> None:
    if outside <= 0 or inside <= 0:
        raise ValueError("An absolute pressure is above zero. Is one of the readings gauge?")
    if inside <= outside:
        raise ValueError("The pressure inside is not above the air outside, so nothing can leak out.")


def _positive(value: float, what: str) -> None:
    if value <= 0:
        raise ValueError(f"{what} is above zero.")


def _coefficient(discharge: float) -> None:
    if not 0 < discharge <= 1:
        raise ValueError("A discharge coefficient is above 0 and at most 1.")
