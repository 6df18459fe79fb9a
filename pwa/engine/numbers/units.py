"""Units: reading what is typed into SI, and showing SI in the unit a person uses.

Factors are exact definitions (NIST Special Publication 811, appendix B), but the mercury and water columns,
which are conventional values to the digits given there. SI here means: Pa, N·m, V, A, Ω, m, m³, s, K; angles
stay in degrees and percentages in percent, because nobody at a truck reads radians or ratios.
"""

from typing import TYPE_CHECKING

from pwa.engine.numbers import typed_number
from pwa.engine.numbers.rounding import HALF_UP

if TYPE_CHECKING:
    Scale = tuple[float, float]

POUND_FORCE = 0.45359237 * 9.80665  # N
INCH = 0.0254  # m
FOOT = 0.3048  # m
PSI = POUND_FORCE / (INCH * INCH)  # Pa

PRESSURES: "dict[str, Scale]" = {
    "Pa": (1.0, 0.0),
    "kPa": (1e3, 0.0),
    "bar": (1e5, 0.0),
    "mbar": (1e2, 0.0),
    "psi": (PSI, 0.0),
    "inHg": (3386.389, 0.0),
    "mmHg": (133.3224, 0.0),
    "inH2O": (249.0819, 0.0),
    "mmH2O": (9.80665, 0.0),
    "kgf/cm²": (98066.5, 0.0),
}
# quantity -> unit as shown -> (factor, offset): SI value = factor * number + offset
UNITS: "dict[str, dict[str, Scale]]" = {
    "pressure": PRESSURES,
    # Above the air outside, and above vacuum: a field of one of these says which it wants.
    "gauge pressure": {unit + " gauge": scale for unit, scale in PRESSURES.items()},
    "absolute pressure": {unit + " abs": scale for unit, scale in PRESSURES.items()},
    "torque": {
        "N·m": (1.0, 0.0),
        "lb·ft": (POUND_FORCE * FOOT, 0.0),
        "lb·in": (POUND_FORCE * INCH, 0.0),
        "kgf·m": (9.80665, 0.0),
    },
    "force": {"N": (1.0, 0.0), "kN": (1e3, 0.0), "lbf": (POUND_FORCE, 0.0)},
    "voltage": {"V": (1.0, 0.0), "mV": (1e-3, 0.0)},
    "current": {"A": (1.0, 0.0), "mA": (1e-3, 0.0)},
    "resistance": {"Ω": (1.0, 0.0), "mΩ": (1e-3, 0.0), "kΩ": (1e3, 0.0)},
    "length": {
        "m": (1.0, 0.0),
        "mm": (1e-3, 0.0),
        "cm": (1e-2, 0.0),
        "km": (1e3, 0.0),
        "in": (INCH, 0.0),
        "ft": (FOOT, 0.0),
    },
    "area": {"mm²": (1e-6, 0.0)},
    "gauge": {"AWG": (1.0, 0.0)},  # of a wire; 0 for 1/0, -1 for 2/0
    "volume": {
        "m³": (1.0, 0.0),
        "L": (1e-3, 0.0),
        "mL": (1e-6, 0.0),
        "US gal": (231 * INCH * INCH * INCH, 0.0),
        "imp gal": (4.54609e-3, 0.0),
        "ft³": (FOOT * FOOT * FOOT, 0.0),
        "in³": (INCH * INCH * INCH, 0.0),
    },
    "angle": {"°": (1.0, 0.0)},
    "percent": {"%": (1.0, 0.0)},
    "temperature": {"K": (1.0, 0.0), "°C": (1.0, 273.15), "°F": (5 / 9, 459.67 * 5 / 9)},
    "time": {"s": (1.0, 0.0), "ms": (1e-3, 0.0), "min": (60.0, 0.0), "h": (3600.0, 0.0)},
    # Counts: nothing to convert, but typed and shown like the rest.
    "places": {"places": (1.0, 0.0)},
    "cycles": {"cycles": (1.0, 0.0)},
    "pieces": {"pieces": (1.0, 0.0)},
    "threads": {"threads/in": (1.0, 0.0)},
    "number": {"1": (1.0, 0.0)},
}
# What people type for a unit, in lower case without spaces, dots, dashes and brackets.
ALIASES = {
    "nm": "N·m", "ftlb": "lb·ft", "lbft": "lb·ft", "lbfft": "lb·ft", "ftlbf": "lb·ft", "ftlbs": "lb·ft",
    "lbsft": "lb·ft", "lbin": "lb·in", "lbfin": "lb·in", "inlb": "lb·in", "inlbf": "lb·in", "inlbs": "lb·in",
    "lbsin": "lb·in", "kgm": "kgf·m", "kgfm": "kgf·m", "deg": "°", "degrees": "°", "c": "°C", "f": "°F",
    "degc": "°C", "degf": "°F", "ohm": "Ω", "ohms": "Ω", "mohm": "mΩ", "kohm": "kΩ", "volt": "V",
    "volts": "V", "amp": "A", "amps": "A", "percent": "%", "inch": "in", "inches": "in", '"': "in",
    "feet": "ft", "foot": "ft", "'": "ft", "sec": "s", "seconds": "s", "minutes": "min", "hours": "h",
    "place": "places", "cycle": "cycles", "piece": "pieces", "tpi": "threads/in", "lb": "lbf", "lbs": "lbf",
    "hpa": "mbar", "mb": "mbar", "millibar": "mbar",
    "lb/in²": "psi", "lb/in2": "psi", "lbf/in2": "psi", "kg/cm²": "kgf/cm²", "kg/cm2": "kgf/cm²",
    "kgf/cm2": "kgf/cm²", '"hg': "inHg", "inchhg": "inHg", "incheshg": "inHg", '"h2o': "inH2O",
    "inh20": "inH2O", "inh₂o": "inH2O", "inwc": "inH2O", '"wc': "inH2O", "inchh2o": "inH2O",
    "inchesh2o": "inH2O", "torr": "mmHg", "mmwc": "mmH2O", "mmh20": "mmH2O", "litre": "L", "litres": "L",
    "liter": "L", "liters": "L", "cc": "mL", "cm³": "mL", "cm3": "mL", "m3": "m³", "usgallon": "US gal",
    "usgallons": "US gal", "impgallon": "imp gal", "ukgal": "imp gal", "ft3": "ft³", "cuft": "ft³",
    "in3": "in³", "cuin": "in³", "ci": "in³", "mm2": "mm²", "sqmm": "mm²", "ga": "AWG", "gauge": "AWG",
}  # fmt: skip
# Typed so, a unit of this quantity could be two things: ask, never guess.
AMBIGUOUS = {
    "pressure": {
        "in": "inHg or inH2O",
        "inch": "inHg or inH2O",
        "inches": "inHg or inH2O",
        '"': "inHg or inH2O",
        "mm": "mmHg or mmH2O",
        "p": "Pa or psi",
    },
    "torque": {"lb": "lb·ft or lb·in", "kg": "kgf·m or kgf·cm"},
    "angle": {"grad": "degrees or gradians"},
    "temperature": {"°": "°C or °F", "deg": "°C or °F", "degrees": "°C or °F"},
    "volume": {"gal": "US gal or imp gal", "gallon": "US gal or imp gal", "gallons": "US gal or imp gal"},
}
LOOKALIKES = (("\u2126", "Ω"), ("º", "°"), ("⋅", "·"), ("”", '"'), ("″", '"'), ("’", "'"), ("′", "'"))
# What is written behind a unit of pressure to say from where it counts.
COUNTED_FROM = (("gauge", "gauge"), ("abs", "abs"), ("absolute", "abs"), ("g", "gauge"), ("a", "abs"))
WORDS = {"gauge": "gauge, above the air outside", "abs": "absolute, above vacuum"}


