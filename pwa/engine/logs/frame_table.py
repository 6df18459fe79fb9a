"""Frames as a table with names of columns: a time, an identifier, and the bytes in one column or in many.

Recorders write it in many ways ("Time Stamp,ID,Extended,Dir,Bus,LEN,D1,D2,..."); identifier and bytes are
taken as hex, with 0x before or h or x behind them or without.
"""

from binascii import unhexlify
from typing import TYPE_CHECKING

from pwa.engine.logs import roles, sniff
from pwa.engine.logs.clock import Clock
from pwa.engine.logs.damage import printable

if TYPE_CHECKING:
    from pwa.engine.logs.candump import Frame

SEARCHED = 20  # lines in which the names must stand
IDENTIFIERS = ("id", "canid", "arbitrationid", "identifier", "msgid", "messageid", "frameid", "idhex")
DATA = ("data", "payload", "databytes", "datahex", "bytes", "databyteshex")
WIDE = ("extended", "ext", "ide", "isextended", "extendedid")
BYTES = ("d", "b", "db", "data", "byte", "databyte")
TRUE, FALSE = (b"true", b"1", b"yes", b"ext", b"x"), (b"false", b"0", b"no", b"std", b"")
UNITS = {"s": 1.0, "ms": 1e-3, "us": 1e-6, "µs": 1e-6}


def find(lines: "list[bytes]") -> "FrameTable | None":
    """The reader of a log whose first lines have the names of an identifier and of its bytes, if they do."""
    for number, line in enumerate(lines[:SEARCHED]):
        for delimiter in sniff.DELIMITERS[:-1]:
            names = [printable(cell) for cell in sniff.cells(line, delimiter)]
            plain = [_plain(name) for name in names]
            if any(name in IDENTIFIERS for name in plain) and _places(plain):
                return FrameTable(number + 1, delimiter, names, plain)
    return None


class FrameTable:
    """Reads the lines of one such log, its names among them."""

    def __init__(self, skip: int, delimiter: "bytes | None", names: "list[str]", plain: "list[str]") -> None:
        self._skip, self._delimiter, self._width = skip, delimiter, len(names)
        self._identifier = next(place for place, name in enumerate(plain) if name in IDENTIFIERS)
        self._data = _places(plain)
        wide = [place for place, name in enumerate(plain) if name in WIDE]
        self._wide = wide[0] if wide else -1
        proposed = roles.propose(names)
        self._time = proposed.index("time") if "time" in proposed else -1
        self._clock = Clock()
        said = roles.words(names[self._time]) if self._time >= 0 else []
        known = [UNITS[word] for word in said if word in UNITS]
        self._scale, self.sure = (known[0], True) if known else (1.0, self._time < 0)

    def frame(self, line: bytes) -> "Frame | None":
        """A line's frame.

        Raises:
            ValueError: it is none.
        """
        if self._skip:
            self._skip -= 1
            return None
        cells = sniff.cells(line, self._delimiter)
        if len(cells) <= self._identifier or (len(cells) <= self._data[0] and len(self._data) == 1):
            if not line.strip():
                return None
            raise ValueError(f"It has {len(cells)} cells instead of {self._width}.")
        time = None if self._time < 0 else self._when(cells[self._time])
        identifier = _bare(cells[self._identifier])
        number = int(identifier, 16)
        wide = number > 0x7FF
        if self._wide >= 0:
            said = cells[self._wide].lower()
            if said not in TRUE and said not in FALSE:
                raise ValueError("It does not say whether its identifier has 29 bits.")
            wide = said in TRUE
        return time, identifier, wide, self._bytes(cells)

    def _when(self, cell: bytes) -> float:
        if b":" in cell:
            self.sure = True
            return self._clock.read(cell)
        return self._scale * float(cell.replace(b",", b"."))

    def _bytes(self, cells: "list[bytes]") -> bytes:
        written = [cells[place] for place in self._data if place < len(cells) and cells[place]]
        digits = b""
        for cell in written:
            for word in cell.replace(b":", b" ").split():
                bare = _bare(word)
                digits += b"0" + bare if len(bare) == 1 else bare
        try:
            return unhexlify(digits)
        except ValueError:
            raise ValueError("The bytes are no hex digits, or a digit is missing.") from None


def _bare(cell: bytes) -> bytes:
    if cell[:2] in (b"0x", b"0X"):
        return cell[2:]
    return cell[:-1] if cell[-1:] in (b"x", b"h", b"X", b"H") else cell


def _plain(name: str) -> str:
    return "".join([letter for letter in name.lower() if letter.isalpha() or letter.isdigit()])


def _places(plain: "list[str]") -> "list[int]":
    """Where the bytes stand: one column, or columns that count from 0 or 1."""
    for place, name in enumerate(plain):
        if name in DATA:
            return [place]
    for stem in BYTES:
        for first in (0, 1):
            if f"{stem}{first}" in plain and f"{stem}{first + 1}" in plain:
                numbered = [f"{stem}{first + index}" for index in range(8)]
                return [plain.index(name) for name in numbered if name in plain]
    return []
