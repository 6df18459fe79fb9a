"""Case codes: there and back, every single mistake caught and located, on both interpreters."""

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pwa.engine.case_code import bits, checked_text, codec, reed_solomon
from tests.helpers.trade import CONTENT

TABLE = CONTENT["case_code"]
SMALL = {
    "drives": ["electric", "pneumatic"],
    "places": ["roadside", "bay"],
    "states": ["assembled", "open"],
    "findings": [
        {"key": "supply", "outcomes": ["ok", "high"]},
        {"key": "sweep", "outcomes": ["smooth", "sticks", "stopped"]},
        {"key": "smoke", "outcomes": ["no", "yes"]},
    ],
}


def said(finding, outcome, state="assembled", **weights):
    return {"finding": finding, "outcome": outcome, "state": state, "weights": weights}


def of(table, numbers):
    """Findings drawn by number: (finding, outcome, state)."""
    found = []
    for finding, outcome, state in numbers:
        item = table["findings"][finding]
        outcomes = item["outcomes"]
        found.append(said(item["key"], outcomes[outcome % len(outcomes)], table["states"][state]))
    return found


FINDINGS = st.lists(
    st.tuples(st.integers(0, len(TABLE["findings"]) - 1), st.integers(0, 5), st.integers(0, 1)),
    unique_by=lambda item: item[0],
)


@given(FINDINGS, st.sampled_from(TABLE["drives"]), st.sampled_from(TABLE["places"]))
def test_whatever_was_found_comes_back(numbers, drive, place):
    findings = of(TABLE, numbers)
    code = codec.encode(drive, place, findings, TABLE)
    case = codec.decode(code, TABLE)
    assert (case["drive"], case["place"], case["newer"], case["mended"]) == (drive, place, 0, [])
    assert sorted(case["findings"], key=lambda item: item["finding"]) == sorted(
        findings, key=lambda item: item["finding"]
    )
    assert codec.encode(drive, place, case["findings"], TABLE) == code


@given(st.lists(st.tuples(st.integers(0, 4000), st.integers(0, 4)), max_size=40), st.integers(1, 8))
def test_numbers_of_any_size_come_back_from_their_bits(numbers, width):
    writer = bits.Writer()
    for value, order in numbers:
        writer.number(value, order)
    reader = bits.Reader(writer.symbols(width), width)
    assert [reader.number(order) for _, order in numbers] == [value for value, _ in numbers]
    assert len(reader.rest()) < width
    assert not any(reader.rest())


@given(st.dictionaries(st.sampled_from(["smooth", "sticks", "stopped"]), st.floats(1e-6, 1), min_size=1))
def test_weights_come_back_to_a_thousandth_of_the_largest(weights):
    code = codec.encode("electric", "bay", [said("sweep", "sticks", **weights)], SMALL)
    back = codec.decode(code, SMALL)["findings"][0]["weights"]
    most = max(weights.values())
    assert back.keys() == weights.keys()
    for key, weight in weights.items():
        assert back[key] == pytest.approx(weight / most, abs=1 / 1023)


CODES = [
    codec.encode("electric", "roadside", of(TABLE, []), TABLE),
    codec.encode("electric", "bay", of(TABLE, [(n, 1, 0) for n in range(0, 110, 15)]), TABLE),
    codec.encode("hydraulic", "bay", of(TABLE, [(n, n, n % 2) for n in range(0, 110, 4)]), TABLE),
    codec.encode("pneumatic", "bay", of(TABLE, [(n, 1, 0) for n in range(110)]), TABLE),
]