def parse(text: str, quantity: str, default_unit: str = "") -> float:
    """A typed value in SI (angles in degrees, percent as percent, temperatures in K).

    "14 psi", "0,97 bar", "97kPa" and "30 psig" parse; a bare number is in `default_unit`.

    Raises:
        ValueError: no number or an ambiguous one, an unknown or ambiguous unit, a bare number without a
            default, or a temperature or an absolute pressure below zero.
    """
    number, typed_unit = typed_number.split(text)
    unit = unit_of(typed_unit, quantity) if typed_unit else default_unit
    if not unit:
        raise ValueError(
            f"In which unit? Type one of {', '.join(sorted(_scales(quantity)))} behind the number."
        )
    if unit in ("m", "ft") and typed_number.may_part_thousands(text):
        raise ValueError(
            f"“{text.strip()}” can mean {number:g} {unit} or {1000 * number:g} {unit}. "
            "Type it without the point or with fewer decimals."
        )
    value = to_si(number, unit, quantity)
    if quantity == "temperature" and value < 0:
        raise ValueError(f"{number:g} {unit} is below absolute zero. Check the sign and the unit.")
    if quantity == "absolute pressure" and value < 0:
        raise ValueError(f"{number:g} {unit} is below vacuum. Is the reading gauge, above the air outside?")
    return value


