"""A record's text as everybody reads it, and the first of two verdicts: whether it is a record at all.

What is none is refused at the door, with a sentence, and stays with who sent it. What is one is kept and sent
on, whatever it holds; whether it is understood, and may decide anything, is the second verdict (jobs.counts).
The shop's server, its file of jobs and a phone's file of jobs ask here, so a text gets one answer.
"""

import json
import sys
from typing import TYPE_CHECKING

from pwa.app.contract import RECORD_BYTES, RECORD_DEPTH, RECORD_MOST
from pwa.app.record import envelope

if TYPE_CHECKING:
    from typing import Any

NO_JSON, DEEP, ENDLESS = "This is not JSON", "The JSON is nested too deeply.", "A number in it has no end."
HALF = "The text is not valid Unicode."
UNKNOWN = "\ufffd"  # stands for half a surrogate pair


def judge(text: str) -> "tuple[Any, str]":
    """The record in a text and "", or None and a sentence on why the text is no record."""
    try:
        if bytes_of(text) > RECORD_MOST:
            return None, f"The record is larger than {RECORD_MOST // 1024} KB."
        record = value(text)
    except UnicodeError:
        return None, HALF
    except ValueError as error:
        return None, str(error)
    wrong = envelope.wrong(record)
    return (None, wrong) if wrong else (joined(record), "")


def value(text: "str | bytes") -> "Any":
    """As `json.loads`, alike on all hosts: no NaN, nothing nested deeply, no number without an end.

    MicroPython is lenient with commas and colons, so a phone lets JavaScript parse a stranger's text first.

    Raises:
        ValueError: a sentence that says which.
    """
    try:
        found = json.loads(text, **_STRICT)
    except ValueError as error:
        raise ValueError(f"{NO_JSON}: {error}.") from None
    except RuntimeError:  # CPython's parser recurses
        raise ValueError(DEEP) from None
    wrong = _wrong(found, RECORD_DEPTH)
    if wrong:
        raise ValueError(wrong)
    return found


def read(text: str) -> "Any":
    """What a text that some door let in says, with whole letters; raises as `json.loads`."""
    found = json.loads(text)
    return joined(found) if "\\ud" in text or "\\uD" in text else found


def bytes_of(text: str) -> int:
    """Its length in UTF-8.

    Raises:
        ValueError: half a surrogate pair is in it, which UTF-8 cannot say.
    """
    raw = text.encode()  # where CPython raises; MicroPython writes the half
    if b"\xed" in raw and _has_halves(text):
        raise ValueError(HALF)
    return len(raw)


def is_long(text: str) -> bool:
    """Whether a record has more than a phone is sent; one that an older version wrote is kept where it is."""
    return 4 * len(text) > RECORD_BYTES and bytes_of(text) > RECORD_BYTES


def joined(value: "Any") -> "Any":
    """The same, with each pair of surrogates as the one letter that it means, as CPython reads it.

    MicroPython reads `\\ud83d\\udd27`, which is how the desk writes an emoji, as its two halves. Half a pair
    alone can be sent nowhere, so it becomes U+FFFD on both.
    """
    if isinstance(value, dict):
        return {joined(key): joined(value[key]) for key in value}
    if isinstance(value, list):
        return [joined(item) for item in value]
    if not isinstance(value, str) or not _has_halves(value):
        return value
    letters, high = [], 0
    for letter in value:
        code = ord(letter)
        if high and 0xDC00 <= code < 0xE000:
            letters.append(chr(0x10000 + ((high - 0xD800) << 10) + code - 0xDC00))
            high = 0
            continue
        if high:
            letters.append(UNKNOWN)
        high = code if 0xD800 <= code < 0xDC00 else 0
        if not high:
            letters.append(UNKNOWN if 0xDC00 <= code < 0xE000 else letter)
    return "".join(letters) + (UNKNOWN if high else "")


def _has_halves(text: str) -> bool:
    return any("\ud7ff" < letter < "\ue000" for letter in text)


def _wrong(value: "Any", levels: int) -> str:
    """What no host can take in a JSON value, "" if nothing."""
    if levels < 0:
        return DEEP
    if isinstance(value, (dict, list)):
        for item in value.values() if isinstance(value, dict) else value:
            wrong = _wrong(item, levels - 1)
            if wrong:
                return wrong
        return ""
    return ENDLESS if isinstance(value, (int, float)) and not _ends(value) else ""


def _ends(number: float) -> bool:
    try:
        return float(number) - float(number) == 0
    except OverflowError:
        return False


def _no_constant(name: str) -> None:
    raise ValueError(f"{name} is not a JSON number")


# MicroPython's parser is given nothing, and refuses NaN by itself.
_IS_SMALL = sys.implementation.name == "micropython"
_STRICT: "dict[str, Any]" = {} if _IS_SMALL else {"parse_constant": _no_constant}
