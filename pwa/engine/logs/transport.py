"""Messages of more than 8 bytes, put together from their frames (SAE J1939-21, transport protocol).

An announcement (PGN 60416, control byte 32 to all, 16 to one) gives size, number of packets and PGN; packets
(PGN 60160) carry a number from 1 and seven bytes each. From memory but for the announcement to all, which is
held against an independent library.
"""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    Message = tuple[int, bytes]

TO_ALL, TO_ONE, ABORTED = 32, 16, 255
ROOM = 7  # bytes in a packet


class Transport:
    """Messages under way, one for each pair of sender and receiver.

    One that the end of the log cuts is not counted as lost: on the bus it was whole.
    """

    def __init__(self) -> None:
        self.lost = 0  # messages announced and never complete
        self._open: dict[int, list[int]] = {}  # pair -> pgn, size, packets
        self._data: dict[int, bytearray] = {}

    def announce(self, pair: int, data: bytes) -> None:
        if len(data) < 8 or data[0] not in (TO_ALL, TO_ONE, ABORTED):
            return
        if self._open.pop(pair, None):
            self.lost += 1
        if data[0] != ABORTED:
            self._open[pair] = [data[5] | data[6] << 8 | data[7] << 16, data[1] | data[2] << 8, data[3]]
            self._data[pair] = bytearray()

    def packet(self, pair: int, data: bytes) -> "Message | None":
        """PGN and payload if this packet completes a message. One that skips a packet is given up."""
        message = self._open.get(pair)
        if message is None or len(data) < 2:
            return None
        pgn, size, packets = message
        payload = self._data[pair]
        number = data[0]
        if number != len(payload) // ROOM + 1 or len(data) != 8:
            self.lost += 1
            del self._open[pair]
            return None
        payload.extend(data[1:])
        if number < packets:
            return None
        del self._open[pair]
        if len(payload) < size:
            self.lost += 1
            return None
        return pgn, bytes(payload[:size])