def quantity_of(unit: str) -> str:
    """The quantity that a unit measures, as `parse` wants it.

    Raises:
        ValueError: no such unit.
    """
    for quantity, scales in UNITS.items():
        if unit in scales:
            return quantity
    raise ValueError(f"{unit} is no unit known here.")


def split(text: str) -> "tuple[float, str]":
    """Number and unit of a typed text, see `typed_number`."""
    return typed_number.split(text)


def unit_of(typed: str, quantity: str) -> str:
    """The unit that a person means by what they typed behind a number."""
    scales = _scales(quantity)
    for lookalike, meant in LOOKALIKES:
        typed = typed.replace(lookalike, meant)
    if typed in scales:
        return typed
    short = typed.lower()
    for filler in (" ", ".", "-", "·", "*", "_", "(", ")"):
        short = short.replace(filler, "")
    if quantity.endswith("pressure"):
        return _pressure_unit(typed, short, quantity)
    return _unit_of(typed, short, quantity, scales)


def _pressure_unit(typed: str, short: str, quantity: str) -> str:
    """A unit of pressure, with what it counts from if that is typed behind it: "psig", "bar abs"."""
    wanted = {"gauge pressure": "gauge", "absolute pressure": "abs"}.get(quantity, "")
    known = [unit.lower() for unit in PRESSURES] + list(ALIASES) + list(AMBIGUOUS["pressure"])
    said = ""
    for ending, meant in COUNTED_FROM:
        plain = short[: -len(ending)]
        if short.endswith(ending) and plain in known:
            said, short = meant, plain
            break
    if said and not wanted:
        raise ValueError(
            f"“{typed}” says {WORDS[said]}. Type the plain unit; where it matters, the field says or asks "
            "from where it counts."
        )
    if said and said != wanted:
        raise ValueError(
            f"“{typed}” says {WORDS[said]}, but this is asked {WORDS[wanted]}. "
            + ("Take" if said == "abs" else "Add")
            + " the air pressure outside"
            + (" off first." if said == "abs" else " first.")
        )
    unit = _unit_of(typed, short, "pressure", PRESSURES)
    return f"{unit} {wanted}" if wanted else unit


def _unit_of(typed: str, short: str, quantity: str, scales: "dict[str, Scale]") -> str:
    doubt = AMBIGUOUS.get(quantity, {}).get(short)
    if doubt:
        raise ValueError(f"“{typed}” can mean {doubt}. Type the whole unit.")
    alias = ALIASES.get(short, "")
    for unit in scales:
        if unit == alias or unit.lower().replace(" ", "") == short:
            if typed[0] == "M" and unit[0] == "m" and unit[1:] in scales:
                raise ValueError(f"“{typed}” can mean mega or milli. Type {unit} for thousandths.")
            return unit
    raise ValueError(
        f"“{typed}” is no unit of {quantity} known here. Use one of {', '.join(sorted(scales))}."
    )


def to_si(number: float, unit: str, quantity: str) -> float:
    """A number in a unit of that quantity, in SI: factor · number + offset."""
    scales = _scales(quantity)
    if unit not in scales:
        raise ValueError(f"{unit} is no unit of {quantity} known here.")
    factor, offset = scales[unit]
    return factor * number + offset


def convert(value: float, unit: str, target: str) -> float:
    """A value in another unit of the same quantity.

    Raises:
        ValueError: the two units do not measure the same thing.
    """
    for scales in UNITS.values():
        if unit in scales and target in scales:
            factor, offset = scales[target]
            return (scales[unit][0] * value + scales[unit][1] - offset) / factor
    raise ValueError(f"{unit} and {target} do not measure the same thing.")


def show(value: float, unit: str, digits: int = 1) -> str:
    """An SI value in a unit, as "33.9 N·m"."""
    for scales in UNITS.values():
        if unit in scales:
            factor, offset = scales[unit]
            return f"{HALF_UP * (value - offset) / factor:.{digits}f} {unit}"
    raise ValueError(f"{unit} is no unit known here.")


def _scales(quantity: str) -> "dict[str, Scale]":
    if quantity not in UNITS:
        raise ValueError(f"{quantity} is no quantity known here.")
    return UNITS[quantity]
