"""What a technician types as a code."""

import pytest


@pytest.fixture(scope="module")
def codes(twin):
    return twin("pwa.engine.codes")


@pytest.mark.parametrize(
    "typed",
    [
        "641/7",
        "641-7",
        "641 7",
        "641 / 7",
        "SPN 641 FMI 7",
        "spn641 fmi7",
        "641FMI7",
        " SPN:641, FMI:7 ",
        "SPN 641\n7",
    ],
)
def test_a_pair_reads_in_every_way_it_is_written(codes, typed):
    assert [code["key"] for code in codes.read(typed)] == ["641/7"]


@pytest.mark.parametrize(("typed", "key"), [("p0299", "P0299"), (" U010C ", "U010C"), ("P2563", "P2563")])
def test_a_two_byte_code_reads_in_any_case(codes, typed, key):
    assert codes.read(typed)[0]["key"] == key


def test_bytes_read_with_or_without_spaces(codes):
    spaced = codes.read("14 FF 81 02 07 02 66 00 10 01")
    assert [code["key"] for code in spaced] == ["641/7", "102/16"]
    assert codes.read("14FF8102070266001001") == spaced


def test_no_code_in_the_bytes_gives_none(codes):
    assert codes.read("00 FF 00 00 00 00 FF FF") == []


def test_no_code_in_the_bytes_of_an_older_sender_gives_none(codes):
    assert codes.read("00 FF FF FF FF FF FF FF") == []


def test_an_old_conversion_method_keeps_every_candidate(codes):
    assert codes.read("44 FF 66 00 04 85 FF FF")[0]["candidates"] == [102, 208896, 816]


@pytest.mark.parametrize("typed", ["641", "SPN 641", "SPN6417"])
def test_an_spn_alone_is_never_cut_in_two(codes, typed):
    with pytest.raises(ValueError, match="half a code"):
        codes.read(typed)


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("", "Type a pair"),
        ("hello", "no code known here"),
        ("X0299", "no code known here"),
        ("P4299", "no code known here"),
        ("524288/3", "SPN is from"),
        ("641/32", "FMI"),
        ("04 FF 66", "at least 6 bytes"),
        ("04 FF 66 00 03 05 81 02 07 FF FF", "left over"),
    ],
)
def test_what_is_no_code_says_what_to_type(codes, typed, says):
    with pytest.raises(ValueError, match=says):
        codes.read(typed)


@pytest.mark.parametrize(
    ("name", "given", "says"),
    [
        ("decode_dm1", [[0, 255]], "at least 6 bytes"),
        ("decode_dm1", [[0, 255, 256, 0, 0, 0]], "from 0 to 255"),
        ("encode_dtc", [524288, 1, 1], "SPN"),
        ("encode_dtc", [641, 32, 1], "FMI"),
        ("encode_dtc", [641, 7, 128], "occurrence"),
        ("j2012_from_bytes", [256, 0], "from 0 to 255"),
        ("j2012_to_bytes", ["P02"], "no code of the form"),
        ("identifier", ["18FECA001"], "no identifier"),
        ("identifier", ["3FFFFFFF"], "29 bits"),
    ],
)
def test_bytes_and_numbers_out_of_range_are_refused(codes, name, given, says):
    with pytest.raises(ValueError, match=says):
        getattr(codes, name)(*given)
