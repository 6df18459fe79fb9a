"""A TCP proxy that counts what passes through it, for benches that compare protocols."""

import contextlib
import socket
import threading

LINE_END = b" HTTP/1.1\r\n"


class Counted:
    """Stands before a port of this machine; `up`, `down` are bytes with all headers, `requests` HTTP ones."""

    def __init__(self, target: int) -> None:
        self._target = target
        self._listening = socket.create_server(("127.0.0.1", 0))
        self.port: int = self._listening.getsockname()[1]
        self.url = f"http://127.0.0.1:{self.port}"
        self._lock = threading.Lock()
        self.reset()
        threading.Thread(target=self._accept, daemon=True).start()

    def reset(self) -> None:
        self.up = self.down = self.requests = 0

    def _accept(self) -> None:
        while True:
            client, _ = self._listening.accept()
            server = socket.create_connection(("127.0.0.1", self._target))
            for side in (client, server):
                side.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
            threading.Thread(target=self._pass, args=(client, server, True), daemon=True).start()
            threading.Thread(target=self._pass, args=(server, client, False), daemon=True).start()

    def _pass(self, source: socket.socket, target: socket.socket, up: bool) -> None:
        tail = b""  # a request line may come in two pieces
        with contextlib.suppress(OSError):  # one side has gone: so does the other
            while piece := source.recv(65536):
                seen = tail + piece
                with self._lock:
                    if up:
                        self.up += len(piece)
                        self.requests += seen.count(LINE_END)
                    else:
                        self.down += len(piece)
                tail = seen[-len(LINE_END) + 1 :]
                target.sendall(piece)
        for side in (source, target):
            with contextlib.suppress(OSError):
                side.shutdown(socket.SHUT_RDWR)
