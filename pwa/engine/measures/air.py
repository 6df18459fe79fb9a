"""Charge air: the air outside, the boost sensor, ratio, density, compressor, cooler, boost to expect.

Limits are our estimates or common practice unless the shop enters the maker's; formulas in `atmosphere` and
`charge`.
"""

from typing import TYPE_CHECKING

from pwa.engine.air import atmosphere, charge
from pwa.engine.measures import outside
from pwa.engine.measures.declared import Calculation, maybe, number
from pwa.engine.measures.outside import ZERO, as_text
from pwa.engine.measures.verdict import detail, verdict

if TYPE_CHECKING:
    from pwa.engine.measures.verdict import Values, Verdict


def air_outside(values: "Values", _limits: "Values") -> "Verdict":
    """Station pressure, the altitude it stands for, and the density."""
    warnings: list[str] = []
    station = outside.pressure(values, warnings)
    height = atmosphere.altitude(station)
    temperature = values.get("temperature", atmosphere.T0 - atmosphere.LAPSE * height)
    density = charge.density(station, temperature)
    details = [
        detail("Standard altitude of this pressure", height, "m"),
        detail("Of sea level's pressure", 100 * station / atmosphere.P0, "%"),
        detail("Density" if "temperature" in values else "Density on a standard day", density, "kg/m³"),
    ]
    sentence = f"The air outside has {as_text(station)}, as the standard atmosphere at {height:.0f} m."
    return verdict(station / 1e3, "kPa", "", sentence, details, warnings)


def sensor_off(values: "Values", limits: "Values") -> "Verdict":
    """The boost sensor with the engine off: it must read the air outside, or zero if it reads gauge."""
    warnings: list[str] = []
    if values["reads"] == "gauge" and "station" not in values and "altitude" not in values:
        station = atmosphere.P0  # a gauge reading needs none
    else:
        station = outside.pressure(values, warnings)
    allowed = 1e3 * limits["difference"]
    away = outside.gauge(values, station)
    # A gauge reading needs no air pressure, so only an absolute one is less sure without a barometer.
    doubt = 0.0 if values["reads"] == "gauge" or outside.measured(values) else atmosphere.WEATHER
    details = [
        detail("The sensor is away by", away / 1e3, "kPa"),
        detail("Allowed", limits["difference"], "kPa"),
    ]
    if abs(away) > allowed + doubt:
        outcome, sentence = (
            "yes",
            f"With the engine off boost reads {as_text(abs(away))} away from the air outside.",
        )
    elif abs(away) <= max(0.0, allowed - doubt):
        outcome, sentence = (
            "no",
            f"With the engine off boost agrees with the air outside within {as_text(allowed)}.",
        )
    else:
        outcome, sentence = "", "Weather could explain the difference: measure the air pressure to tell."
    return verdict(away / 1e3, "kPa", outcome, sentence, details, warnings)


def ratio(values: "Values", _limits: "Values") -> "Verdict":
    """Pressure ratio of the compressor, from boost, the air outside, and the filter's restriction."""
    warnings: list[str] = []
    station, found = _ratio(values, warnings)
    details = [
        detail("Absolute boost", (station + outside.boosted(values, station)) / 1e3, "kPa"),
        detail("Before the compressor", (station - values.get("restriction", 0.0)) / 1e3, "kPa"),
    ]
    return verdict(
        found, "", "", f"The compressor works at a pressure ratio of {found:.2f}.", details, warnings
    )


def density(values: "Values", _limits: "Values") -> "Verdict":
    """Density of the charge, and how many times that of the air outside."""
    warnings: list[str] = []
    station = outside.pressure(values, warnings)
    pressure = station + outside.boosted(values, station)
    found = charge.density(pressure, values["temperature"])
    free = charge.density(station, values["ambient"])
    details = [
        detail("Absolute boost", pressure / 1e3, "kPa"),
        detail("Outside", free, "kg/m³"),
        detail("Times the air outside", found / free, ""),
    ]
    sentence = f"The charge has {found:.2f} kg/m³, {found / free:.2f} times the air outside."
    return verdict(found, "kg/m³", "", sentence, details, warnings)


def efficiency(values: "Values", limits: "Values") -> "Verdict":
    """Isentropic efficiency of the compressor from four readings, with what real air makes of it."""
    warnings: list[str] = []
    _, found_ratio = _ratio(values, warnings)
    cold, hot = values["inlet"], values["outlet"]
    found = 100 * charge.efficiency(cold, hot, found_ratio)
    real = 100 * charge.efficiency(cold, hot, found_ratio, True)
    details = [
        detail("Pressure ratio", found_ratio, ""),
        detail("An ideal compressor gives", charge.isentropic_outlet(cold, found_ratio) - ZERO, "°C"),
        detail("With real air's heat", real, "%"),
    ]
    believable = limits["lowest"] <= found <= limits["highest"]
    if not believable:
        warnings.append(
            f"Outside {limits['lowest']:.0f} to {limits['highest']:.0f} % a reading is more likely wrong "
            "than the compressor: check both temperatures and the boost, all at one moment and settled."
        )
    sentence = f"Apparent compressor efficiency {found:.0f} %" + (
        ": within what compressors do." if believable else ": not believable as it stands."
    )
    return verdict(found, "%", "", sentence, details, warnings)


