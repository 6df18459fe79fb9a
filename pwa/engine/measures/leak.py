"""The charge system pressurised with the engine off: how fast it leaks, as one round hole; what it holds."""

from typing import TYPE_CHECKING

from pwa.engine.air import atmosphere, orifice
from pwa.engine.measures import outside
from pwa.engine.measures.declared import Calculation, maybe, number
from pwa.engine.measures.outside import as_text
from pwa.engine.measures.verdict import detail, verdict

if TYPE_CHECKING:
    from pwa.engine.measures.verdict import Values, Verdict

ROOM = 293.15  # K, taken where nobody measured the air inside; 10 K more or less are 2 % of the hole's area
SHARP, ROUNDED = 0.6, 0.85  # discharge of real holes, from memory
DANGEROUS = 1e3  # J, our estimate: a plug thrown by less still breaks an eye
LARGEST = 2.0  # m³, more than any truck's charge system


def leak_down(values: "Values", limits: "Values") -> "Verdict":
    """A measured fall of pressure as the round hole that would leak as much.

    Corrected for the temperature of the air inside if both ends were measured. Against the maker's fall in
    the same time if it is typed, else against a hole.
    """
    warnings: list[str] = []
    station = outside.pressure(values, warnings)
    start = atmosphere.absolute(values["start"], station)
    end, temperature = _corrected(values, start, atmosphere.absolute(values["end"], station), warnings)
    volume = _volume(values)
    area = orifice.effective_area(volume, start, end, values["seconds"], station, temperature)
    hole = 1e3 * orifice.diameter(area, limits["discharge"])
    rate = orifice.leak_rate(volume, start, end, values["seconds"])
    details = [
        detail("Hole if its edge is rounded", 1e3 * orifice.diameter(area, ROUNDED), "mm"),
        detail("Hole if its edge is sharp", 1e3 * orifice.diameter(area, SHARP), "mm"),
        detail("Fall", (start - end) / 1e3, "kPa"),
        detail("Leak", rate / atmosphere.P0 * 60e3, "L/min of outside air"),
        detail("Energy it held", orifice.stored_energy(volume, start, station) / 1e3, "kJ"),
    ]
    if "allowed" in values:
        fast = start - end > values["allowed"]
        against = f"the maker allows a fall of {as_text(values['allowed'])}"
    else:
        fast = hole > limits["hole"]
        against = f"{limits['hole']:g} mm are taken as the limit"
    warnings.append(
        "Air past open valves and piston rings counts too: listen where it leaves before you judge."
    )
    sentence = f"It leaks like one hole of {hole:.1f} mm; {against}: " + ("too fast." if fast else "good.")
    return verdict(hole, "mm", "fast" if fast else "ok", sentence, details, warnings)


def stored(values: "Values", _limits: "Values") -> "Verdict":
    """Energy of the air in a system about to be pressurised, for the caution beside the test."""
    station = atmosphere.P0 if "station" not in values else atmosphere.station(values["station"])
    volume, inside = _volume(values), atmosphere.absolute(values["pressure"], station)
    energy = orifice.stored_energy(volume, inside, station)
    details = [
        detail("Ideal expansion", orifice.expansion_work(volume, inside, station) / 1e3, "kJ"),
        detail("Lifts 1 kg by", energy / atmosphere.GRAVITY, "m"),
    ]
    warnings = []
    if energy > DANGEROUS:
        warnings.append(
            "Enough to kill with a thrown plug: nobody in line with it, hose lines tied, regulator low."
        )
    sentence = (
        f"{volume * 1e3:.0f} L at {as_text(values['pressure'])} gauge hold up to {energy / 1e3:.1f} kJ."
    )
    return verdict(energy / 1e3, "kJ", "", sentence, details, warnings)


def _corrected(values: "Values", start: float, end: float, warnings: "list[str]") -> "tuple[float, float]":
    """The end's pressure as it would be at the start's temperature, and that temperature."""
    if "start_temperature" not in values or "end_temperature" not in values:
        warnings.append(
            "Taken at one temperature. Air that cools by 5 K loses 1.6 % of its absolute pressure by itself: "
            "wait until it has settled, or measure it at both ends."
        )
        return end, values.get("start_temperature", ROOM)
    temperature = values["start_temperature"]
    corrected = orifice.at_temperature(end, values["end_temperature"], temperature)
    if end < start <= corrected:
        raise ValueError("Cooling alone explains the fall: no leak can be told. Wait until it has settled.")
    return corrected, temperature


def _volume(values: "Values") -> float:
    volume = values["volume"]
    if not 0 < volume <= LARGEST:
        raise ValueError("The volume is above zero and below 2 m³. Check the number and its unit.")
    return float(volume)


CALCULATIONS: "dict[str, Calculation]" = {
    "leak_down": Calculation(
        leak_down,
        outside.INPUTS
        + (
            number("volume", "volume"),
            number("start", "gauge pressure"),
            number("end", "gauge pressure"),
            number("seconds", "time"),
            maybe("start_temperature", "temperature"),
            maybe("end_temperature", "temperature"),
            maybe("allowed", "pressure"),
        ),
        {"discharge": "1", "hole": "mm"},
        ("ok", "fast"),
    ),
    "stored": Calculation(
        stored,
        (
            number("volume", "volume"),
            number("pressure", "gauge pressure"),
            maybe("station", "absolute pressure"),
        ),
        {},
        (),
    ),
}
