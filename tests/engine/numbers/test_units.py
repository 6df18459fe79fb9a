"""What a technician types as a quantity, and what is shown back."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pwa.engine.numbers import units as module

PAIRS = [(quantity, unit) for quantity, scales in module.UNITS.items() for unit in scales]


@pytest.fixture(scope="module")
def units(twin):
    return twin("pwa.engine.numbers.units")


@pytest.mark.parametrize(
    ("typed", "quantity", "value"),
    [
        ("14 psi", "pressure", 96526.6),
        ("0,97 bar", "pressure", 97000),
        ("97kPa", "pressure", 97000),
        ("29,5 inHg", "pressure", 99898.5),
        ("-3 psi", "pressure", -20684.3),
        ("−3 psi", "pressure", -20684.3),
        ("33 lb·ft", "torque", 44.742),
        ("33 lbf ft", "torque", 44.742),
        ("33 ft-lbs", "torque", 44.742),
        ("45 Nm", "torque", 45),
        ("45 N⋅m", "torque", 45),
        ("12.6 volts", "voltage", 12.6),
        ("60 \u2126", "resistance", 60),
        ("2 kOhm", "resistance", 2000),
        ("16 in", "length", 0.4064),
        ("-40 F", "temperature", 233.15),
        ("20 ºC", "temperature", 293.15),
        ("90 deg", "angle", 90),
        ("55 %", "percent", 55),
        ("2 places", "places", 2),
        ("980 hPa", "pressure", 98000),
        ("25 inH20", "pressure", 6227.05),
        ("3″ Hg", "pressure", 10159.2),
        ("12 mm H2O", "pressure", 117.6798),
        ("2 kg/cm2", "pressure", 196133),
        ("30 psig", "gauge pressure", 206842.7),
        ("30 psi", "gauge pressure", 206842.7),
        ("2,1 bar(g)", "gauge pressure", 210000),
        ("-5 kPa gauge", "gauge pressure", -5000),
        ("44.7 psia", "absolute pressure", 308195.6),
        ("303 kPa abs", "absolute pressure", 303000),
        ("3.03 bar absolute", "absolute pressure", 303000),
        ("5 280 ft", "length", 1609.344),
        ("5280'", "length", 1609.344),
        ("1,234.5 m", "length", 1234.5),
        ("1.234,5 m", "length", 1234.5),
        ("101\u202f325 Pa", "pressure", 101325),
        ("1.3 km", "length", 1300),
        ("1.234 mm", "length", 0.001234),
        ("20 litres", "volume", 0.02),
        ("800 cc", "volume", 0.0008),
        ("5 US gal", "volume", 0.018927),
        ("5 US gallons", "volume", 0.018927),
        ("1 cu ft", "volume", 0.0283168),
        ("15 sec", "time", 15),
        ("12 cycles", "cycles", 12),
    ],
)
def test_a_number_reads_with_its_unit(units, typed, quantity, value):
    assert units.parse(typed, quantity) == pytest.approx(value, rel=1e-5)


def test_a_bare_number_is_in_the_unit_beside_the_field(units):
    assert units.parse("1.2", "voltage", "V") == 1.2
    assert units.parse("400", "length", "mm") == pytest.approx(0.4)
    assert units.parse("30 cm", "length", "mm") == pytest.approx(0.3)


def test_a_bare_number_without_a_unit_is_asked(units):
    with pytest.raises(ValueError, match="In which unit"):
        units.parse("1.2", "pressure")


@pytest.mark.parametrize(
    ("typed", "quantity", "says"),
    [
        ("28 in", "pressure", "inHg or inH2O"),
        ("33 lb", "torque", "lb·ft or lb·in"),
        ("8 kg", "torque", "kgf·m or kgf·cm"),
        ("30 grad", "angle", "gradians"),
        ("5 MV", "voltage", "mega or milli"),
        ("2 MΩ", "resistance", "mega or milli"),
        ("1,250 psi", "pressure", "can mean 1.250 or 1250"),
        ("14 p", "pressure", "Pa or psi"),
        ("14 p", "gauge pressure", "Pa or psi"),
        ('28"', "pressure", "inHg or inH2O"),
        ("28 in abs", "absolute pressure", "inHg or inH2O"),
        ("30 psig", "pressure", "says gauge"),
        ("44 psia", "pressure", "says absolute"),
        ("44 psia", "gauge pressure", "asked gauge.*Take the air pressure outside off"),
        ("30 psig", "absolute pressure", "asked absolute.*Add the air pressure outside"),
        ("-30 psi", "absolute pressure", "below vacuum"),
        ("20 °", "temperature", "°C or °F"),
        ("5 gal", "volume", "US gal or imp gal"),
        ("1.500 m", "length", "1.5 m or 1500 m"),
        ("5,280 ft", "length", "can mean 5.280 or 5280"),
        ("1,234", "pressure", "can mean 1.234 or 1234"),
        ("1.2.3 bar", "pressure", "is no number"),
        ("12 34 kPa", "pressure", "no unit of pressure"),
        ("5 g", "pressure", "no unit of pressure"),
        ("5 V", "pressure", "no unit of pressure"),
        ("5 furlongs", "length", "no unit of length"),
        ("5 V", "luck", "no quantity"),
        ("-300 °C", "temperature", "absolute zero"),
        ("", "voltage", "Nothing is typed"),
        ("none", "voltage", "is no number"),
        ("9999999999999999 V", "voltage", "is no number"),
    ],
)
def test_what_is_unclear_is_asked_and_never_guessed(units, typed, quantity, says):
    with pytest.raises(ValueError, match=says):
        units.parse(typed, quantity)


def test_three_decimals_behind_a_zero_are_decimals(units):
    assert units.parse("0,975", "pressure", "bar") == pytest.approx(97500)


def test_values_show_with_their_unit(units):
    assert units.show(33.8954, "N·m") == "33.9 N·m"
    assert units.show(33.8954, "lb·ft", 0) == "25 lb·ft"
    assert units.show(373.15, "°C") == "100.0 °C"


def test_the_quantity_of_a_unit_is_known(units):
    assert units.quantity_of("inHg") == "pressure"
    assert units.quantity_of("kPa gauge") == "gauge pressure"
    with pytest.raises(ValueError, match="no unit known"):
        units.quantity_of("stone")


def test_units_of_different_things_do_not_convert(units):
    with pytest.raises(ValueError, match="same thing"):
        units.convert(1, "V", "psi")
    with pytest.raises(ValueError, match="no unit known"):
        units.show(1, "stone")


@given(st.integers(-(10**9), 10**9), st.sampled_from([",.", ".,", " .", " ,", "\u202f,"]))
def test_thousands_parted_in_any_way_read_the_same(cents, signs):
    thousands, decimal = signs
    typed = f"{cents / 100:,.2f}".replace(",", "t").replace(".", decimal).replace("t", thousands)
    assert module.parse(typed, "pressure", "Pa") == pytest.approx(cents / 100)


@given(st.text("0123456789.,+- kPabrsingHmcO2\"'°FC", max_size=14), st.sampled_from(sorted(module.UNITS)))
def test_whatever_is_typed_is_read_or_asked(typed, quantity):
    try:
        assert isinstance(module.parse(typed, quantity), float)
    except ValueError as error:
        assert str(error).endswith((".", "?"))


@given(st.sampled_from(PAIRS), st.integers(-9999, 9999))
def test_what_is_shown_reads_back(pair, tenths):
    quantity, unit = pair
    number = abs(tenths) / 10 if quantity in ("temperature", "absolute pressure") else tenths / 10
    value = module.to_si(number, unit, quantity)
    shown = module.show(value, unit)
    assert module.parse(shown, quantity) == pytest.approx(value, rel=1e-9, abs=1e-6)


@given(st.sampled_from(PAIRS), st.sampled_from(PAIRS), st.floats(-1e6, 1e6))
def test_conversion_goes_there_and_back(one, other, value):
    if one[0] != other[0]:
        return
    there = module.convert(value, one[1], other[1])
    assert module.convert(there, other[1], one[1]) == pytest.approx(value, rel=1e-9, abs=1e-6)
