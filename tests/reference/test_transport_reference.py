"""Long messages against the library can-j1939 2.0.12: it joins the same frames to the same payloads."""

import random

import j1939
import pytest

from pwa.engine.codes import dtc
from pwa.engine.codes import frames as can_frames
from pwa.engine.codes.transport import Transport

ANNOUNCE, TRANSFER = 0x1CECFF00, 0x1CEBFF00


def frames(pgn, payload, sender):
    """A message to all in its frames (SAE J1939-21): the announcement, then seven bytes at a time."""
    packets = [payload[at : at + 7].ljust(7, b"\xff") for at in range(0, len(payload), 7)]
    size, count = len(payload).to_bytes(2, "little"), len(packets)
    made = [(ANNOUNCE | sender, bytes([32, *size, count, 255, *pgn.to_bytes(3, "little")]))]
    return made + [(TRANSFER | sender, bytes([number + 1]) + part) for number, part in enumerate(packets)]


def theirs(sent):
    found = []
    unit = j1939.ElectronicControlUnit()
    try:
        unit.subscribe(lambda priority, pgn, sender, time, data: found.append((pgn, sender, bytes(data))))
        for identifier, data in sent:
            unit.notify(identifier, bytearray(data), 0.0)
    finally:
        unit.stop()
    return found


def ours(sent):
    transport, found = Transport(), []
    for identifier, data in sent:
        message = transport.take(can_frames.identifier(f"{identifier:08X}"), list(data))
        if message:
            found.append((message["pgn"], message["source"], bytes(message["payload"])))
    assert transport.problems == []
    return found


@pytest.mark.parametrize("seed", range(5))
def test_messages_of_two_senders_at_once_are_joined_alike(seed):
    chance = random.Random(seed)
    queues = []
    for sender in (0, 0x21):
        queue = []
        for _ in range(4):
            dtcs = [
                bytes(
                    dtc.encode_dtc(chance.randrange(1, 524287), chance.randrange(32), chance.randrange(127))
                )
                for _ in range(chance.randrange(2, 20))
            ]
            queue += frames(65226, bytes([0x04, 0xFF]) + b"".join(dtcs), sender)
        queues.append(queue)
    sent = []
    while any(queues):
        sent.append(chance.choice([queue for queue in queues if queue]).pop(0))
    assert ours(sent) == theirs(sent)
    assert len(ours(sent)) == 8
