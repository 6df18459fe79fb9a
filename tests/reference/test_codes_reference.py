"""Trouble codes against published layouts and two independent decoders."""

import cantools.j1939
import j1939
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pwa.engine.codes import dtc as codes
from pwa.engine.codes import frames, j2012, transport

# Payloads worked by hand from the byte layout of SAE J1939-73 (DM1, conversion version 4).
WORKED = [
    ("04 FF 66 00 03 05 FF FF", ["warning"], [(102, 3, 5)]),
    ("04 FF 81 02 07 02 FF FF", ["warning"], [(641, 7, 2)]),
    ("50 FF B6 12 83 08 FF FF", ["malfunction", "stop"], [(266934, 3, 8)]),
    ("40 FF CF 0C E4 7F FF FF", ["malfunction"], [(462031, 4, None)]),
    ("14 FF 81 02 07 02 66 00 10 01", ["stop", "warning"], [(641, 7, 2), (102, 16, 1)]),
    ("00 FF 00 00 00 00 FF FF", [], []),
    ("00 FF FF FF FF FF FF FF", [], []),  # the older form of "no code": from memory
]


@pytest.fixture(scope="module")
def both(twin):
    return twin("pwa.engine.codes.dtc")


@pytest.fixture(scope="module")
def two_bytes(twin):
    return twin("pwa.engine.codes.j2012")


@pytest.mark.parametrize(("text", "lamps", "dtcs"), WORKED)
def test_dm1_payloads_worked_from_sae_j1939_73(both, text, lamps, dtcs):
    message = both.decode_dm1([int(byte, 16) for byte in text.split()])
    assert [(code["spn"], code["fmi"], code["occurrences"]) for code in message["codes"]] == dtcs
    assert [name for name, state in message["lamps"].items() if state.startswith("on")] == lamps


# Frames of a broadcast announced message (SAE J1939-21): the announcement gives 10 bytes and PGN 65226, each
# data frame a sequence number and 7 bytes. By hand from the layout.
BAM = [(0x1CECFF00, "200A0002FFCAFE00"), (0x1CEBFF00, "0114FF8102070266"), (0x1CEBFF00, "02001001FFFFFFFF")]


def test_frames_of_sae_j1939_21_decode_once_they_are_joined(both):
    read = both.reports(" ".join(f"{identifier:08X}#{data}" for identifier, data in BAM))
    assert read["problems"] == []
    assert [(code["key"], code["occurrences"]) for code in read["reports"][0]["codes"]] == [
        ("641/7", 2),
        ("102/16", 1),
    ]


def frames_of(payload, source):
    """A message as SAE J1939-21 sends it to everybody: announced, then seven bytes a frame, filled up."""
    parts = [payload[start : start + 7] for start in range(0, len(payload), 7)]
    yield (
        0x1CECFF00 | source,
        bytes([0x20, len(payload) & 255, len(payload) >> 8, len(parts), 255, 0xCA, 0xFE, 0]),
    )
    for number, part in enumerate(parts, 1):
        yield 0x1CEBFF00 | source, bytes([number]) + part.ljust(7, b"\xff")


@settings(deadline=None, max_examples=30)
@given(st.binary(min_size=9, max_size=1785), st.integers(0, 253))
def test_joining_agrees_with_the_library_can_j1939(payload, source):
    theirs = []
    unit = j1939.ElectronicControlUnit(send_message=lambda *_: None)
    unit.subscribe(lambda priority, pgn, sender, timestamp, data: theirs.append((pgn, sender, bytes(data))))
    sent = list(frames_of(payload, source))
    for identifier, data in sent:
        unit.notify(identifier, bytearray(data), 0.0)
    unit.stop()
    ours = transport.join([(frames.identifier(f"{identifier:08X}"), list(data)) for identifier, data in sent])
    assert ours["problems"] == []
    joined = [(message["pgn"], message["source"], bytes(message["payload"])) for message in ours["messages"]]
    assert joined == theirs == [(65226, source, payload)]


def test_an_old_conversion_method_gives_all_three_readings(both):
    # SAE J1939-73 versions 1 to 3, by hand: 102·2048 = 208896; 102·8 = 816; 102.
    code = both.decode_dm1([0x44, 0xFF, 0x66, 0x00, 0x04, 0x85, 0xFF, 0xFF])["codes"][0]
    assert code["candidates"] == [102, 208896, 816]


def test_lamps_flash_as_sae_j1939_73_codes_them(both):
    assert both.decode_dm1([0x55, 0x00, 0x81, 2, 7, 1, 255, 255])["lamps"]["stop"] == "on, slow flash"
    assert both.decode_dm1([0x40, 0x7F, 0x81, 2, 7, 1, 255, 255])["lamps"]["malfunction"] == "on, fast flash"


# The library says "not available" of an error and of what is reserved too.
LIBRARY = {"off": "off", "on": "on", "on, slow flash": "slow", "on, fast flash": "fast"}
STATES = {
    j1939.DtcLamp.OFF: "off",
    j1939.DtcLamp.ON: "on",
    j1939.DtcLamp.ON_SLOW_FLASH: "slow",
    j1939.DtcLamp.ON_FAST_FLASH: "fast",
    j1939.DtcLamp.NA: "none",
}


