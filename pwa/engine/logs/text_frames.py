"""Frames in two more texts: ASC, and the CSV of the library python-can.

ASC:  "   0.001234 1  18FEF600x       Rx   d 8 FF FF FF FF FF FF FF FF", after lines that say the base of the
      numbers and whether times run on or start anew each line.
CSV:  "timestamp,arbitration_id,extended,remote,error,dlc,data", the bytes in base64.

The functions return what those of `candump` do, or None for a line that carries no frame and is no damage.
"""

from binascii import a2b_base64, unhexlify
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pwa.engine.logs.candump import Frame

CSV_HEAD = b"timestamp,arbitration_id,extended,remote,error,dlc,data"
# What an ASC file says beside frames: heads, triggers, statistics, comments.
ASIDE = (b"date", b"base", b"internal", b"no", b"begin", b"end", b"//", b"version")
NO_DATA = (b"errorframe", b"statistic:", b"start", b"log", b"j1939tp", b"sv:", b"sys:")


class Asc:
    """The reader of one ASC file, which remembers what its head says."""

    def __init__(self) -> None:
        self._decimal = False
        self._relative = False
        self._now = 0.0

    def frame(self, line: bytes) -> "Frame | None":
        """A line's frame.

        Raises:
            ValueError: it starts like a frame and is none.
        """
        words = line.split()
        if len(words) < 5 or words[2][:1] not in b"0123456789abcdefABCDEF":
            return self._aside(words)
        when = self._time(float(words[0]))
        if words[1] == b"CANFD":
            return self._flexible(when, words)
        wide = words[2][-1:] in b"xX"
        identifier = self._hex(words[2][:-1] if wide else words[2])
        kind = words[4]
        if kind in (b"r", b"R"):
            return when, identifier, wide, None
        if kind not in (b"d", b"D") or len(words) < 6:
            raise ValueError("It has neither d nor r before its bytes.")
        count = int(words[5], 10 if self._decimal else 16)
        return when, identifier, wide, self._bytes(words[6 : 6 + min(count, 8)], min(count, 8))

    def _aside(self, words: "list[bytes]") -> "Frame | None":
        first = words[0].lower() if words else b""
        if first == b"base" and len(words) >= 2:
            self._decimal = words[1].lower() == b"dec"
            self._relative = words[-1].lower() == b"relative"
        if not words or first in ASIDE or first[:2] == b"//":
            return None
        when = self._time(float(first))
        for word in words[1:3]:
            if word.lower() in NO_DATA:
                return (when, b"", False, None) if word.lower() == b"errorframe" else None
        raise ValueError("It is no frame.")

    def _time(self, written: float) -> float:
        self._now = self._now + written if self._relative else written
        return self._now

    def _flexible(self, when: float, words: "list[bytes]") -> "Frame":
        """A CAN FD line: channel, direction, identifier, perhaps a name, flags, length, bytes."""
        wide = words[4][-1:] in b"xX"
        identifier = self._hex(words[4][:-1] if wide else words[4])
        named = not words[5].isdigit() or len(words[5]) > 1
        place = 8 if not named else 9
        count = int(words[place])
        return when, identifier, wide, self._bytes(words[place + 1 : place + 1 + count], count)

    def _hex(self, identifier: bytes) -> bytes:
        return f"{int(identifier):X}".encode() if self._decimal else identifier

    def _bytes(self, words: "list[bytes]", count: int) -> bytes:
        if len(words) != count:
            raise ValueError(f"{count} bytes are announced and {len(words)} are there.")
        try:
            if self._decimal:
                return bytes([int(word) for word in words])
            return unhexlify(b"".join(words))
        except ValueError:
            raise ValueError("The bytes are no numbers of two digits.") from None


def csv_frame(line: bytes) -> "Frame | None":
    """A line of the CSV.

    Raises:
        ValueError: it is none.
    """
    cells = line.split(b",")
    if len(cells) != 7:
        if not line.strip():
            return None
        raise ValueError(f"7 cells are expected and {len(cells)} are there.")
    if cells[0] == b"timestamp":
        return None
    when, identifier, wide = float(cells[0]), cells[1], cells[2] == b"1"
    if identifier[:2] != b"0x":
        raise ValueError("The identifier does not start with 0x.")
    if cells[3] == b"1" or cells[4] == b"1":
        return when, identifier[2:], wide, None
    try:
        data = a2b_base64(cells[6])
    except ValueError:
        raise ValueError("The bytes are no base64.") from None
    if len(data) != int(cells[5]):
        raise ValueError(f"{cells[5].decode()} bytes are announced and {len(data)} are there.")
    return when, identifier[2:], wide, data
