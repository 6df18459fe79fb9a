"""One recording as the phone reads it: what it has in it, what is taken for what, which part is looked at.

It lives in a worker of its own (phone/recording.js), which outlasts many requests; nothing here is a record.
What a person keeps of it becomes one on the job's screen (screens/recording.py).
"""

import hashlib
from binascii import hexlify
from typing import TYPE_CHECKING

from pwa.app.content import find
from pwa.engine.logs import roles
from pwa.engine.logs.reader import Reader
from pwa.engine.numbers import units

if TYPE_CHECKING:
    from array import array

    from pwa.engine.logs.reader import Log
    from pwa.engine.logs.series import Signal

    Mapping = dict[str, str]  # role -> column or signal, "" for none; "time-unit" -> unit

SCOUTED = 8192  # bytes in which names of columns and some rows stand
MOST_ROWS = 200_000  # more would fill a phone's memory; what lies behind is only counted into the hash
TIME, UNIT = "time", "time-unit"
NEAREST = 0.02  # s, the shortest part that is shown
IN, STEP = 0.5, 0.5  # what one tap leaves of the part, and how far it moves it


class Recording:
    """`take` every piece of the file, then `finish`; after that it can be looked at."""

    def __init__(self, name: str, size: int, remembered: "dict[str, Mapping]") -> None:
        self.name, self.size = name, size
        self.mapping: Mapping = {}
        self.keys: dict[str, str] = {}  # role -> the reader's signal
        self.start = self.end = 0.0  # the part looked at, in seconds from the log's start
        self.full = False
        self.sha256 = ""
        self.log: Log | None = None
        self._remembered = remembered
        self._hash = hashlib.sha256()
        self._reader: Reader | None = None

    @property
    def reader(self) -> Reader:
        if self._reader is None:
            raise ValueError("The file is empty.")
        return self._reader

    @property
    def found(self) -> "Log":
        if self.log is None:
            raise ValueError("The file is not read yet.")
        return self.log

    def take(self, piece: bytes) -> int:
        """The next piece; gives the rows read so far.

        Raises:
            ValueError: the file is no log.
        """
        self._hash.update(piece)
        if self._reader is None:
            self._reader = Reader(self._known(piece[:SCOUTED]))
        if self._reader.rows < MOST_ROWS:
            self._reader.feed(piece)
        elif not self.full:
            self.full = True
            self._reader.feed(piece[: piece.find(b"\n") + 1])  # the row that was cut is whole now
        return self._reader.rows

    def finish(self) -> None:
        """Everything was taken.

        Raises:
            ValueError: nothing in it can be read.
        """
        self.log = self.reader.finish()
        self.sha256 = hexlify(self._hash.digest()).decode()
        self.keys = self._proposed()
        chosen = {} if self.log["columns"] else self._remembered.get(self.signature(), {})
        for role in sorted(chosen):
            if chosen[role] in self.reader.keys() or not chosen[role]:  # noqa: SIM118 (a method of ours)
                self.keys[role] = chosen[role]
        self.start, self.end = 0.0, self.log["duration"]

    def again(self) -> None:
        """The same file is going to be taken once more, now with what was chosen for its columns."""
        self._remembered = {self.signature(): self.mapping}
        self._hash, self._reader, self.log = hashlib.sha256(), None, None
        self.full = False

    def signature(self) -> str:
        """What files of the same columns, or with the same signals, have in common."""
        columns = [column["name"] for column in self.found["columns"]]
        return "|".join(columns) if columns else "frames|" + "|".join(sorted(self.reader.keys()))

    def choose(self, mapping: "Mapping") -> bool:
        """Takes a person's choice of columns; says whether the file must be read once more for it."""
        before = self._current()
        self.mapping = mapping
        columns = {column["name"]: column for column in self.found["columns"]}
        if not columns:
            self.keys = {role: mapping[role] for role in mapping}
            return False
        unread = [name for role, name in mapping.items() if name in columns and not columns[name]["read"]]
        if unread or any(mapping.get(name, "") != before.get(name, "") for name in (TIME, UNIT)):
            return True
        self.keys = {
            role: columns[name]["role"] or name
            for role, name in mapping.items()
            if name in columns and role != TIME
        }
        return False

    def has(self, role: str) -> bool:
        """Whether there are values of it; a sender may have none to send."""
        signal = self.signal(role)
        return bool(signal and signal["count"])

    def series(self, role: str) -> "tuple[array[float], array[float]]":
        """Times, as the log counts, and values of what is taken for a role."""
        return self.reader.series(self.keys[role])

    def signal(self, role: str) -> "Signal | None":
        """What the log says of the signal taken for a role, if there is one."""
        return find(self.found["signals"], self.keys.get(role, ""))

    def used(self, role: str) -> "Signal":
        """As `signal`, of a role that the recording `has`."""
        signal = self.signal(role)
        if signal is None:
            raise ValueError(f"Nothing is taken for {role}.")
        return signal

    def look(self, start: float, end: float) -> None:
        """Shows from start to end, as far as the recording goes and no shorter than makes sense."""
        whole = self.found["duration"]
        least = min(whole, NEAREST if self.reader.timed else 2.0)
        span = min(max(end - start, least), whole)
        self.start = min(max(start, 0.0), whole - span)
        self.end = self.start + span

    def look_typed(self, start: str, end: str) -> None:
        """As `look`, from what a person typed.

        Raises:
            ValueError: it is no time.
        """
        self.look(units.parse(start, "time", "s"), units.parse(end, "time", "s"))

    def move(self, how: str, share: float = 0.0) -> None:
        """One tap on a button below the picture, or a drag by a share of its width."""
        span, middle = self.end - self.start, (self.start + self.end) / 2
        if how == "in":
            self.look(middle - span * IN / 2, middle + span * IN / 2)
        elif how == "out":
            self.look(middle - span / IN / 2, middle + span / IN / 2)
        elif how == "whole":
            self.look(0.0, self.found["duration"])
        else:
            by = {"back": -STEP, "on": STEP}.get(how, share) * span
            self.look(self.start + by, self.end + by)

    def _known(self, piece: bytes) -> "Mapping":
        """What was chosen for an earlier file of the same columns."""
        scout = Recording(self.name, self.size, {})
        scout._reader = Reader()
        whole = piece.rfind(b"\n") + 1
        try:
            scout._reader.feed(piece[:whole] if whole else piece)
            scout.log = scout._reader.finish()
        except ValueError:
            return {}  # the file itself will say what is wrong
        if not scout.log["columns"]:
            return {}
        usable = [role for role, _ in choices()] + [TIME, UNIT]
        chosen = self._remembered.get(scout.signature(), {})
        self.mapping = {role: chosen[role] for role in chosen if role in usable}
        return self.mapping

    def _proposed(self) -> "dict[str, str]":
        found = self.found
        if found["columns"]:
            return {
                column["role"]: column["role"]
                for column in found["columns"]
                if column["role"] and column["role"] != TIME and column["read"]
            }
        known = self.reader.keys()
        return {role: role for role, _ in choices() if role in known}

    def _current(self) -> "Mapping":
        """The mapping that the reader has now, as a person would have chosen it."""
        now = {column["role"]: column["name"] for column in self.found["columns"] if column["role"]}
        now[UNIT] = self.mapping.get(UNIT, "")
        return now


def choices() -> "list[tuple[str, str]]":
    """What a column may be taken for, without the time: key and name."""
    return [(key, name) for key, name, _, _ in roles.ROLES if key != TIME]