class Listener:
    """Stands for the application that the library's DM1 reader listens to."""

    def subscribe(self, callback):
        self.hear = callback


@given(
    st.integers(0, 255),
    st.integers(0, 255),
    st.lists(
        st.tuples(st.integers(1, 524286), st.integers(0, 31), st.integers(0, 126)), min_size=2, max_size=60
    ),
)
def test_lamps_and_codes_of_any_length_agree_with_the_library_can_j1939(status, flash, sent):
    payload = [status, flash]
    for code in sent:
        payload += codes.encode_dtc(*code)
    listener, theirs = Listener(), []
    j1939.Dm1(listener).subscribe(lambda source, lamps, dtcs, timestamp: theirs.append((lamps, dtcs)))
    listener.hear(6, 65226, 0, 0.0, payload)
    lamps, dtcs = theirs[0]
    ours = codes.decode_dm1(payload)
    assert [(code["spn"], code["fmi"], code["occurrences"]) for code in ours["codes"]] == [
        (dtc["spn"], dtc["fmi"], dtc["oc"]) for dtc in dtcs
    ]
    for name, key in (("malfunction", "mil"), ("stop", "rsl"), ("warning", "awl"), ("protect", "pl")):
        assert LIBRARY.get(ours["lamps"][name], "none") == STATES[lamps[key]]


@given(st.integers(0, 524287), st.integers(0, 31), st.integers(0, 127))
def test_encoding_agrees_with_the_library_can_j1939(spn, fmi, count):
    theirs = j1939.diagnostic_messages.DTC(spn=spn, fmi=fmi, oc=count)
    ours = codes.encode_dtc(spn, fmi, count)
    assert int.from_bytes(bytes(ours), "little") == theirs.dtc


@given(st.integers(0, 2**31 - 1))
def test_decoding_agrees_with_the_library_can_j1939(raw):
    theirs = j1939.diagnostic_messages.DTC(dtc=raw)
    read = codes.decode_dm1([0x04, 0xFF, *raw.to_bytes(4, "little"), 0xFF, 0xFF])["codes"]
    if raw:  # the library reads all zeros as a code of zeros; J1939-73 says it is none
        count = None if theirs.oc == 127 else theirs.oc
        assert [(c["spn"], c["fmi"], c["occurrences"]) for c in read] == [(theirs.spn, theirs.fmi, count)]


# SAE J1939-73, versions 1 to 3, by hand: one code in each layout, and where its SPN stands in `candidates`.
@given(st.integers(1, 524286), st.integers(0, 31))
def test_each_older_layout_is_among_the_candidates(spn, fmi):
    low, middle, high = spn & 255, spn >> 8 & 255, spn >> 16
    first = [spn >> 11, spn >> 3 & 255, (spn & 7) << 5 | fmi]
    second = [spn >> 3 & 255, spn >> 11, (spn & 7) << 5 | fmi]
    for index, group in enumerate(([low, middle, high << 5 | fmi], first, second)):
        code = codes.decode_dm1([4, 255, *group, 0x85, 255, 255])["codes"][0]
        assert (code["candidates"][index], code["fmi"], code["occurrences"]) == (spn, fmi, 5)


@given(st.integers(1, 524286), st.integers(0, 31), st.integers(0, 126))
def test_decoding_turns_encoding_back(spn, fmi, count):
    read = codes.decode_dm1([0x04, 0xFF, *codes.encode_dtc(spn, fmi, count), 0xFF, 0xFF])["codes"]
    assert [(code["spn"], code["fmi"], code["occurrences"]) for code in read] == [(spn, fmi, count)]


@pytest.mark.parametrize("text", ["18FECA00", "0CF00400", "18FEF600", "10FDA300", "18FDD500", "18EAFF21"])
def test_identifiers_agree_with_the_library_cantools(both, text):
    theirs = cantools.j1939.frame_id_unpack(int(text, 16))
    ours = frames.identifier(text)
    assert (ours["priority"], ours["source"]) == (theirs.priority, theirs.source_address)
    group = theirs.pdu_specific if theirs.pdu_format >= 240 else 0  # else it is the destination
    assert ours["pgn"] == cantools.j1939.pgn_pack(theirs.reserved, theirs.data_page, theirs.pdu_format, group)


# SAE J2012 / ISO 15031-6: two bits of letter, two of the first digit, three hex digits.
@pytest.mark.parametrize(
    ("pair", "code"),
    [((0x00, 0x45), "P0045"), ((0x02, 0x99), "P0299"), ((0x25, 0x63), "P2563"), ((0xC1, 0x0C), "U010C"),
     ((0x41, 0x23), "C0123"), ((0x92, 0x34), "B1234"), ((0xC0, 0x73), "U0073"), ((0x22, 0x6B), "P226B")],
)  # fmt: skip
def test_two_byte_codes_of_sae_j2012(two_bytes, pair, code):
    assert two_bytes.from_bytes(*pair) == code
    assert two_bytes.to_bytes(code) == list(pair)


def test_every_two_byte_code_but_none_goes_there_and_back():
    for value in range(1, 65536):
        code = j2012.from_bytes(value >> 8, value & 255)
        assert j2012.to_bytes(code) == [value >> 8, value & 255]
    assert j2012.from_bytes(0, 0) == ""
