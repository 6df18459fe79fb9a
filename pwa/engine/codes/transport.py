"""Messages of more than 8 bytes on a J1939 network, joined from the frames that carry them.

A sender announces a message in a TP.CM frame (to everybody, BAM, or to one node, RTS) and sends it in TP.DT
frames: a sequence number and seven bytes each. Source: SAE J1939-21, transport protocol.
"""

from typing import TYPE_CHECKING, TypedDict

if TYPE_CHECKING:
    from pwa.engine.codes.frames import Identifier

MANAGEMENT, TRANSFER = 0xEC00, 0xEB00  # PGN of TP.CM and of TP.DT
ANNOUNCED, ABORTED = (
    (0x20, 0x10),
    0xFF,
)  # control bytes that begin a message (BAM, RTS), and that break it off
SHORTEST, LONGEST = 9, 1785  # bytes; what fits one frame is not announced, and 255 frames carry no more
CARRIED = 7  # bytes of the message in each frame


class Message(TypedDict):
    """A whole message; `destination` is 255 when everybody is meant."""

    pgn: int
    source: int
    destination: int
    payload: "list[int]"


class Joined(TypedDict):
    """Messages in the order in which they were complete, and a sentence on each that never was."""

    messages: "list[Message]"
    problems: "list[str]"


class Transport:
    """Takes frames one by one, as they come from the network, and gives each message once it is whole."""

    def __init__(self) -> None:
        self.problems: list[str] = []
        # (source, destination) -> [pgn, bytes, frames by sequence number]; each pair has one at a time
        self._open: dict[tuple[int, int], tuple[int, int, dict[int, list[int]]]] = {}

    def take(self, frame: "Identifier", data: "list[int]") -> "Message | None":
        """The message that this frame completes: itself, unless it is a part of a longer one."""
        ends = frame["source"], frame["destination"]
        if frame["pgn"] == MANAGEMENT:
            self._announce(ends, data)
            return None
        if frame["pgn"] == TRANSFER:
            return self._part(ends, data)
        return {
            "pgn": frame["pgn"],
            "source": frame["source"],
            "destination": frame["destination"],
            "payload": data,
        }

    def close(self) -> None:
        """No frame follows: whatever is still open stays incomplete."""
        for ends in sorted(self._open):
            self._lost(ends, "frames are missing")

    def _announce(self, ends: "tuple[int, int]", data: "list[int]") -> None:
        if len(data) != 8:
            self.problems.append(f"An announcement from address {ends[0]} has not its 8 bytes.")
        elif data[0] == ABORTED:
            for pair in (ends, (ends[1], ends[0])):  # either side may break it off
                self._lost(pair, "it was broken off")
        elif data[0] in ANNOUNCED:
            self._lost(ends, "the next one began")
            size = data[1] | data[2] << 8
            if not SHORTEST <= size <= LONGEST or data[3] != _frames(size):
                self.problems.append(f"An announcement from address {ends[0]} contradicts itself.")
            else:
                self._open[ends] = data[5] | data[6] << 8 | data[7] << 16, size, {}

    def _part(self, ends: "tuple[int, int]", data: "list[int]") -> "Message | None":
        if ends not in self._open:
            self._say(f"A part of a message from address {ends[0]} came without its beginning.")
            return None
        pgn, size, parts = self._open[ends]
        number = data[0] if data else 0
        left = size - CARRIED * (number - 1)  # of the message, from this part on
        if not 1 <= number <= _frames(size) or len(data) < 1 + min(CARRIED, left):
            self._say(f"A part of the message from address {ends[0]} is cut or has a number that is none.")
            return None
        parts[number] = data[1:]  # a part that is sent again takes the place of the first
        if len(parts) < _frames(size):
            return None
        del self._open[ends]
        payload: list[int] = []
        for index in range(1, _frames(size) + 1):
            payload.extend(parts[index])
        return {"pgn": pgn, "source": ends[0], "destination": ends[1], "payload": payload[:size]}

    def _lost(self, ends: "tuple[int, int]", why: str) -> None:
        if ends in self._open:
            pgn, size, parts = self._open.pop(ends)
            self.problems.append(
                f"The message {pgn} from address {ends[0]} is incomplete, {len(parts)} of {_frames(size)} "
                f"frames: {why}."
            )

    def _say(self, problem: str) -> None:
        """The same about each of many frames is said once."""
        if problem not in self.problems:
            self.problems.append(problem)


def join(frames: "list[tuple[Identifier, list[int]]]") -> Joined:
    """All messages in frames, each given as its identifier and its bytes.

    Raises:
        ValueError: more than 8 bytes, or a value that is no byte.
    """
    transport = Transport()
    messages: list[Message] = []
    for identifier, data in frames:
        if len(data) > 8 or any(not 0 <= value <= 255 for value in data):
            raise ValueError("A frame has up to 8 bytes, each from 0 to 255 (hex 00 to FF).")
        message = transport.take(identifier, data)
        if message is not None:
            messages.append(message)
    transport.close()
    return {"messages": messages, "problems": transport.problems}


def _frames(size: int) -> int:
    return (size + CARRIED - 1) // CARRIED
