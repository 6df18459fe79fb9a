"""Whole lines out of a file that comes in pieces, cut anywhere.

Lines stay bytes: cutting and reading numbers from bytes is what the phone's interpreter does fastest. UTF-16,
which some spreadsheets write, loses its zero bytes, which is right for everything in Latin letters.
"""

LONGEST = 16384  # bytes of a line; a longer one is no log
TOO_LONG = b"(a line too long to be read)"  # stands in its place, and no form of log takes it


class Lines:
    """Feed pieces, get the lines that they complete."""

    def __init__(self) -> None:
        self._tail = b""
        self._opened = False
        self._wide = False
        self._cut = False  # the line under way is too long already

    def feed(self, piece: "bytes | str") -> "list[bytes]":
        """The lines that end in this piece, without their ends."""
        data = self._plain(piece.encode() if isinstance(piece, str) else bytes(piece))
        if not self._opened:
            return []
        # A return at the very end may be half of a line's end: it waits for what follows.
        waits = data.endswith(b"\r")
        if waits:
            data = data[:-1]
        if b"\r" in data:
            data = data.replace(b"\r\n", b"\n").replace(b"\r", b"\n")
        lines = data.split(b"\n")
        self._tail = lines.pop()
        if len(data) > LONGEST or self._cut:
            lines = self._shortened(lines)
        if waits:
            self._tail += b"\r"
        return lines

    def finish(self) -> "list[bytes]":
        """The last line, if no line's end follows it."""
        if not self._opened:
            self._opened = True
            self._tail = self._unmarked(self._tail)
        rest = self._tail[:-1] if self._tail.endswith(b"\r") else self._tail
        self._tail = b""
        if self._cut or len(rest) > LONGEST:
            return [TOO_LONG]
        return [rest] if rest else []

    def _plain(self, piece: bytes) -> bytes:
        """What waited and this piece, without the mark of the encoding; it takes three bytes to see it."""
        if self._wide:
            piece = piece.replace(b"\0", b"")
        data = self._tail + piece
        if self._opened or len(data) < 3:
            self._tail = data
            return data
        self._opened = True
        return self._unmarked(data)

    def _unmarked(self, data: bytes) -> bytes:
        self._wide = data[:2] in (b"\xff\xfe", b"\xfe\xff") or b"\0" in data[:2]
        if self._wide:
            return data.replace(b"\xff\xfe", b"", 1).replace(b"\xfe\xff", b"", 1).replace(b"\0", b"")
        return data[3:] if data[:3] == b"\xef\xbb\xbf" else data

    def _shortened(self, lines: "list[bytes]") -> "list[bytes]":
        """Too long lines replaced; of one still under way nothing is kept, or the memory would fill."""
        if lines and self._cut:
            lines[0], self._cut = TOO_LONG, False
        if self._cut or len(self._tail) > LONGEST:
            self._tail, self._cut = b"", True
        return [line if len(line) <= LONGEST else TOO_LONG for line in lines]
