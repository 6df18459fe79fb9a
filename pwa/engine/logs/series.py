"""One signal of a log: its times and values, and what there is to say about it."""

from array import array
from typing import TypedDict

BLOCK = 2048  # values that are collected in a list before they move into the array, which must then grow


class Signal(TypedDict):
    """What is in a series. `standing` says how far its scale is trusted, "" if the log itself gives it."""

    key: str
    name: str
    unit: str  # "" when the log does not say
    source: str
    standing: str
    count: int
    least: "float | None"
    most: "float | None"
    first: "float | None"
    last: "float | None"
    missing: int  # times that the sender had no value
    errors: int  # times that the sender said its value is in error


class Series:
    """A signal's values, collected in lists and kept in arrays, which are small and which nothing moves."""

    def __init__(self, key: str, name: str, unit: str, source: str, standing: str = "") -> None:
        self.key, self.name, self.unit = key, name, unit
        self.source, self.standing = source, standing
        self.times, self.values = array("d"), array("d")
        self.new_times: list[float] = []
        self.new_values: list[float] = []
        self.missing = self.errors = 0
        self.least: float | None = None
        self.most: float | None = None

    def keep(self) -> None:
        """Moves what is new into the arrays."""
        if self.new_values:
            self.times.extend(array("d", self.new_times))
            self._add(self.new_values)
            self.new_times, self.new_values = [], []

    def share(self, times: "array[float]", before: int, values: "list[float]", sound: bool) -> None:
        """Adds values whose times stand in an array that the columns of a table share, from `before` on.

        If not all are sound, what is no number (missing) is counted and left out; then the series needs times
        of its own. Sharing halves the memory, which the phone's interpreter searches after each call.
        """
        kept = [] if sound else [index for index, value in enumerate(values) if value - value == 0]
        if not sound and len(kept) < len(values):
            self.missing += len(values) - len(kept)
            if self.times is times:
                self.times = times[:before]
            self.times.extend(array("d", [times[before + index] for index in kept]))
            values = [values[index] for index in kept]
        elif self.times is not times:
            self.times.extend(times[before:])
        self._add(values)

    def _add(self, values: "list[float]") -> None:
        if not values:
            return
        least, most = min(values), max(values)
        self.least = least if self.least is None or least < self.least else self.least
        self.most = most if self.most is None or most > self.most else self.most
        self.values.extend(array("d", values))

    def summary(self) -> Signal:
        found = len(self.values)
        return {
            "key": self.key,
            "name": self.name,
            "unit": self.unit,
            "source": self.source,
            "standing": self.standing,
            "count": found,
            "least": self.least,
            "most": self.most,
            "first": self.values[0] if found else None,
            "last": self.values[found - 1] if found else None,
            "missing": self.missing,
            "errors": self.errors,
        }
