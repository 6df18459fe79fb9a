"""Frames as the program candump writes them: into a file, and on the console.

File:     (1436509052.249713) can0 18FEF600#FFFFFFFFFFFFFFFF
Console:   can0  18FEF600   [8]  FF FF FF FF FF FF FF FF    (with a time before it if asked for)

Each function returns time (None if there is none), identifier in hex, whether it has 29 bits, and the bytes;
no bytes (None) for a frame that carries none of its own: a remote request or an error.
"""

from binascii import unhexlify
from typing import TYPE_CHECKING

from pwa.engine.logs import clock

if TYPE_CHECKING:
    Frame = tuple[float | None, bytes, bool, bytes | None]

ERROR_FLAG = 0x20000000
BRACKET, FLAGGED = ord("("), ord("2")  # from 2 on the first digit has flags, not the identifier


def file_frame(line: bytes) -> "Frame":
    """A line of the file form.

    Raises:
        ValueError: it is none.
    """
    try:
        when, _, frame = line.split()
        identifier, mark, digits = frame.partition(b"#")
        # What nearly every line is, with as little work as can be: there are 100,000 of them.
        if mark and len(identifier) == 8 and identifier[0] < FLAGGED and when[0] == BRACKET:
            return float(when[1:-1]), identifier, True, unhexlify(digits)
    except ValueError:
        pass  # odd or damaged: looked at below
    return _odd_frame(line)


def console_frame(line: bytes) -> "Frame":
    """A line of the console form.

    Raises:
        ValueError: it is none, or it has fewer bytes than it says.
    """
    head, opened, rest = line.partition(b"[")
    size, closed, tail = rest.partition(b"]")
    words = head.split()
    if not opened or not closed or len(words) < 2 or not size.strip().isdigit():
        raise ValueError("A channel, an identifier and a count in brackets are expected.")
    identifier, count = words[-1], int(size)
    wide = len(identifier) == 8
    when = _when(head) if words[0][:1] == b"(" else None
    if tail.strip().startswith(b"remote") or tail.strip().startswith(b"ERRORFRAME"):
        return when, identifier, wide, None
    data = _bytes(b"".join(tail.split()[:count]))
    if len(data) != count:
        raise ValueError(f"{count} bytes are announced and {len(data)} are there.")
    return when, identifier, wide, None if wide and int(identifier, 16) & ERROR_FLAG else data


def _odd_frame(line: bytes) -> "Frame":
    parts = line.split()
    if len(parts) != 3 and not (len(parts) == 4 and parts[3] in (b"R", b"T")):
        raise ValueError("A time, a channel and a frame are expected.")
    when = parts[0]
    if when[:1] != b"(" or when[-1:] != b")":
        raise ValueError("The time stands in no brackets.")
    identifier, mark, digits = parts[2].partition(b"#")
    if not mark:
        raise ValueError("The frame has no #.")
    wide = len(identifier) == 8
    if not wide and len(identifier) != 3:
        raise ValueError("The identifier has neither 3 nor 8 digits.")
    if wide and int(identifier, 16) & ERROR_FLAG:
        return float(when[1:-1]), identifier, True, None
    return float(when[1:-1]), identifier, wide, _data(digits)


def _when(head: bytes) -> float:
    text = head[head.find(b"(") + 1 : head.find(b")")]
    return clock.seconds(text) if b":" in text else float(text)


def _data(digits: bytes) -> "bytes | None":
    """Bytes, those of a CAN FD frame (a second # and a digit of flags), or None for a remote request."""
    if digits[:1] == b"R":
        return None
    return _bytes(digits[2:] if digits[:1] == b"#" else digits)


def _bytes(digits: bytes) -> bytes:
    try:
        return unhexlify(digits)
    except ValueError:
        raise ValueError("The bytes are no hex digits, or a digit is missing.") from None