def cooler(values: "Values", limits: "Values") -> "Verdict":
    """Effectiveness of the charge air cooler against the least expected."""
    found = 100 * charge.cooler_effectiveness(values["hot"], values["cooled"], values["ambient"])
    low = found < limits["least"]
    left = values["cooled"] - values["ambient"]
    details = [detail("Above the air outside", left, "K"), detail("Least expected", limits["least"], "%")]
    sentence = f"The cooler does {found:.0f} % of the cooling that is possible, " + (
        f"less than {limits['least']:.0f} %: look for dirt between the fins, oil inside, fan and shutters."
        if low
        else f"at least {limits['least']:.0f} %: good at this air flow."
    )
    return verdict(found, "%", "low" if low else "ok", sentence, details)


def expected_boost(values: "Values", limits: "Values") -> "Verdict":
    """Boost against what a healthy engine with a known figure shows in this air, as a range."""
    warnings: list[str] = []
    here = outside.pressure(values, warnings)
    expected = _expected(values, here)
    found = outside.boosted(values, here)
    low, high = sorted((expected["least"], expected["most"]))
    margin = limits["margin"] / 100
    if "known_station" not in values:
        warnings.append("The known figure is taken as one at sea level, 101.3 kPa.")
    if found > high * (1 + margin):
        warnings.append("That is more than any healthy engine is expected to hold here: check the reading.")
    details = [
        detail("Least: turbo at its limit, the same work on the air", expected["least"] / 1e3, "kPa"),
        detail("The same with real air's heat", expected["least_real"] / 1e3, "kPa"),
        detail("The same gauge boost held", expected["same_gauge"] / 1e3, "kPa"),
        detail("Most: the same absolute boost held", expected["most"] / 1e3, "kPa"),
        detail("Air outside", here / 1e3, "kPa"),
    ]
    if found < low * (1 - margin):
        outcome, judged = "low", "too little."
    elif found < low:
        outcome, judged = (
            "",
            "so little below that it may be doubt alone. Read again, with a measured air pressure.",
        )
    else:
        outcome, judged = "ok", "not too little for this air."
    sentence = (
        f"{as_text(found)} of boost; here a healthy engine shows {as_text(low)} to {as_text(high)}: {judged}"
    )
    return verdict(found / 1e3, "kPa", outcome, sentence, details, warnings)


def boost_range(values: "Values") -> "tuple[float, float, float]":
    """Boost as typed into the worksheet, and the least and most that a healthy engine shows here, in Pa.

    Raises:
        ValueError: what was typed cannot be.
    """
    here = outside.pressure(values, [])
    expected = _expected(values, here)
    low, high = sorted((expected["least"], expected["most"]))
    return outside.boosted(values, here), low, high


def _expected(values: "Values", here: float) -> "charge.Boost":
    there = values.get("known_station", atmosphere.P0)
    known_inlet, inlet = values.get("known_inlet", 0.0), values.get("inlet", 0.0)
    return charge.expected_boost(values["known"], there, here, known_inlet, inlet)


def _ratio(values: "Values", warnings: "list[str]") -> "tuple[float, float]":
    """Station pressure in Pa, and the pressure ratio."""
    station = outside.pressure(values, warnings)
    drop = values.get("restriction", 0.0)
    if drop < 0:
        raise ValueError("The filter's restriction is typed without a sign.")
    return station, charge.pressure_ratio(station + outside.boosted(values, station), station - drop)


AIR = outside.INPUTS
BOOST = AIR + outside.BOOST
CALCULATIONS: "dict[str, Calculation]" = {
    "air_outside": Calculation(air_outside, AIR + (maybe("temperature", "temperature"),), {}, ()),
    "sensor_off": Calculation(sensor_off, BOOST, {"difference": "kPa"}, ("no", "yes")),
    "ratio": Calculation(ratio, BOOST + (maybe("restriction", "pressure"),), {}, ()),
    "density": Calculation(
        density, BOOST + (number("temperature", "temperature"), number("ambient", "temperature")), {}, ()
    ),
    "efficiency": Calculation(
        efficiency,
        BOOST
        + (
            maybe("restriction", "pressure"),
            number("inlet", "temperature"),
            number("outlet", "temperature"),
        ),
        {"lowest": "%", "highest": "%"},
        (),
    ),
    "cooler": Calculation(
        cooler,
        (number("hot", "temperature"), number("cooled", "temperature"), number("ambient", "temperature")),
        {"least": "%"},
        ("ok", "low"),
    ),
    "expected_boost": Calculation(
        expected_boost,
        BOOST
        + (
            number("known", "gauge pressure"),
            maybe("known_station", "absolute pressure"),
            maybe("known_inlet", "temperature"),
            maybe("inlet", "temperature"),
        ),
        {"margin": "%"},
        ("ok", "low"),
    ),
}
