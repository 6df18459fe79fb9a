"""The air outside as typed: measured, from the altitude, or from a weather report; and boost against it."""

from typing import TYPE_CHECKING

from pwa.engine.air import atmosphere
from pwa.engine.measures.declared import choice, maybe, number
from pwa.engine.numbers import units

if TYPE_CHECKING:
    from pwa.engine.measures.verdict import Values

ZERO = 273.15  # K
FAR = 2 * atmosphere.WEATHER  # Pa: further from the standard than weather goes on nearly all days
# What `pressure` reads, and what `gauge` and `boosted` read beside it.
INPUTS = (
    maybe("station", "absolute pressure"),
    maybe("altitude", "length"),
    maybe("qnh", "absolute pressure"),
)
BOOST = (number("boost", "pressure"), choice("reads", ("gauge", "absolute")))


def pressure(values: "Values", warnings: "list[str]") -> float:
    """Station pressure in Pa; what is doubtful about it goes to `warnings`.

    Raises:
        ValueError: nothing typed that gives it, or what cannot be.
    """
    if "station" in values:
        measured = atmosphere.station(values["station"])
        if "altitude" in values:
            expected = _standard(values["altitude"])
            if abs(measured - expected) > FAR:
                warnings.append(
                    f"At this altitude {as_text(expected)} are usual. Was the value reduced to sea level, "
                    "or is the altitude wrong?"
                )
        return measured
    if "altitude" not in values:
        raise ValueError("Type the air pressure outside, or the altitude.")
    if "qnh" in values:
        warnings.append(
            "The pressure outside comes from one reduced to sea level: reports reduce in different ways, so "
            "a barometer at the truck, or the engine's own with the engine off, is better."
        )
        height = atmosphere.geopotential(values["altitude"])
        return atmosphere.from_sea_level(values["qnh"], height)
    warnings.append(
        "The pressure outside comes from the altitude: weather moves it by "
        f"{as_text(atmosphere.WEATHER)} or more. A measured pressure is better."
    )
    return _standard(values["altitude"])


def measured(values: "Values") -> bool:
    return "station" in values


def gauge(values: "Values", outside: float) -> float:
    """The boost typed, in Pa above the air outside.

    Raises:
        ValueError: nobody said whether it is gauge or absolute, or it cannot be what was said.
    """
    reading, reads = values["boost"], values["reads"]
    if reads == "gauge":
        atmosphere.absolute(reading, outside)
        return float(reading)
    if reads != "absolute":
        raise ValueError("Say whether the boost reads gauge or absolute.")
    return atmosphere.gauge(reading, outside)


def boosted(values: "Values", outside: float) -> float:
    """The boost typed, in Pa above the air outside, which a turbo at work cannot have below zero."""
    above = gauge(values, outside)
    if above < 0:
        raise ValueError(
            f"This boost is {as_text(-above)} below the air outside. "
            + (
                "Is the reading gauge, not absolute?"
                if values["reads"] == "absolute"
                else "Check the sign, and read it under load."
            )
        )
    return above


def as_text(pascal: float) -> str:
    """A pressure in both units that people use: "163.8 kPa (23.8 psi)"."""
    return f"{units.show(pascal, 'kPa')} ({units.show(pascal, 'psi')})"


def warm(kelvin: float) -> str:
    """A temperature in both units that people use."""
    return f"{units.show(kelvin, '°C', 0)} ({units.show(kelvin, '°F', 0)})"


def _standard(altitude: float) -> float:
    return atmosphere.standard(atmosphere.geopotential(altitude))["pressure"]
