"""Trouble codes from what a technician types: J1939-73 messages and pairs, J2012 codes.

Sources: SAE J1939-73 (DM1 layout, conversion methods), SAE J2012 / ISO 15031-6 (two-byte codes).
"""

import re
from typing import TypedDict

FORMS = "Type a pair such as 641/7, a code such as P0299, or the bytes of a DM1 message."
LAMPS = (("malfunction", 6), ("stop", 4), ("warning", 2), ("protect", 0))
LAMP_STATES = ("off", "on", "error", "not available")
FLASHES = ("slow flash", "fast flash", "reserved", "")
NOT_COUNTED = 127  # an occurrence count that the sender does not have
HIGHEST_SPN = 524287
LETTERS = "PCBU"
HEX = "0123456789ABCDEF"


class Code(TypedDict):
    """One code. `candidates` holds every SPN the bytes may mean (an old conversion method)."""

    kind: str  # "j1939" or "j2012"
    key: str  # "641/7" or "P0299"
    spn: "int | None"
    fmi: "int | None"
    occurrences: "int | None"  # None when unknown
    lamps: "list[str]"
    candidates: "list[int]"


class Dm1(TypedDict):
    """A decoded DM1 or DM2 message: lamp name -> state, and the codes in the order sent."""

    lamps: "dict[str, str]"
    codes: "list[Code]"


class Identifier(TypedDict):
    """The parts of a 29-bit J1939 identifier; `destination` is 255 when everybody is meant."""

    priority: int
    pgn: int
    source: int
    destination: int


def read(text: str) -> "list[Code]":
    """Every code in what was typed.

    Raises:
        ValueError: nothing in it is a code.
    """
    typed = " ".join(text.upper().split())
    # An SPN alone must not be cut in two: something has to stand between the two numbers.
    pair = re.match(r"^(SPN)?[ :]*(\d+)([ /\-,:;]*FMI[ :]*|[ /\-,:;]+)(\d+)$", typed)
    payload = _bytes(typed)
    if payload and len(payload) >= 6:
        return decode_dm1(payload)["codes"]
    if pair:
        return [_j1939(int(pair.group(2)), int(pair.group(4)), None, [], None)]
    if re.match(r"^(SPN)?[ :]*\d+$", typed) and len(typed.replace(" ", "")) < 10:
        raise ValueError("An SPN alone is half a code. Type its FMI behind it, such as 641/7.")
    if len(typed) == 5 and typed[0] in LETTERS and typed[1] in "0123" and _is_hex(typed[2:]):
        return [_j2012(typed)]
    if payload:
        raise ValueError("A DM1 message has at least 6 bytes: two of lamps and four for each code.")
    raise ValueError(f"“{text.strip()}” is no code known here. {FORMS}" if typed else FORMS)


def decode_dm1(payload: "list[int]") -> Dm1:
    """Lamps and codes of a DM1 or DM2 payload, joined from its frames if it had several (J1939-73).

    The payload is two lamp bytes and four bytes a code; bytes of filling (255) may follow a single one.
    "No code" is sent as all zeros or, in an older form, all ones; both give none.

    Raises:
        ValueError: fewer than 6 bytes, a value that is no byte, or a last code that is cut.
    """
    if any(not 0 <= value <= 255 for value in payload):
        raise ValueError("Each byte is from 0 to 255 (hex 00 to FF).")
    if len(payload) < 6:
        raise ValueError("A DM1 message has at least 6 bytes: two of lamps and four for each code.")
    body = payload[2:]
    if len(body) == 6 and body[4:] == [255, 255]:
        body = body[:4]
    if len(body) % 4:
        raise ValueError(f"{len(body) % 4} bytes are left over: the message is cut or has bytes too many.")
    lamps = {name: _lamp(payload[0], payload[1], shift) for name, shift in LAMPS}
    lit = [name for name, _ in LAMPS if lamps[name].startswith("on")]
    groups = [body[start : start + 4] for start in range(0, len(body), 4)]
    codes = [_dtc(group, lit) for group in groups if group not in ([0, 0, 0, 0], [255, 255, 255, 255])]
    return {"lamps": lamps, "codes": codes}


def encode_dtc(spn: int, fmi: int, occurrences: int = NOT_COUNTED) -> "list[int]":
    """The four bytes of a code in the current conversion method (J1939-73, version 4).

    Raises:
        ValueError: SPN above 524287, FMI above 31 or count above 127.
    """
    _check(spn, fmi)
    if not 0 <= occurrences <= NOT_COUNTED:
        raise ValueError("An occurrence count is from 0 to 126, or 127 for unknown.")
    return [spn & 0xFF, spn >> 8 & 0xFF, spn >> 11 & 0xE0 | fmi, occurrences]


