"""What every record must be before anybody keeps it, whatever its kind: the fields that all versions have.

The shop's server holds what phones and files send against it, and a phone what files bring. Fields that are
not named here are left alone.
"""

from typing import TYPE_CHECKING

from pwa.app.kinds.table import KINDS
from pwa.app.record.chain import MOST_REPLACED, WITHDRAWN

if TYPE_CHECKING:
    from collections.abc import Callable
    from typing import Any

LONGEST_ID = 64
LONGEST_AUTHOR = 200
LONGEST_KIND = 40
LONGEST_CLOCK = 64  # more than a clock has (chain.py): older versions counted on from what anybody wrote
SAFE_INTEGER = 2**53 - 1  # the largest that JavaScript keeps exactly
DIGITS = "0123456789"
HEX = DIGITS + "abcdef"
LOWER = "abcdefghijklmnopqrstuvwxyz"
NAME = DIGITS + LOWER + LOWER.upper() + "-"


def wrong(record: "Any") -> str:
    """A sentence on the first thing that is wrong, "" if nothing is."""
    if not isinstance(record, dict):
        return "It is no entry."
    for name, fits in FIELDS:
        if name not in record or not fits(record[name]):
            return f"Its field {name} is missing or wrong."
    is_whole = WITHDRAWN not in record or _are_remains(record)
    return "" if is_whole else "It is withdrawn and still holds something."


def photo(kind: str, data: "Any") -> str:
    """SHA-256 of the photo that a record brings, or ""."""
    known = KINDS.get(kind)
    sha256 = data.get(known.photo) if known and known.photo else ""
    return str(sha256) if is_sha256(sha256) else ""


def is_id(value: "Any") -> bool:
    return _made_of(value, NAME, LONGEST_ID)


def is_sha256(value: "Any") -> bool:
    return _made_of(value, HEX, 64) and len(value) == 64


def _are_remains(record: "Any") -> bool:
    """A withdrawn record states a hash, and holds nothing but the hash of its photo."""
    data = record["data"]
    sha256 = photo(record["kind"], data)
    return is_sha256(record[WITHDRAWN]) and list(data.values()) == ([sha256] if sha256 else [])


def _made_of(value: "Any", letters: str, longest: int) -> bool:
    is_text = isinstance(value, str) and 0 < len(value) <= longest
    return is_text and all(letter in letters for letter in value)


def _is_author(value: "Any") -> bool:
    return isinstance(value, str) and 0 <= _length(value) <= LONGEST_AUTHOR


def _length(text: str) -> int:
    """In characters; -1 with half a surrogate pair, which JSON can smuggle in and UTF-8 cannot say.

    MicroPython reads a whole pair as its two halves.
    """
    count, opened = 0, False
    for letter in text:
        is_low = 0xDC00 <= ord(letter) <= 0xDFFF
        if is_low != opened:
            return -1
        opened = 0xD800 <= ord(letter) < 0xDC00
        count += 0 if is_low else 1
    return -1 if opened else count


def _is_number(value: "Any") -> bool:
    is_whole = isinstance(value, int) and not isinstance(value, bool)
    return is_whole and -SAFE_INTEGER <= value <= SAFE_INTEGER


def _is_clock(value: "Any") -> bool:
    if not isinstance(value, str) or len(value) > LONGEST_CLOCK:
        return False
    ms, point, count = value.partition(".")
    return len(ms) == 15 and len(count) >= 7 and point == "." and _made_of(ms + count, DIGITS, LONGEST_CLOCK)


def _is_kind(value: "Any") -> bool:
    return _made_of(value, LOWER + DIGITS + "-", LONGEST_KIND) and value[0] in LOWER


def _are_ids(value: "Any") -> bool:
    return isinstance(value, list) and len(value) <= MOST_REPLACED and all(is_id(item) for item in value)


FIELDS: "tuple[tuple[str, Callable[[Any], bool]], ...]" = (
    ("id", is_id),
    ("job", is_id),
    ("device", is_id),
    ("author", _is_author),
    ("seq", lambda value: _is_number(value) and value >= 1),
    ("prev", lambda value: value == "" or is_sha256(value)),
    ("clock", _is_clock),
    ("time", _is_number),
    ("kind", _is_kind),
    ("replaces", _are_ids),
    ("data", lambda value: isinstance(value, dict)),
)
