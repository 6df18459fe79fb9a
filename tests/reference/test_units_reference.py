"""Units against NIST SP 811 as printed, and against the library pint."""

import pint
import pytest

THEIRS = {
    "Pa": "pascal", "kPa": "kilopascal", "bar": "bar", "mbar": "millibar", "psi": "psi", "inHg": "inHg",
    "mmHg": "mmHg", "inH2O": "inch_H2O_39F", "N·m": "newton * meter", "lb·ft": "force_pound * foot",
    "lb·in": "force_pound * inch", "kgf·m": "force_kilogram * meter", "V": "volt", "mV": "millivolt",
    "A": "ampere", "mA": "milliampere", "Ω": "ohm", "mΩ": "milliohm", "kΩ": "kiloohm", "m": "meter",
    "mm": "millimeter", "cm": "centimeter", "in": "inch", "ft": "foot", "°": "degree", "K": "kelvin",
    "mmH2O": "water * standard_gravity * millimeter", "kgf/cm²": "force_kilogram / centimeter ** 2",
    "km": "kilometer", "m³": "meter ** 3", "L": "liter", "mL": "milliliter", "US gal": "gallon",
    "imp gal": "imperial_gallon", "ft³": "foot ** 3", "in³": "inch ** 3",
    "°C": "degC", "°F": "degF", "s": "second", "ms": "millisecond", "min": "minute", "h": "hour",
}  # fmt: skip
BASE = {"pressure": "Pa", "torque": "N·m", "voltage": "V", "current": "A", "resistance": "Ω", "length": "m",
        "angle": "°", "temperature": "K", "time": "s", "volume": "m³"}  # fmt: skip


@pytest.fixture(scope="module")
def units(twin):
    return twin("pwa.engine.numbers.units")


# NIST Special Publication 811 (2008), appendix B.8, factors as printed there.
@pytest.mark.parametrize(
    ("unit", "base", "printed"),
    [
        ("psi", "Pa", 6.894757e3),
        ("inHg", "Pa", 3.386389e3),
        ("mmHg", "Pa", 1.333224e2),
        ("lb·ft", "N·m", 1.355818),
        ("lb·in", "N·m", 1.129848e-1),
        ("kgf·m", "N·m", 9.80665),
        ("in", "m", 2.54e-2),
        ("ft", "m", 3.048e-1),
        ("mmH2O", "Pa", 9.80665),
        ("kgf/cm²", "Pa", 9.80665e4),
        ("US gal", "m³", 3.785412e-3),
        ("imp gal", "m³", 4.54609e-3),
        ("ft³", "m³", 2.831685e-2),
        ("in³", "m³", 1.638706e-5),
    ],
)
def test_factors_printed_in_nist_sp_811(units, unit, base, printed):
    assert units.convert(1, unit, base) == pytest.approx(printed, rel=5e-7)


def test_every_unit_agrees_with_the_library_pint(units):
    registry = pint.UnitRegistry()
    for quantity, base in BASE.items():
        for unit in units.UNITS[quantity]:
            for number in (0.0, 1.0, 97.25):
                theirs = registry.Quantity(number, THEIRS[unit]).to(THEIRS[base]).magnitude
                assert units.to_si(number, unit, quantity) == pytest.approx(theirs, rel=2e-6, abs=1e-9), unit


def test_two_hundred_celsius_is_392_fahrenheit(units):
    # By the definition of the two scales, NIST SP 811 appendix B.9.
    assert units.convert(200, "°C", "°F") == pytest.approx(392, abs=1e-9)
