"""Codes of five characters, such as P0299, and the two bytes that stand for them on a network.

Two bits of letter, two of the first digit, three hex digits. Source: SAE J2012 / ISO 15031-6. Some displays
add a third byte, the failure type, as in P0299-71; its classes (SAE J2012-DA) are as public lists agree on
them, 8 and 9 from memory.
"""

from pwa.engine.codes import frames

LETTERS = "PCBU"
PARTERS = " -:/"  # what may stand between a code and its failure type
# The high half of a failure type says what kind of failure it is.
FAILURES = (
    "general", "electrical", "signal", "frequency or pulse width", "inside the unit", "programming",
    "found by calculation", "mechanical", "message", "component",
)  # fmt: skip


def is_code(text: str) -> bool:
    """Whether it is a letter P, C, B or U, a digit 0 to 3 and three hex digits, all in capitals."""
    return len(text) == 5 and text[0] in LETTERS and text[1] in "0123" and frames.is_hex(text[2:])


def split(text: str) -> "tuple[str, int] | None":
    """Code and failure type of "P0299-71" or "P029971", in capitals; None if it is no such thing."""
    code, rest = text[:5], text[5:]
    digits = rest[1:] if rest[:1] and rest[0] in PARTERS else rest
    if not is_code(code) or len(digits) != 2 or not frames.is_hex(digits):
        return None
    return code, int(digits, 16)


def failure(byte: int) -> str:
    """What kind of failure a failure type is, "" when nobody knows."""
    return FAILURES[byte >> 4] if byte >> 4 < len(FAILURES) else ""


def from_bytes(high: int, low: int) -> str:
    """The five characters of a two-byte code, "" for none: 0x02 0x99 is P0299.

    Raises:
        ValueError: a value that is no byte.
    """
    if not (0 <= high <= 255 and 0 <= low <= 255):
        raise ValueError("Each byte is from 0 to 255 (hex 00 to FF).")
    if high == 0 and low == 0:
        return ""
    return f"{LETTERS[high >> 6]}{high >> 4 & 3}{high & 15:X}{low:02X}"


def to_bytes(code: str) -> "list[int]":
    """The two bytes of a code such as "P0299".

    Raises:
        ValueError: it is no such code.
    """
    typed = code.strip().upper()
    if not is_code(typed):
        raise ValueError(f"“{code}” is no code of the form P0299.")
    digits = int(typed[2:], 16)
    return [LETTERS.index(typed[0]) << 6 | int(typed[1]) << 4 | digits >> 8, digits & 0xFF]
