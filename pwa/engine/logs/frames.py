"""A log of frames, whatever its text: its lines to the bus, its damage counted."""

from typing import TYPE_CHECKING

from pwa.engine.logs import candump, text_frames
from pwa.engine.logs.bus import Bus
from pwa.engine.logs.damage import Damaged
from pwa.engine.logs.series import BLOCK

if TYPE_CHECKING:
    from collections.abc import Callable

    from pwa.engine.logs.candump import Frame
    from pwa.engine.logs.frame_table import FrameTable
    from pwa.engine.logs.series import Series

FORMS = {
    "candump": "candump, as written to a file",
    "candump console": "candump, as shown on the console",
    "asc": "frames as ASC text",
    "can csv": "frames as CSV with base64",
    "frame table": "frames as a table",
}


PARSERS: "dict[str, Callable[[], Callable[[bytes], Frame | None]]]" = {
    "candump": lambda: candump.file_frame,
    "candump console": lambda: candump.console_frame,
    "asc": lambda: text_frames.Asc().frame,
    "can csv": lambda: text_frames.csv_frame,
}


class Frames:
    """Takes the lines of one form of frame log."""

    def __init__(self, form: str, table: "FrameTable | None" = None) -> None:
        self.form, self.form_name = form, FORMS[form]
        self.damaged = Damaged()
        self.bus = Bus()
        self.lines = self.rows = 0
        self.back = 0  # times that are before the one of the line above
        self.start = self.end = 0.0
        self.no_data = self.standard = 0
        self.timed = True
        self._parse = table.frame if table else PARSERS[form]()
        self._table = table

    @property
    def series(self) -> "list[Series]":
        return self.bus.series

    def take(self, lines: "list[bytes]") -> None:
        """Runs once a frame, so it is written for speed: no look-up that can be spared."""
        parse, heard = self._parse, self.bus.heard
        number, rows, last = self.lines, self.rows, self.end
        for line in lines:
            number += 1
            try:
                frame = parse(line)
                if frame is None:
                    continue
                time, identifier, wide, data = frame
                known = heard.get(identifier)
                if wide and data is not None and known is None:
                    known = self.bus.meet(identifier)
            except (ValueError, IndexError) as error:
                if line.strip():
                    self.damaged.add(number, line, why(error))
                continue
            if time is None:
                time, self.timed = float(rows), False
            rows += 1
            if rows == 1:
                self.start = time
            elif time < last:
                self.back += 1
            last = time
            if data is None:
                self.no_data += 1
            elif not wide:
                self.standard += 1
            elif known is not None:
                known.count += 1
                if known.take is not None:
                    known.take(time, data)
        self.lines, self.rows, self.end = number, rows, last
        for series in self.bus.series:
            if len(series.new_values) >= BLOCK:
                series.keep()

    def finish(self) -> None:
        for series in self.bus.series:
            series.keep()

    def warnings(self) -> "list[str]":
        lost = self.bus.transport.problems
        said = [
            (not self.timed and self.rows, "The log has no times: its frames are counted instead."),
            (self._table and not self._table.sure, "The time has no unit: seconds are assumed."),
            (self.back, f"Times jump back {self.back} times: the log may be several recordings."),
            (self.standard, f"{self.standard} frames have 11-bit identifiers: not J1939, left out."),
            (self.no_data, f"{self.no_data} frames are errors or requests without data."),
            (self.bus.short, f"{self.bus.short} frames are too short for what they should carry."),
            (lost, f"{len(lost)} long messages are incomplete. The first: {lost[0] if lost else ''}"),
            (self.bus.faults.unreadable, f"{self.bus.faults.unreadable} messages of codes cannot be read."),
        ]
        return [sentence for holds, sentence in said if holds]


def why(error: Exception) -> str:
    """The reason in our words; the interpreters' own differ."""
    said = str(error)
    return said if said.endswith(".") and " " in said and "'" not in said else "A number cannot be read."
