"""Reads a log in pieces: what form it has, its signals, its codes, its damage.

The pieces may be bytes or text and be cut anywhere; between them the caller can show progress and let other
work pass. Where the cuts are changes nothing. Pieces of 64 kB are best: they take a slow phone less than half
a second, and after each call the phone's interpreter tidies its whole memory.
"""

from typing import TYPE_CHECKING, TypedDict

from pwa.engine.logs import frame_table, sniff
from pwa.engine.logs.frames import Frames
from pwa.engine.logs.lines import Lines
from pwa.engine.logs.table import Rows

if TYPE_CHECKING:
    from array import array
    from collections.abc import Iterable
    from typing import Any

    from pwa.engine.logs.bus import Group
    from pwa.engine.logs.damage import Damage
    from pwa.engine.logs.faults import Fault
    from pwa.engine.logs.series import Signal
    from pwa.engine.logs.table import Column


class Log(TypedDict):
    """All there is to say about a log. Times of signals and codes are seconds from `start`."""

    form: str
    form_name: str
    lines: int
    rows: int  # rows of a table, or frames
    start: float
    duration: float
    time_unit: str  # "s", or "rows" where the log has no times
    signals: "list[Signal]"
    columns: "list[Column]"  # of a table
    codes: "list[Fault]"  # of frames
    messages: "list[Group]"  # of frames
    damaged: "Damage"
    warnings: "list[str]"


class Reader:
    """`feed` every piece, then `finish`.

    `mapping` overrides what the columns of a table are taken for: role -> name or number of the column;
    "time-unit" in it is the unit of the time's column, such as "ms".
    """

    def __init__(self, mapping: "dict[str, Any] | None" = None) -> None:
        self.taken = 0  # bytes, or characters, so far
        self._mapping = mapping or {}
        self._lines = Lines()
        self._held: list[bytes] = []  # the first lines, until they show what the log is
        self._log: Frames | Rows | None = None

    @property
    def rows(self) -> int:
        return self._log.rows if self._log else 0

    @property
    def start(self) -> float:
        """The first time, as the log counts."""
        return self._log.start if self._log else 0.0

    @property
    def timed(self) -> bool:
        return self._log is not None and self._log.timed

    def feed(self, piece: "bytes | str") -> None:
        """Takes the next piece.

        Raises:
            ValueError: the file is no log, or the mapping names what is not there.
        """
        self.taken += len(piece)
        self._take(self._lines.feed(piece))

    def finish(self) -> Log:
        """What the log has in it.

        Raises:
            ValueError: as for `feed`.
        """
        self._take(self._lines.finish())
        log = self._log or self._begin()
        log.finish()
        if not log.rows:
            raise ValueError("No line of this file can be read. Is it the right one?")
        return {
            "form": log.form,
            "form_name": log.form_name,
            "lines": log.lines,
            "rows": log.rows,
            "start": log.start,
            "duration": log.end - log.start,
            "time_unit": "s" if log.timed else "rows",
            "signals": [series.summary() for series in log.series],
            "columns": log.columns() if isinstance(log, Rows) else [],
            "codes": log.bus.faults.summary(log.start) if isinstance(log, Frames) else [],
            "messages": log.bus.groups() if isinstance(log, Frames) else [],
            "damaged": log.damaged.summary(),
            "warnings": log.warnings(),
        }

    def keys(self) -> "list[str]":
        return [series.key for series in self._log.series] if self._log else []

    def series(self, key: str) -> "tuple[array[float], array[float]]":
        """Times, as the log counts them, and values of a signal; after `finish`.

        Raises:
            ValueError: the log has none of that key.
        """
        for series in self._log.series if self._log else []:
            if series.key == key:
                return series.times, series.values
        raise ValueError(f"The log has no signal {key}. It has {', '.join(self.keys()) or 'none'}.")

    def _take(self, lines: "list[bytes]") -> None:
        if self._log is None:
            self._held += lines
            if len(self._held) >= sniff.ENOUGH:
                self._begin()
        elif lines:
            self._log.take(lines)

    def _begin(self) -> "Frames | Rows":
        held, self._held = self._held, []
        seen = held[: sniff.ENOUGH]  # no more than that, or the cuts would decide
        form = sniff.form(seen)
        framed = frame_table.find(seen) if form == "table" else None
        log: Frames | Rows
        if form != "table":
            log = Frames(form)
        elif framed:
            log = Frames("frame table", framed)
        else:
            log = Rows(sniff.table(seen), self._mapping)
        self._log = log
        log.take(held)
        return log


def read(pieces: "Iterable[bytes | str]", mapping: "dict[str, Any] | None" = None) -> Log:
    """A whole log at once, for those who need not wait."""
    reader = Reader(mapping)
    for piece in pieces:
        reader.feed(piece)
    return reader.finish()
