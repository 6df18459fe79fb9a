"""A TCP proxy that is a bad line: it delays, throttles, stalls, cuts at a byte, and sends requests twice."""

import contextlib
import random
import socket
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field

PIECE = 512  # bytes that pass, or are lost, together


def nothing() -> None: ...


@dataclass
class Fate:
    """What happens to one connection. `up` and `down` are bytes that pass before it is cut; None is all."""

    up: int | None = None
    down: int | None = None
    at_cut: Callable[[], None] = nothing  # after the last byte has passed, before the ends notice
    at: int | None = None  # `then` is called once this many bytes have gone up
    then: Callable[[], None] = nothing
    delay: float = 0  # seconds before the first byte goes on: so connections overtake each other
    rate: float = 0  # bytes/s; 0 is as fast as it goes
    lost: float = 0  # chance that a piece is lost on its way ...
    again: float = 0.2  # ... and comes this many seconds later
    twice: bool = False  # the server gets the same bytes once more, on a connection of their own
    passed: dict[str, int] = field(default_factory=lambda: {"up": 0, "down": 0})


class Line:
    """Stands before a server's port. `fate` is asked for each new connection."""

    def __init__(self, port: int, fate: Callable[[], Fate] = Fate, seed: int = 0) -> None:
        self.port, self.fate, self._chance = port, fate, random.Random(seed)
        self.fates: list[Fate] = []
        self._socket = socket.create_server(("127.0.0.1", 0), backlog=64)
        self.url = f"http://127.0.0.1:{self._socket.getsockname()[1]}"
        threading.Thread(target=self._accept, daemon=True).start()

    def close(self) -> None:
        with contextlib.suppress(OSError):
            self._socket.shutdown(socket.SHUT_RDWR)
        self._socket.close()

    def _accept(self) -> None:
        with contextlib.suppress(OSError):
            while True:
                near, _ = self._socket.accept()
                fate = self.fate()
                self.fates.append(fate)
                threading.Thread(target=self._carry, args=(near, fate), daemon=True).start()

    def _carry(self, near: socket.socket, fate: Fate) -> None:
        try:
            far = socket.create_connection(("127.0.0.1", self.port))
        except OSError:
            near.close()
            return
        if fate.twice:
            self._repeat(near, far)
        answers = threading.Thread(target=self._pump, args=(far, near, fate, "down"), daemon=True)
        answers.start()
        self._pump(near, far, fate, "up")
        answers.join()
        near.close()
        far.close()

    def _pump(self, source: socket.socket, sink: socket.socket, fate: Fate, way: str) -> None:
        most = fate.up if way == "up" else fate.down
        time.sleep(fate.delay if way == "up" else 0)
        with contextlib.suppress(OSError):
            while piece := source.recv(PIECE):
                piece = piece if most is None else piece[: most - fate.passed[way]]
                self._take_time(len(piece), fate)
                sink.sendall(piece)
                before, fate.passed[way] = fate.passed[way], fate.passed[way] + len(piece)
                if way == "up" and fate.at is not None and before < fate.at <= fate.passed[way]:
                    fate.then()
                if fate.passed[way] == most:
                    fate.at_cut()
                    break
        # Both ways end, for whoever sends a request waits for its answer.
        for end in (sink, source):
            with contextlib.suppress(OSError):
                end.shutdown(socket.SHUT_RDWR)

    def _take_time(self, size: int, fate: Fate) -> None:
        if fate.rate:
            time.sleep(size / fate.rate)
        if self._chance.random() < fate.lost:
            time.sleep(fate.again)

    def _repeat(self, near: socket.socket, far: socket.socket) -> None:
        """One request is read, sent on a connection of its own, and then sent as if nothing had been."""
        request = _whole_request(near)
        with socket.create_connection(("127.0.0.1", self.port)) as first:
            first.sendall(request)
            first.recv(PIECE)
        far.sendall(request)


def _whole_request(near: socket.socket) -> bytes:
    data = b""
    while b"\r\n\r\n" not in data:
        data += near.recv(PIECE)
    head, _, body = data.partition(b"\r\n\r\n")
    lengths = [line[15:] for line in head.lower().split(b"\r\n") if line.startswith(b"content-length:")]
    while len(body) < int(lengths[0] if lengths else 0):
        piece = near.recv(PIECE)
        data, body = data + piece, body + piece
    return data
