"""The data bus: terminators from a resistance, levels from two voltages. Formulas in `bus`."""

from typing import TYPE_CHECKING

from pwa.engine.electrical import bus
from pwa.engine.measures.declared import Calculation, choice, number
from pwa.engine.measures.verdict import detail, verdict

if TYPE_CHECKING:
    from pwa.engine.measures.verdict import Values, Verdict

RIGHT = 2  # terminators, one at each end
SEEN = ("sixty", "other", "one-twenty", "many", "short", "open")


def resistance(values: "Values", _limits: "Values") -> "Verdict":
    """Ω between the two wires of the bus, power off: how many terminators, and what else it could be."""
    ohms = values["ohms"]
    found = bus.terminators(ohms)
    details = [detail("Measured", ohms, "Ω")]
    if found["count"] >= 0:
        details.append(detail("Terminators", float(found["count"]), ""))
    return verdict(ohms, "Ω", _seen(ohms, found["count"]), found["sentence"], details, found["also"])


def _seen(ohms: float, count: int) -> str:
    """The outcome for a number of terminators; -1 is no whole number of them."""
    if count < 0:
        return "short" if ohms < bus.SHORT else "other"
    return ("open", "one-twenty", "sixty")[count] if count <= RIGHT else "many"


def levels(values: "Values", limits: "Values") -> "Verdict":
    """V of both wires of the bus against ground, in the state that they were read in."""
    found = bus.levels(values["high"], values["low"], values["state"], limits["meter"])
    least, most = bus.LEVELS[values["state"]][2]
    details = [
        detail("Difference", found["difference"], "V"),
        detail("Least difference in this state", least, "V"),
        detail("Most", most, "V"),
        detail("Middle of the two", found["middle"], "V"),
    ]
    warnings = []
    if values["state"] == "traffic":
        warnings.append(
            "A meter shows only a mean: a bus can fail with good means. An oscilloscope shows the bits."
        )
    if found["outcome"] == "ok":
        warnings.append(
            "Good levels here say nothing of a branch that is cut off: read at the actuator's plug too."
        )
    return verdict(found["difference"], "V", found["outcome"], found["sentence"], details, warnings)


CALCULATIONS: "dict[str, Calculation]" = {
    "resistance": Calculation(resistance, (number("ohms", "resistance"),), {}, SEEN),
    "levels": Calculation(
        levels,
        (number("high", "voltage"), number("low", "voltage"), choice("state", bus.LEVELS)),
        {"meter": "V"},
        ("ok", "wrong"),
    ),
}