@pytest.mark.parametrize("code", CODES, ids=len)
def test_every_wrong_character_is_caught_and_located(code, request):
    """Every one at every place. In the longest, whose six blocks are read like the two of the one before, a
    fourth at each place, and another fourth at the next; with `--rounds 4` all there too."""
    every = max(1, 4 // request.config.getoption("--rounds")) if code == CODES[-1] else 1
    for at in range(len(code)):
        for wrong in (checked_text.ALPHABET + checked_text.NOT_USED)[at % every :: every]:
            if wrong != code[at]:
                case = codec.decode(code[:at] + wrong + code[at + 1 :], TABLE)
                assert case["code"] == code
                assert case["mended"] == [{"at": at + 1, "read": wrong, "meant": code[at]}]


@pytest.mark.parametrize("code", CODES, ids=len)
def test_every_swap_of_neighbours_is_caught_and_located(code):
    for at in range(len(code) - 1):
        if code[at] != code[at + 1]:
            case = codec.decode(code[:at] + code[at + 1] + code[at] + code[at + 2 :], TABLE)
            assert case["code"] == code
            assert [mended["at"] for mended in case["mended"]] == [at + 1, at + 2]


def test_every_pair_of_wrong_characters_is_caught_or_located():
    """One block: no two wrong characters may pass for another code."""
    code = CODES[1]
    assert len(code) <= checked_text.BLOCK
    chance = random.Random(7)
    for first in range(len(code)):
        for second in range(first + 1, len(code)):
            for _ in range(12):
                wrong = list(code)
                for at in (first, second):
                    wrong[at] = chance.choice(checked_text.ALPHABET.replace(code[at], ""))
                try:
                    assert codec.decode("".join(wrong), TABLE)["code"] == code
                except ValueError as error:
                    assert "More than one character" in str(error)


@pytest.mark.parametrize("code", CODES[1:], ids=len)
def test_a_character_left_out_or_said_twice_is_no_other_case(code):
    for at in range(len(code)):
        for damaged in (code[:at] + code[at + 1 :], code[: at + 1] + code[at:]):
            with pytest.raises(ValueError, match=r"wrong|whole"):
                codec.decode(damaged, TABLE)


def test_blocks_left_out_or_in_another_order_are_caught():
    code = CODES[3]
    blocks = [code[at : at + checked_text.BLOCK] for at in range(0, len(code), checked_text.BLOCK)]
    assert len(blocks) >= 3
    assert len(blocks[0]) == len(blocks[1])
    for damaged in ([blocks[1], blocks[0], *blocks[2:]], blocks[:-1], blocks[1:], [blocks[0], *blocks[2:]]):
        with pytest.raises(ValueError, match=r"groups|this code"):
            codec.decode("".join(damaged), TABLE)


@settings(max_examples=300)
@given(st.text(max_size=80) | st.text(checked_text.ALPHABET, max_size=80))
def test_any_other_text_is_refused_with_a_sentence(text):
    try:
        codec.decode(text, TABLE)
    except ValueError as error:
        assert str(error).endswith(".")


def test_case_spaces_dashes_and_look_alikes_do_not_count():
    code = CODES[2]
    typed = "-".join(checked_text.groups(code)).lower().replace("0", "o").replace("1", "l")
    assert codec.decode(f"Truck 7, 14:05, case code: {typed}.", TABLE)["mended"] == []


def test_a_code_of_a_newer_version_is_read_but_for_what_is_newer():
    grown = {**SMALL, "findings": [*SMALL["findings"], {"key": "new", "outcomes": ["no", "yes"]}]}
    grown["findings"] = [dict(item) for item in grown["findings"]]
    grown["findings"][0] = {"key": "supply", "outcomes": ["ok", "high", "none"]}
    findings = [said("supply", "none"), said("sweep", "sticks", stopped=0.5, sticks=1.0), said("new", "yes")]
    case = codec.decode(codec.encode("electric", "bay", findings, grown), SMALL)
    assert [item["finding"] for item in case["findings"]] == ["sweep"]
    assert case["newer"] == 2


@pytest.mark.parametrize(("drive", "place"), [("hydraulic", "bay"), ("electric", "turbo off")])
def test_a_drive_or_place_of_a_newer_version_asks_for_the_update(drive, place):
    with pytest.raises(ValueError, match="newer version"):
        codec.decode(codec.encode(drive, place, [], TABLE), SMALL)


@pytest.mark.parametrize(
    ("findings", "says"),
    [
        ([said("colour", "red")], "no number for the finding “colour”"),
        ([said("sweep", "purple")], "no number for the outcome of sweep “purple”"),
        ([said("sweep", "smooth", "melted")], "state of assembly “melted”"),
        ([said("sweep", "smooth"), said("sweep", "sticks")], "twice"),
        ([said("sweep", "smooth", smooth=0.0)], "Weights"),
        ([said("sweep", "smooth", blue=0.5)], "“blue”"),
    ],
)
def test_what_has_no_number_is_refused(twin, findings, says):
    with pytest.raises(ValueError, match=says):
        twin("pwa.engine.case_code.codec").encode("electric", "bay", findings, SMALL)


def test_both_interpreters_write_and_read_the_same(twin):
    code_of, text = twin("pwa.engine.case_code.codec"), twin("pwa.engine.case_code.checked_text")
    findings = of(TABLE, [(n, n, n % 2) for n in range(0, 110, 7)])
    findings.append(said("supply-drop", "high", ok=0.013, high=0.87))
    code = code_of.encode("electric", "bay", findings, TABLE)
    assert code_of.decode(code.lower(), TABLE)["code"] == code
    assert code_of.decode("ÄßİſŁ" + code[1] + code[0] + code[2:], TABLE)["code"] == code
    assert "".join(text.groups(code)) == code
    for at in range(0, len(code), 5):
        code_of.decode(code[:at] + "U" + code[at + 1 :], TABLE)
    for damaged in (code[3:], code[:-7], "", "3", "U" * 30, code[:10] + "000" + code[13:]):
        with pytest.raises(ValueError, match=r"\."):
            code_of.decode(damaged, TABLE)


def test_a_block_holds_no_more_than_the_field(twin):
    with pytest.raises(ValueError, match="27 symbols"):
        twin("pwa.engine.case_code.reed_solomon").checks([1] * 28)
    assert reed_solomon.mend([0] * 31) == [0] * 31
