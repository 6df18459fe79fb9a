"""Units: reading what is typed into SI, and showing SI in the unit a person uses.

Factors are exact definitions (NIST Special Publication 811, appendix B), but the mercury and water columns
and the ones derived from them, which are conventional values to the digits given there.
"""

import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    Scale = tuple[float, float]

POUND_FORCE = 0.45359237 * 9.80665  # N
INCH = 0.0254  # m
PSI = POUND_FORCE / INCH**2  # Pa

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
        "lb·ft": (POUND_FORCE * 0.3048, 0.0),
        "lb·in": (POUND_FORCE * INCH, 0.0),
        "kgf·m": (9.80665, 0.0),
    },
    "voltage": {"V": (1.0, 0.0), "mV": (1e-3, 0.0)},
    "current": {"A": (1.0, 0.0), "mA": (1e-3, 0.0)},
    "resistance": {"Ω": (1.0, 0.0), "mΩ": (1e-3, 0.0), "kΩ": (1e3, 0.0)},
    "length": {"m": (1.0, 0.0), "mm": (1e-3, 0.0), "cm": (1e-2, 0.0), "in": (INCH, 0.0), "ft": (0.3048, 0.0)},
    "angle": {"°": (1.0, 0.0)},  # degrees throughout: nobody at a truck reads radians
    "percent": {"%": (1.0, 0.0)},
    "temperature": {"K": (1.0, 0.0), "°C": (1.0, 273.15), "°F": (5 / 9, 459.67 * 5 / 9)},
    "time": {"s": (1.0, 0.0), "ms": (1e-3, 0.0), "min": (60.0, 0.0), "h": (3600.0, 0.0)},
}
# What people type for a unit, in lower case without spaces, dots and dashes.
ALIASES = {
    "nm": "N·m", "ftlb": "lb·ft", "lbft": "lb·ft", "lbfft": "lb·ft", "ftlbf": "lb·ft", "ftlbs": "lb·ft",
    "lbin": "lb·in", "lbfin": "lb·in", "inlb": "lb·in", "inlbs": "lb·in", "kgm": "kgf·m", "kgfm": "kgf·m",
    "deg": "°", "degrees": "°", "grad": "°", "c": "°C", "f": "°F", "ohm": "Ω", "ohms": "Ω", "mohm": "mΩ",
    "kohm": "kΩ", "volt": "V", "volts": "V", "amp": "A", "amps": "A", "percent": "%", "inch": "in", '"': "in",
    "mmhg": "mmHg", "hg": "", "h2o": "",
}  # fmt: skip
# Typed so, a unit of this quantity could be two things: ask, never guess.
AMBIGUOUS = {
    "in": ("pressure", "inHg or inH2O"),
    "mm": ("pressure", "mmHg or mmH2O"),
    "lb": ("torque", "lb·ft or lb·in"),
}


def parse(text: str, quantity: str, default_unit: str = "") -> float:
    """A typed value in SI (angles in degrees, percent as percent).

    "14 psi", "0,97 bar" and "97kPa" parse; a bare number is in `default_unit`.

    Raises:
        ValueError: no number, an unknown or ambiguous unit, or a bare number without a default.
    """
    number, typed_unit = split(text)
    unit = unit_of(typed_unit, quantity) if typed_unit else default_unit
    if not unit:
        raise ValueError(
            f"In which unit? Type one of {', '.join(sorted(_scales(quantity)))} behind the number."
        )
    return to_si(number, unit, quantity)


def split(text: str) -> "tuple[float, str]":
    """Number and unit of a typed text; comma and point both separate decimals."""
    found = re.match(r"^([+-]?\d*[.,]?\d*)(.*)$", text.strip().replace("−", "-"))
    digits = found.group(1).replace(",", ".") if found else ""
    try:
        return float(digits), found.group(2).strip() if found else ""
    except ValueError:
        shown = f"“{text.strip()}” is no number" if text.strip() else "Nothing is typed"
        raise ValueError(f"{shown}. Type it as 12.5 or 12,5.") from None


def unit_of(typed: str, quantity: str) -> str:
    """The unit that a person means by what they typed behind a number."""
    scales = _scales(quantity)
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
            return unit
    raise ValueError(
        f"“{typed}” is no unit of {quantity} known here. Use one of {', '.join(sorted(scales))}."
    )


def to_si(number: float, unit: str, quantity: str) -> float:
    factor, offset = _scale(unit, quantity)
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


def _scale(unit: str, quantity: str) -> "Scale":
    scales = _scales(quantity)
    if unit not in scales:
        raise ValueError(f"{unit} is no unit of {quantity} known here.")
    return scales[unit]
