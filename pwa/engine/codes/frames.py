"""CAN frames and bytes in hex as people copy them from a display or a log."""

from typing import TypedDict

DIGITS = "0123456789ABCDEF"
IDENTIFIER = 8  # hex digits of a 29-bit identifier as logs write it


class Identifier(TypedDict):
    """The parts of a 29-bit J1939 identifier; `destination` is 255 when everybody is meant."""

    priority: int
    pgn: int
    source: int
    destination: int


def numbers(text: str) -> "list[int]":
    """The bytes of a hex text, with or without spaces, commas and 0x; empty when it is none."""
    digits = text.upper().replace("0X", "")
    for filler in (" ", ",", "\n", "\t", "\r"):
        digits = digits.replace(filler, "")
    if len(digits) % 2 or not is_hex(digits):
        return []
    return [int(digits[start : start + 2], 16) for start in range(0, len(digits), 2)]


def is_hex(text: str) -> bool:
    """Whether it is hex digits in capitals and nothing else."""
    return bool(text) and all(digit in DIGITS for digit in text)


def identifier(text: str) -> Identifier:
    """The parts of a 29-bit identifier in hex (J1939-21): below PF 240 the PS byte is the destination.

    Raises:
        ValueError: no hex, or more than 29 bits.
    """
    if not text or len(text) > 8 or not is_hex(text.upper()):
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


def read(text: str) -> "list[tuple[str, list[int]]]":
    """Identifier and bytes of each frame in it; whatever stands around them (time, interface) is left out.

    Known are `18FECA00#04FF...`, `18FECA00 [8] 04 FF ...` and `18FECA00 04 FF ...`.
    """
    words = text.upper().split()
    found: list[tuple[str, list[int]]] = []
    for index, word in enumerate(words):
        identifier, mark, data = word.partition("#")
        if not _is_identifier(identifier):
            continue
        if mark:
            found.append((identifier, numbers(data)))
        elif _bytes_after(words, index):
            found.append((identifier, _bytes_after(words, index)))
    return found


def _bytes_after(words: "list[str]", index: int) -> "list[int]":
    """The bytes behind an identifier, up to 8 and up to the count in brackets if there is one."""
    start, most = index + 1, 8
    if start < len(words) and words[start].startswith("[") and words[start][1:-1].isdigit():
        start, most = start + 1, int(words[start][1:-1])
    found: list[int] = []
    for word in words[start : start + min(8, most)]:
        if len(word) != 2 or not is_hex(word):
            break
        found.append(int(word, 16))
    return found


def _is_identifier(word: str) -> bool:
    return len(word) == IDENTIFIER and word[0] in "01" and is_hex(word)
