"""What a technician types as a code."""

import pytest


@pytest.fixture(scope="module")
def codes(twin):
    return twin("pwa.engine.codes.dtc")


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


BAM = ["1CECFF00#200A0002FFCAFE00", "1CEBFF00#0114FF8102070266", "1CEBFF00#02001001FFFFFFFF"]


@pytest.mark.parametrize(
    "typed",
    [
        "641/7 102/16",
        "641/7, 102/16",
        "SPN 641 FMI 7\nSPN 102 FMI 16",
        "641 7; 102 16",
        "SPN 641 FMI 7, SPN 102 FMI 16",
        " ".join(BAM),
        "\n".join(f"(1700000000.00{row}) can0 {line}" for row, line in enumerate(BAM)),
        "can0  1CECFF00   [8]  20 0A 00 02 FF CA FE 00\ncan0  1CEBFF00   [8]  01 14 FF 81 02 07 02 66\n"
        "can0  1CEBFF00   [8]  02 00 10 01 FF FF FF FF",
        "1CECFF00 20 0A 00 02 FF CA FE 00\n1CEBFF00 01 14 FF 81 02 07 02 66\n"
        "1cebff00 02 00 10 01 ff ff ff ff",
    ],
)
def test_several_codes_are_read_at_once(codes, typed):
    assert [code["key"] for code in codes.read(typed)] == ["641/7", "102/16"]


@pytest.mark.parametrize(
    ("typed", "keys"),
    [
        ("P0299 U010C", ["P0299", "U010C"]),
        ("c0123 b1234 b2345 c3456", ["C0123", "B1234", "B2345", "C3456"]),  # not ten bytes in hex
        ("641/7, P0299", ["641/7", "P0299"]),
        ("0x0299", ["P0299"]),
        ("0xC1 0x0C", ["U010C"]),
        ("0x0000", []),
        ("P3FFF", ["P3FFF"]),
        ("519999/31", ["519999/31"]),
    ],
)
def test_what_nobody_knows_is_kept_as_it_was_typed(codes, typed, keys):
    assert [code["key"] for code in codes.read(typed)] == keys


@pytest.mark.parametrize(
    "typed", ["P0299-71", "p0299 71", "P029971", "P0299:71", "P0299/71", "0x029971", "0x02 0x99 0x71"]
)
def test_a_failure_type_behind_a_code_is_kept(codes, typed):
    assert [(code["key"], code["failure"]) for code in codes.read(typed)] == [("P0299", 0x71)]


def test_a_report_tells_who_sent_it_and_whether_it_is_active(codes):
    text = "18FECA00#04FF81020702FFFF 18FECB03#00FF66001001FFFF 0CF00400#FFFFFF00000000FF"
    read = codes.reports(text)
    assert [(report["message"], report["source"]) for report in read["reports"]] == [("DM1", 0), ("DM2", 3)]
    assert read["reports"][0]["lamps"]["warning"] == "on"
    assert [code["key"] for code in read["reports"][1]["codes"]] == ["102/16"]
    assert read["problems"] == []


def test_a_message_repeated_each_second_is_told_once(codes):
    assert len(codes.reports("18FECA00#04FF81020702FFFF " * 60)["reports"]) == 1


def test_a_message_that_cannot_be_read_leaves_the_others(codes):
    read = codes.reports("18FECA00#04FF8102 18FECA03#04FF81020702FFFF 1CEBFF09#0114FF8102070266")
    assert [report["source"] for report in read["reports"]] == [3]
    assert ["address 9" in problem or "address 0" in problem for problem in read["problems"]] == [True, True]


@pytest.mark.parametrize("typed", [BAM[0], BAM[1], "0CF00400#FFFFFF00000000FF", "\n".join(BAM[:2])])
def test_frames_without_a_whole_message_say_so(codes, typed):
    with pytest.raises(ValueError, match="No whole DM1 or DM2"):
        codes.read(typed)


def test_the_filling_of_the_last_of_several_frames_is_left_out(codes):
    four = "14 FF 81 02 07 02 66 00 10 01 67 00 0F 01 69 00 03 01 FF FF FF"
    assert [code["key"] for code in codes.read(four)] == ["641/7", "102/16", "103/15", "105/3"]


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
        ("641/7 hello", "no code known here"),
        ("P0299-7", "no code known here"),
        ("P0299-7G", "no code known here"),
        ("641/7 102", "no code known here"),
        ("04 FF 81 02 07 02 00 00", "left over"),
    ],
)
def test_what_is_no_code_says_what_to_type(codes, typed, says):
    with pytest.raises(ValueError, match=says):
        codes.read(typed)


@pytest.mark.parametrize(("text", "says"), [("18FECA001", "no identifier"), ("3FFFFFFF", "29 bits")])
def test_an_identifier_out_of_range_is_refused(twin, text, says):
    with pytest.raises(ValueError, match=says):
        twin("pwa.engine.codes.frames").identifier(text)


@pytest.mark.parametrize(
    ("name", "given", "says"),
    [
        ("decode_dm1", [[0, 255]], "at least 6 bytes"),
        ("decode_dm1", [[0, 255, 256, 0, 0, 0]], "from 0 to 255"),
        ("encode_dtc", [524288, 1, 1], "SPN"),
        ("encode_dtc", [641, 32, 1], "FMI"),
        ("encode_dtc", [641, 7, 128], "occurrence"),
    ],
)
def test_bytes_and_numbers_out_of_range_are_refused(codes, name, given, says):
    with pytest.raises(ValueError, match=says):
        getattr(codes, name)(*given)


def test_two_bytes_and_codes_out_of_range_are_refused(twin):
    j2012 = twin("pwa.engine.codes.j2012")
    with pytest.raises(ValueError, match="from 0 to 255"):
        j2012.from_bytes(256, 0)
    for typed in ("P02", "P4000", "P029G", "Q0299", ""):
        with pytest.raises(ValueError, match="no code of the form"):
            j2012.to_bytes(typed)


@pytest.mark.parametrize(
    ("byte", "kind"), [(0x11, "electrical"), (0x71, "mechanical"), (0x87, "message"), (0xF0, "")]
)
def test_a_failure_type_names_its_kind(twin, byte, kind):
    assert twin("pwa.engine.codes.j2012").failure(byte) == kind
