"""The server and a phone that takes in a file judge every record alike, on both interpreters."""

import json

import pytest

from server.store import entries

WHOLE = {
    "v": 1, "id": "0190-a", "job": "0190-b", "device": "Bay2", "author": "Bay 2 phone", "seq": 3,
    "prev": "a" * 64, "clock": "001764065263000.0000000", "time": 1_764_065_263_000, "kind": "note",
    "replaces": ["0190-c"], "data": {"text": "Words."},
}  # fmt: skip
DEVICE = {"id": "mine", "name": "Roadside phone", "seq": 0, "head": "", "clock": ""}
GOOD = [
    {}, {"colour": "red"}, {"author": ""}, {"author": "x" * 200}, {"author": "\U0001f527" * 200},
    {"author": "é ✓ \U0001f527"}, {"seq": 1, "prev": ""},
    {"seq": 2**53 - 1}, {"prev": ""}, {"clock": "0" * 15 + "." + "9" * 24},
    {"clock": "9" * 15 + "." + "9" * 24}, {"time": 0}, {"time": -1},
    {"kind": "a"}, {"kind": "x" * 40}, {"kind": "a-1-"}, {"replaces": []}, {"replaces": ["a"] * 1000},
    {"data": {}}, {"data": {"text": [None, 1.5, {"deep": []}]}}, {"id": "-"}, {"id": "a" * 64},
]  # fmt: skip
BAD = {
    "id": ["", "../x", "a" * 65, 7, None, "é", "a b", "a\n", ["a"]],
    "job": [None, "", "x" * 65],
    "device": ["<b>", 1],
    "author": [1, None, "x" * 201, "\ud800", "\udd27", "\udd27\ud83d", "a\ud800b", ["x"]],
    "seq": [0, -1, 1.0, 1.5, True, "1", 2**53, None],
    "prev": ["zz", "a" * 63, "A" * 64, "a" * 65, None, 0],
    "clock": [
        "1.2", "0" * 15 + ":" + "0" * 7, "0" * 15 + "." + "0" * 50, "0" * 15 + ".000000", "", 7,
        "٣" * 15 + ".0000000",
    ],
    "time": ["now", 1.0, True, 2**53, -(2**53), None],
    "kind": ["Note", "1", "", "-a", "a" * 41, "a_b", None, 3],
    "replaces": ["x", ["<"], ["a"] * 1001, [1], None, {}],
    "data": [[], None, "words", 1],
}  # fmt: skip


def verdicts(twin, record):
    """What the server and a phone say of a record, "" where they keep it."""
    text = json.dumps(record)
    try:
        entries.read(text)
        server = ""
    except ValueError as error:
        server = str(error)
    return server, twin("pwa.app.record.incoming").judge([text], DEVICE, {})["refused"][0]


@pytest.mark.parametrize("change", GOOD, ids=str)
def test_both_keep(twin, change):
    assert verdicts(twin, {**WHOLE, **change}) == ("", "")


@pytest.mark.parametrize("name", BAD)
def test_both_refuse_and_name_the_field(twin, name):
    says = f"Its field {name} is missing or wrong."
    for value in BAD[name]:
        assert verdicts(twin, {**WHOLE, name: value}) == (says, says), value
    without = {field: value for field, value in WHOLE.items() if field != name}
    assert verdicts(twin, without) == (says, says)


@pytest.mark.parametrize("record", [[], 7, "words", None, True])
def test_both_refuse_what_is_no_entry(twin, record):
    assert verdicts(twin, record) == ("It is no entry.", "It is no entry.")


@pytest.mark.parametrize(
    ("kind", "data", "photo"),
    [
        ("photo", {"sha256": "a" * 64}, "a" * 64),
        ("photo", {"sha256": "A" * 64}, ""),
        ("photo", {"sha256": 7}, ""),
        ("photo", {}, ""),
        ("note", {"sha256": "a" * 64}, ""),
        ("dream", {"sha256": "a" * 64}, ""),
    ],
)
def test_a_photo_is_named_by_the_field_of_its_kind(kind, data, photo):
    assert entries.read(json.dumps({**WHOLE, "kind": kind, "data": data})).photo == photo
