"""Whether records that came in a file may be kept: as strict as the shop's server is with phones."""

import json
from typing import TYPE_CHECKING, TypedDict

from pwa.app.record.chain import digest

if TYPE_CHECKING:
    from typing import Any

    from pwa.app.protocol import Device

LONGEST_ID = 64
LONGEST_AUTHOR = 200
LONGEST_KIND = 40
MOST_REPLACED = 1000
SAFE_INTEGER = 2**53 - 1  # the largest that JavaScript keeps exactly
DIGITS = "0123456789"
LOWER = "abcdefghijklmnopqrstuvwxyz"
NAME = DIGITS + LOWER + LOWER.upper() + "-"

ALTERED = "It does not follow the entry before it in its device's chain: one of the two was changed."
AHEAD = "This phone wrote it itself, but has forgotten it. Take the file in at the desk."


class Judged(TypedDict):
    """A sentence for each text, "" for one to keep; `last` is the number and hash of each device's newest."""

    refused: "list[str]"
    last: "dict[str, list[Any]]"


def judge(texts: "list[str]", device: "Device", last: "dict[str, list[Any]]") -> Judged:
    """Judge texts in the order of each device's chain; `last` is what the call before returned, or {}."""
    refused = []
    for text in texts:
        record = json.loads(text)
        wrong = _wrong_field(record)
        if not wrong:
            wrong = _wrong_place(record, device, last)
            if not wrong:
                last[record["device"]] = [record["seq"], digest(text)]
        refused.append(wrong)
    return {"refused": refused, "last": last}


def _wrong_field(record: "Any") -> str:
    if not isinstance(record, dict):
        return "It is no entry."
    for name, fits in FIELDS:
        if name not in record or not fits(record[name]):
            return f"Its field {name} is missing or wrong."
    return ""


def _wrong_place(record: "dict[str, Any]", device: "Device", last: "dict[str, list[Any]]") -> str:
    if record["device"] == device["id"] and record["seq"] > device["seq"]:
        return AHEAD
    seq, newest = last.get(record["device"], [0, ""])
    return ALTERED if record["seq"] == seq + 1 and record["prev"] != newest else ""


def _is_id(value: "Any") -> bool:
    return _made_of(value, NAME, LONGEST_ID)


def _made_of(value: "Any", letters: str, longest: int) -> bool:
    is_text = isinstance(value, str) and 0 < len(value) <= longest
    return is_text and all(letter in letters for letter in value)


def _is_number(value: "Any") -> bool:
    is_whole = isinstance(value, int) and not isinstance(value, bool)
    return is_whole and -SAFE_INTEGER <= value <= SAFE_INTEGER


def _is_hash(value: "Any") -> bool:
    return value == "" or (_made_of(value, DIGITS + "abcdef", 64) and len(value) == 64)


def _is_clock(value: "Any") -> bool:
    if not isinstance(value, str) or len(value) > 40:
        return False
    ms, point, count = value.partition(".")
    return len(ms) == 15 and len(count) >= 7 and point == "." and _made_of(ms + count, DIGITS, 40)


def _is_kind(value: "Any") -> bool:
    return _made_of(value, LOWER + DIGITS + "-", LONGEST_KIND) and value[0] in LOWER


def _are_ids(value: "Any") -> bool:
    return isinstance(value, list) and len(value) <= MOST_REPLACED and all(_is_id(item) for item in value)


FIELDS = (
    ("id", _is_id),
    ("job", _is_id),
    ("device", _is_id),
    ("author", lambda value: isinstance(value, str) and len(value) <= LONGEST_AUTHOR),
    ("seq", lambda value: _is_number(value) and value >= 1),
    ("prev", _is_hash),
    ("clock", _is_clock),
    ("time", _is_number),
    ("kind", _is_kind),
    ("replaces", _are_ids),
    ("data", lambda value: isinstance(value, dict)),
)
