"""A J1939 bus as a log recorded it: the parameters this job needs, and the trouble codes."""

from typing import TYPE_CHECKING, TypedDict

from pwa.engine.codes import frames, transport
from pwa.engine.logs import parameters
from pwa.engine.logs.faults import Faults
from pwa.engine.logs.series import Series

if TYPE_CHECKING:
    from collections.abc import Callable

    Take = Callable[[float, bytes], None]


class Group(TypedDict):
    """One message (parameter group) of one sender."""

    pgn: int
    sender: int
    count: int


class Bus:
    """Takes frames by their identifier as the log writes it, and knows after the first what each needs."""

    def __init__(self) -> None:
        self.heard: dict[bytes, Heard] = {}
        self.series: list[Series] = []
        self.faults = Faults()
        self.transport = transport.Transport()
        self.short = 0  # frames too short for what they should carry

    def meet(self, identifier: bytes) -> "Heard":
        """What to do with the frames of a new identifier (29 bits in hex)."""
        parts = frames.identifier(identifier.decode())
        pgn, sender = parts["pgn"], parts["source"]
        heard = self.heard[identifier] = Heard(pgn, sender)
        wanted = [item for item in parameters.PARAMETERS if item.pgn == pgn]
        if wanted:
            heard.take = self._measured(wanted, sender)
        elif pgn in (parameters.ACTIVE, parameters.EARLIER):
            heard.take = lambda time, data: self.faults.take(time, pgn == parameters.ACTIVE, sender, data)
        elif pgn in (transport.MANAGEMENT, transport.TRANSFER):
            heard.take = self._carried(parts)
        return heard

    def groups(self) -> "list[Group]":
        """Every message heard, the most frequent first."""
        counts: dict[tuple[int, int], int] = {}
        for heard in self.heard.values():
            name = (heard.pgn, heard.sender)
            counts[name] = counts.get(name, 0) + heard.count
        found: list[Group] = [
            {"pgn": pgn, "sender": sender, "count": count} for (pgn, sender), count in counts.items()
        ]
        return sorted(found, key=lambda group: (-group["count"], group["pgn"], group["sender"]))

    def _measured(self, wanted: "list[parameters.Parameter]", sender: int) -> "Take":
        """Takes every parameter out of a message; one or two bytes, the low one first (J1939-71)."""
        places = [
            (item.byte - 1, item.size == 2, item.scale, item.offset, self._series(item, sender))
            for item in wanted
        ]
        length = max([item.byte + item.size - 1 for item in wanted])

        def take(time: float, data: bytes) -> None:
            if len(data) < length:
                self.short += 1
                return
            for start, pair, scale, offset, series in places:
                raw = data[start] | data[start + 1] << 8 if pair else data[start]
                if raw <= (parameters.TWO_BYTES if pair else parameters.ONE_BYTE):
                    series.new_times.append(time)
                    series.new_values.append(scale * raw + offset)
                else:
                    low, high = parameters.ERRORS[2 if pair else 1]
                    if low <= raw <= high:
                        series.errors += 1
                    else:
                        series.missing += 1

        return take

    def _carried(self, parts: "frames.Identifier") -> "Take":
        def take(time: float, data: bytes) -> None:
            message = self.transport.take(parts, list(data))
            if message and message["pgn"] in (parameters.ACTIVE, parameters.EARLIER):
                active = message["pgn"] == parameters.ACTIVE
                self.faults.take(time, active, message["source"], bytes(message["payload"]))

        return take

    def _series(self, item: "parameters.Parameter", sender: int) -> Series:
        """A parameter's series of one sender; the first to send it has the plain key.

        One sender may send the same parameter with two priorities, under two identifiers.
        """
        source = parameters.source(item, sender)
        for series in self.series:
            if series.source == source:
                return series
        taken = [series.key for series in self.series]
        key = item.key if item.key not in taken else f"{item.key}@{sender}"
        made = Series(key, item.name, item.unit, source, item.standing)
        self.series.append(made)
        return made


class Heard:
    """An identifier that was heard, how often, and what takes its frames (nothing if this job needs none)."""

    def __init__(self, pgn: int, sender: int) -> None:
        self.pgn, self.sender = pgn, sender
        self.count = 0
        self.take: Take | None = None
