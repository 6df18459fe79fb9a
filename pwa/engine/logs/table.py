"""A log as a table: any delimiter, decimal comma, any names of columns."""

from array import array
from typing import TYPE_CHECKING, TypedDict

from pwa.engine.logs import roles, sniff
from pwa.engine.logs.clock import Clock
from pwa.engine.logs.damage import Damaged
from pwa.engine.logs.series import BLOCK, Series

if TYPE_CHECKING:
    from typing import Any

MOST = 12  # columns that are read without being asked for, so that a wide table fits a phone
TIME_UNITS = {
    "s": 1.0, "sec": 1.0, "seconds": 1.0, "ms": 1e-3, "msec": 1e-3, "milliseconds": 1e-3, "us": 1e-6,
    "µs": 1e-6, "min": 60.0, "h": 3600.0,
}  # fmt: skip
NAN = float("nan")


class Column(TypedDict):
    """A column, and what it is taken for; `role` is "" for one that has none."""

    name: str
    unit: str
    kind: str  # "number", "clock" or "text"
    role: str
    read: bool


class Rows:
    """Takes the lines of a table whose form `sniff.table` has found."""

    form, form_name = "table", "a table"

    def __init__(self, found: "sniff.Table", mapping: "dict[str, Any]") -> None:
        self.damaged = Damaged()
        self.lines = self.rows = 0
        self.back = 0
        self.start = self.end = 0.0
        self._found, self._comma = found, found["comma"]
        names = found["names"]
        self._unit = mapping.get("time-unit", "")
        if self._unit and self._unit not in TIME_UNITS:
            raise ValueError(f"A time is not in {self._unit}. Choose one of {', '.join(sorted(TIME_UNITS))}.")
        self._roles = roles.apply(mapping, names, roles.propose(names, found["kinds"]))
        numbers = [place for place, kind in enumerate(found["kinds"]) if kind == "number"]
        self._time = self._roles.index("time") if "time" in self._roles else -1
        if self._time >= 0 and found["kinds"][self._time] == "text":
            self._time = -1
        asked = [place for place in numbers if self._roles[place] and place != self._time]
        others = [place for place in numbers if place not in asked and place != self._time]
        self._places = sorted(asked + others[: max(0, MOST - len(asked))])
        self.series = [self._series(place) for place in self._places]
        self._shared = array("d")
        for series in self.series:
            series.times = self._shared
        self.timed = self._time >= 0
        self._clock = Clock() if self._time >= 0 and found["kinds"][self._time] == "clock" else None
        self._scale, self._sure = self._time_unit()
        self._wanted = [self._time] + self._places if self.timed and not self._clock else self._places
        self._flat: list[float] = []  # row after row, until there are enough
        self._clocked: list[float] = []

    def take(self, lines: "list[bytes]") -> None:
        """Runs once a row, so it is written for speed: the interpreter's own code does what it can."""
        delimiter, width = self._found["delimiter"], len(self._found["names"])
        wanted, flat, times = self._wanted, self._flat, self._clocked
        skipped = min(len(lines), max(0, self._found["skip"] - self.lines))
        number = self.lines + skipped
        for line in lines[skipped:]:
            number += 1
            cells = (line.replace(b",", b".") if self._comma else line).split(delimiter)
            try:
                if len(cells) != width:
                    raise ValueError
                row = [float(cells[place]) for place in wanted]
                if self._clock:
                    times.append(self._clock.read(cells[self._time]))
            except ValueError:
                if not line.strip():
                    continue
                try:
                    row = self._slowly(line, wanted, times)
                except ValueError as error:
                    self.damaged.add(number, line, str(error))
                    continue
            flat += row
        self.lines = number
        if len(flat) >= BLOCK * len(wanted):
            self._keep()

    def finish(self) -> None:
        self._keep()

    def columns(self) -> "list[Column]":
        return [
            {
                "name": name,
                "unit": self._found["units"][place],
                "kind": self._found["kinds"][place],
                "role": self._roles[place],
                "read": place in self._places or place == self._time,
            }
            for place, name in enumerate(self._found["names"])
        ]

    def warnings(self) -> "list[str]":
        numbers = [column for column in self.columns() if column["kind"] == "number"]
        unread = [column["name"] for column in numbers if not column["read"]]
        said = [
            (self._time < 0, "No column is taken for the time: the rows are counted instead."),
            (not self._sure, "The time has no unit: seconds are assumed."),
            (self.back, f"Times jump back {self.back} times: the log may be several recordings."),
            (unread, f"Not read: {', '.join(unread)}."),
        ]
        return [sentence for holds, sentence in said if holds]

    def _slowly(self, line: bytes, wanted: "list[int]", times: "list[float]") -> "list[float]":
        """A row with quotes, empty cells, or one too many behind.

        Raises:
            ValueError: what is wrong with the row.
        """
        width = len(self._found["names"])
        cells = sniff.cells(line, self._found["delimiter"])
        if len(cells) == width + 1 and not cells[-1]:
            cells = cells[:-1]
        if len(cells) != width:
            raise ValueError(f"It has {len(cells)} cells instead of {width}.")
        row = [self._number(cells, place) for place in wanted]
        if self._clock:
            times.append(self._clock.read(cells[self._time]))
        elif self._time >= 0 and row[0] != row[0]:
            raise ValueError("The time is missing.")
        return row

    def _number(self, cells: "list[bytes]", place: int) -> float:
        cell = cells[place]
        if cell in sniff.EMPTY:
            return NAN
        try:
            return float(cell.replace(b",", b".") if self._comma else cell)
        except ValueError:
            raise ValueError(f"“{self._found['names'][place]}” is no number.") from None

    def _keep(self) -> None:
        """The rows taken, as columns into the series."""
        flat, self._flat = self._flat, []
        clocked, self._clocked = self._clocked, []
        if not flat:
            return
        total = sum(flat)
        sound = total - total == 0  # else a cell is empty, NaN or infinite
        if not sound and self._wanted[0] == self._time:
            flat = self._timed(flat)
        times = self._times(flat, clocked)
        if not times:
            return
        if not self.rows:
            self.start = self.end = times[0]
        self.rows += len(times)
        last = self.end
        for time in times:
            if time < last:
                self.back += 1
            last = time
        self.end = last
        width, first = len(self._wanted), len(self._wanted) - len(self.series)
        before = len(self._shared)
        self._shared.extend(array("d", times))
        for place, series in enumerate(self.series):
            series.share(self._shared, before, flat[first + place :: width], sound)

    def _times(self, flat: "list[float]", clocked: "list[float]") -> "list[float]":
        if self._clock:
            return clocked
        width = len(self._wanted)
        if self._time < 0:
            return [float(self.rows + index) for index in range(len(flat) // width)]
        times = flat[0::width]
        return times if self._scale == 1 else [self._scale * time for time in times]

    def _timed(self, flat: "list[float]") -> "list[float]":
        """Without the rows whose time is NaN or infinite, which are damage."""
        kept: list[float] = []
        width = len(self._wanted)
        for start in range(0, len(flat), width):
            if flat[start] - flat[start] == 0:
                kept += flat[start : start + width]
            else:
                self.damaged.count += 1
        return kept

    def _series(self, place: int) -> Series:
        role, name = self._roles[place], self._found["names"][place]
        return Series(
            role or name,
            roles.name_of(role) if role else name,
            self._found["units"][place],
            f"column {place + 1}, “{name}”",
        )

    def _time_unit(self) -> "tuple[float, bool]":
        """Seconds in one unit of the time column, and whether the log or a person says so."""
        if self._time < 0 or self._clock:
            return 1.0, True
        if self._unit:
            return TIME_UNITS[self._unit], True
        said = [self._found["units"][self._time].lower()] + roles.words(self._found["names"][self._time])
        for word in said:
            if word in TIME_UNITS:
                return TIME_UNITS[word], True
        return 1.0, False