def j2012_from_bytes(high: int, low: int) -> str:
    """The five characters of a two-byte code, "" for none (J2012): 0x02 0x99 is P0299."""
    if not (0 <= high <= 255 and 0 <= low <= 255):
        raise ValueError("Each byte is from 0 to 255 (hex 00 to FF).")
    if high == 0 and low == 0:
        return ""
    return f"{LETTERS[high >> 6]}{high >> 4 & 3}{HEX[high & 15]}{HEX[low >> 4]}{HEX[low & 15]}"


def j2012_to_bytes(code: str) -> "list[int]":
    """The two bytes of a code such as "P0299".

    Raises:
        ValueError: it is not a letter P, C, B or U, a digit 0 to 3 and three hex digits.
    """
    typed = code.strip().upper()
    if len(typed) != 5 or typed[0] not in LETTERS or typed[1] not in "0123" or not _is_hex(typed[2:]):
        raise ValueError(f"“{code}” is no code of the form P0299.")
    digits = int(typed[2:], 16)
    return [LETTERS.index(typed[0]) << 6 | int(typed[1]) << 4 | digits >> 8, digits & 0xFF]


def identifier(text: str) -> Identifier:
    """The parts of a 29-bit identifier in hex (J1939-21): below PF 240 the PS byte is the destination.

    Raises:
        ValueError: no hex, or more than 29 bits.
    """
    if not text or len(text) > 8 or not _is_hex(text.upper()):
        raise ValueError(f"“{text}” is no identifier: up to eight hex digits.")
    value = int(text, 16)
    if value >> 29:
        raise ValueError(f"“{text}” is more than 29 bits; the first digit is 0 or 1.")
    source, specific, form, page = value & 0xFF, value >> 8 & 0xFF, value >> 16 & 0xFF, value >> 24 & 3
    broadcast = form >= 240
    return {
        "priority": value >> 26 & 7,
        "pgn": page << 16 | form << 8 | (specific if broadcast else 0),
        "source": source,
        "destination": 255 if broadcast else specific,
    }


def _dtc(group: "list[int]", lit: "list[str]") -> Code:
    first, second, third, fourth = group
    count = fourth & 0x7F
    spn = first | second << 8 | (third & 0xE0) << 11
    candidates = None
    if fourth & 0x80:  # one of three older layouts, which the bytes alone cannot tell apart
        candidates = [spn, first << 11 | second << 3 | third >> 5, second << 11 | first << 3 | third >> 5]
    return _j1939(spn, third & 0x1F, None if count == NOT_COUNTED else count, lit, candidates)


def _j1939(
    spn: int, fmi: int, occurrences: "int | None", lamps: "list[str]", candidates: "list[int] | None"
) -> Code:
    _check(spn, fmi)
    return {
        "kind": "j1939",
        "key": f"{spn}/{fmi}",
        "spn": spn,
        "fmi": fmi,
        "occurrences": occurrences,
        "lamps": lamps,
        "candidates": candidates or [spn],
    }


def _j2012(code: str) -> Code:
    return {
        "kind": "j2012",
        "key": code,
        "spn": None,
        "fmi": None,
        "occurrences": None,
        "lamps": [],
        "candidates": [],
    }


def _check(spn: int, fmi: int) -> None:
    if not 0 <= spn <= HIGHEST_SPN:
        raise ValueError(f"An SPN is from 0 to {HIGHEST_SPN}, not {spn}.")
    if not 0 <= fmi <= 31:
        raise ValueError(f"An FMI is from 0 to 31, not {fmi}.")


def _lamp(status: int, flash: int, shift: int) -> str:
    state = LAMP_STATES[status >> shift & 3]
    flashing = FLASHES[flash >> shift & 3] if state == "on" else ""
    return f"{state}, {flashing}" if flashing else state


def _bytes(typed: str) -> "list[int]":
    """The bytes of a hex text, with or without spaces; empty when it is none."""
    digits = typed.replace(" ", "").replace("0X", "").replace(",", "")
    if not digits or len(digits) % 2 or not _is_hex(digits):
        return []
    return [int(digits[start : start + 2], 16) for start in range(0, len(digits), 2)]


def _is_hex(text: str) -> bool:
    return bool(text) and all(digit in HEX for digit in text)
