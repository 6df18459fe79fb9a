"""Units: reading what is typed into SI, and showing SI in the unit a person uses.

Factors are exact definitions (NIST Special Publication 811, appendix B), but the mercury and water columns,
which are conventional values to the digits given there. SI here means: Pa, N·m, V, A, Ω, m, s, K; angles
stay in degrees and percentages in percent, because nobody at a truck reads radians or ratios.
"""

import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    Scale = tuple[float, float]

POUND_FORCE = 0.45359237 * 9.80665  # N
INCH = 0.0254  # m
FOOT = 0.3048  # m
PSI = POUND_FORCE / (INCH * INCH)  # Pa
LONGEST = 15  # digits; more is a slip of the finger, and may not fit a float

# quantity -> unit as shown -> (factor, offset): SI value = factor * number + offset
UNITS: "dict[str, dict[str, Scale]]" = {
    "pressure": {
        "Pa": (1.0, 0.0),
        "kPa": (1e3, 0.0),
        "bar": (1e5, 0.0),
        "mbar": (1e2, 0.0),
        "psi": (PSI, 0.0),
        "inHg": (3386.389, 0.0),
        "mmHg": (133.3224, 0.0),
        "inH2O": (249.0819, 0.0),
    },
    "torque": {
        "N·m": (1.0, 0.0),
        "lb·ft": (POUND_FORCE * FOOT, 0.0),
        "lb·in": (POUND_FORCE * INCH, 0.0),
        "kgf·m": (9.80665, 0.0),
    },
    "voltage": {"V": (1.0, 0.0), "mV": (1e-3, 0.0)},
    "current": {"A": (1.0, 0.0), "mA": (1e-3, 0.0)},
    "resistance": {"Ω": (1.0, 0.0), "mΩ": (1e-3, 0.0), "kΩ": (1e3, 0.0)},
    "length": {"m": (1.0, 0.0), "mm": (1e-3, 0.0), "cm": (1e-2, 0.0), "in": (INCH, 0.0), "ft": (FOOT, 0.0)},
    "angle": {"°": (1.0, 0.0)},
    "percent": {"%": (1.0, 0.0)},
    "temperature": {"K": (1.0, 0.0), "°C": (1.0, 273.15), "°F": (5 / 9, 459.67 * 5 / 9)},
    "time": {"s": (1.0, 0.0), "ms": (1e-3, 0.0), "min": (60.0, 0.0), "h": (3600.0, 0.0)},
    "places": {"places": (1.0, 0.0)},  # a count: nothing to convert, but typed and shown like the rest
}
# What people type for a unit, in lower case without spaces, dots and dashes.
ALIASES = {
    "nm": "N·m", "ftlb": "lb·ft", "lbft": "lb·ft", "lbfft": "lb·ft", "ftlbf": "lb·ft", "ftlbs": "lb·ft",
    "lbsft": "lb·ft", "lbin": "lb·in", "lbfin": "lb·in", "inlb": "lb·in", "inlbf": "lb·in", "inlbs": "lb·in",
    "lbsin": "lb·in", "kgm": "kgf·m", "kgfm": "kgf·m", "deg": "°", "degrees": "°", "c": "°C", "f": "°F",
    "degc": "°C", "degf": "°F", "ohm": "Ω", "ohms": "Ω", "mohm": "mΩ", "kohm": "kΩ", "volt": "V",
    "volts": "V", "amp": "A", "amps": "A", "percent": "%", "inch": "in", "inches": "in", '"': "in",
    "feet": "ft", "sec": "s", "place": "places",
}  # fmt: skip
# Typed so, a unit of this quantity could be two things: ask, never guess.
AMBIGUOUS = {
    "in": ("pressure", "inHg or inH2O"),
    "mm": ("pressure", "mmHg or mmH2O"),
    "lb": ("torque", "lb·ft or lb·in"),
    "kg": ("torque", "kgf·m or kgf·cm"),
    "grad": ("angle", "degrees or gradians"),
}
LOOKALIKES = (("\u2126", "Ω"), ("º", "°"), ("⋅", "·"))  # what some keyboards give instead


def parse(text: str, quantity: str, default_unit: str = "") -> float:
    """A typed value in SI (angles in degrees, percent as percent, temperatures in K).

    "14 psi", "0,97 bar" and "97kPa" parse; a bare number is in `default_unit`.

    Raises:
        ValueError: no number or an ambiguous one, an unknown or ambiguous unit, a bare number without a
            default, or a temperature below absolute zero.
    """
    number, typed_unit = split(text)
    unit = unit_of(typed_unit, quantity) if typed_unit else default_unit
    if not unit:
        raise ValueError(
            f"In which unit? Type one of {', '.join(sorted(_scales(quantity)))} behind the number."
        )
    value = to_si(number, unit, quantity)
    if quantity == "temperature" and value < 0:
        raise ValueError(f"{number:g} {unit} is below absolute zero. Check the sign and the unit.")
    return value


def split(text: str) -> "tuple[float, str]":
    """Number and unit of a typed text; comma and point both separate decimals.

    "1,250" is one and a quarter to some and over a thousand to others, so it is asked, not read.
    """
    typed = " ".join(text.split()).replace("−", "-")
    found = re.match(r"^([+-]?\d*[.,]?\d*)(.*)$", typed)
    digits = found.group(1) if found else ""
    whole, comma, decimals = digits.partition(",")
    if comma and len(decimals) == 3 and 0 < len(whole.strip("+-")) <= 3 and whole.strip("+-0"):
        raise ValueError(
            f"“{digits}” can mean {whole}.{decimals} or {whole}{decimals}. Type it without a comma."
        )
    try:
        if len(digits) > LONGEST:
            raise ValueError
        return float(digits.replace(",", ".")), found.group(2).strip() if found else ""
    except ValueError:
        shown = f"“{typed}” is no number" if typed else "Nothing is typed"
        raise ValueError(f"{shown}. Type it as 12.5 or 12,5.") from None


def unit_of(typed: str, quantity: str) -> str:
    """The unit that a person means by what they typed behind a number."""
    scales = _scales(quantity)
    for lookalike, meant in LOOKALIKES:
        typed = typed.replace(lookalike, meant)
    if typed in scales:
        return typed
    short = typed.lower()
    for filler in (" ", ".", "-", "·", "*", "_"):
        short = short.replace(filler, "")
    doubt = AMBIGUOUS.get(short)
    if doubt and doubt[0] == quantity:
        raise ValueError(f"“{typed}” can mean {doubt[1]}. Type the whole unit.")
    alias = ALIASES.get(short, "")
    for unit in scales:
        if unit == alias or unit.lower() == short:
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
            return f"{(value - offset) / factor:.{digits}f} {unit}"
    raise ValueError(f"{unit} is no unit known here.")


def _scales(quantity: str) -> "dict[str, Scale]":
    if quantity not in UNITS:
        raise ValueError(f"{quantity} is no quantity known here.")
    return UNITS[quantity]
