"""The tables of codes say what the standards order them to say."""

import pytest

from tests.helpers.trade import LOADED

CODES = LOADED.codes

# SAE J1939-73, failure mode identifiers, as many public lists agree on them. The four levels 15 to 18 are the
# ones that lists get wrong: high least, high moderate, low least, low moderate.
FMI = [
    ("0", "system", "far too high"), ("1", "system", "far too low"), ("2", "either", "jumps"),
    ("3", "circuit", "voltage too high"), ("4", "circuit", "voltage too low"), ("5", "circuit", "broken"),
    ("6", "circuit", "shorted to ground"), ("7", "mechanical", "does not follow"), ("8", "circuit", "pulse"),
    ("9", "network", "message"), ("10", "either", "faster or slower"), ("11", "unknown", "not told"),
    ("12", "device", "broken itself"), ("13", "calibration", "calibrated"), ("14", "unknown", "instruction"),
    ("15", "system", "little high"), ("16", "system", "too high, warning"), ("17", "system", "little low"),
    ("18", "system", "too low, warning"), ("19", "network", "over the network"), ("20", "either", "upwards"),
    ("21", "either", "downwards"), ("31", "unknown", "condition"),
]  # fmt: skip
# Codes of SAE J2012 whose class decides where a technician looks first.
DTC = [
    ("P0045", "circuit"), ("P0046", "either"), ("P0047", "circuit"), ("P0048", "circuit"),
    ("P003A", "calibration"), ("P0069", "sensor"), ("P0234", "system"), ("P0299", "system"),
    ("P2263", "system"), ("P2562", "circuit"), ("P2563", "either"), ("P0560", "supply"),
    ("P0641", "supply"), ("U0100", "network"), ("U010C", "network"),
]  # fmt: skip


@pytest.mark.parametrize(("fmi", "kind", "words"), FMI)
def test_failure_modes_mean_what_j1939_73_says(fmi, kind, words):
    assert CODES.fmi[fmi].kind == kind
    assert words in CODES.fmi[fmi].text


def test_reserved_failure_modes_are_given_no_meaning():
    assert all("reserved" in CODES.fmi[str(fmi)].text for fmi in range(22, 31))


@pytest.mark.parametrize(("code", "kind"), DTC)
def test_codes_of_j2012_have_their_class(code, kind):
    assert CODES.dtc[code].kind == kind


def test_the_number_27_is_the_egr_valve_and_not_the_turbo():
    # In SAE J1587 the subsystem 27 is the turbo's actuator; in SAE J1939 the parameter 27 is the EGR valve.
    assert "EGR" in CODES.spn["27"].text
    assert {"641", "2795", "103", "620", "1079", "1080", "639", "3509"} <= set(CODES.spn)
