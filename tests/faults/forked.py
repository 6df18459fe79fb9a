"""Servers that can be killed and started again in a tenth of a second.

A process of its own has everything imported and forks a server when it is told so, one JSON line at a time.
The server is a real process, and SIGKILL ends it as it ends any other. The tests' own process is never
forked: it has threads.
"""

import json
import os
import signal
import socket
import subprocess
import sys
from pathlib import Path
from typing import Any

import uvicorn

from server import observe
from server.app import create
from server.serve import config
from server.settings import Settings
from server.store.shop import Shop
from tests.helpers.servers import Device, PlainBook


class Forge:
    """The process that forks. It ends with this object, and its server with it."""

    def __init__(self) -> None:
        self._process = subprocess.Popen(
            [sys.executable, "-m", __name__], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
        )

    def ask(self, **order: Any) -> int:
        assert self._process.stdin and self._process.stdout
        print(json.dumps(order), file=self._process.stdin, flush=True)
        return int(self._process.stdout.readline())

    def close(self) -> None:
        self._process.communicate()


class Forked:
    """One shop's server, over `folder/data`; it always comes back on the same port."""

    def __init__(self, forge: Forge, folder: Path) -> None:
        self._forge = forge
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        self.settings = Settings(data=folder / "data", dist=folder, port=self.port)
        self.url = f"http://127.0.0.1:{self.port}"
        self.log = folder / "log"
        self.start()

    def start(self) -> None:
        """Its port is open afterwards."""
        self.pid = self._forge.ask(start=str(self.settings.data), port=self.port, log=str(self.log))

    def kill(self) -> None:
        """No signal handler, no `finally`: what a power cut leaves, but for the disk's own cache."""
        self._forge.ask(end=self.pid, how=signal.SIGKILL)

    def ask_to_stop(self) -> None:
        os.kill(self.pid, signal.SIGTERM)

    def stop(self) -> int:
        """The exit code of a server that was asked to stop; waits until it is gone."""
        return self._forge.ask(end=self.pid, how=signal.SIGTERM)

    def opened(self) -> Shop:
        """What is stored, seen from beside the server."""
        return Shop(self.settings)

    def device(self, name: str) -> Device:
        """A new phone, enrolled."""
        self.shop = self.opened()
        try:
            return Device(self, name)  # type: ignore[arg-type]
        finally:
            self.shop.close()


class _Told(uvicorn.Server):
    def __init__(self, settings: Settings, tell: int) -> None:
        app = create(settings, PlainBook())
        super().__init__(config(app, settings))
        self._tell = tell

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        await super().startup(sockets)
        os.write(self._tell, b"1")


def _start(data: str, port: int, log: str) -> int:
    ready, tell = os.pipe()
    pid = os.fork()
    if pid == 0:
        try:
            with Path(log).open("a") as file:
                os.dup2(file.fileno(), 2)
            observe.to_stderr()
            settings = Settings(data=Path(data), dist=Path(data).parent, port=port, spare_bytes=0)
            _Told(settings, tell).run()
        finally:
            os._exit(0)
    os.close(tell)
    with os.fdopen(ready, "rb") as pipe:
        assert pipe.read(1), f"the server does not start: {Path(log).read_text()}"
    return pid


def _end(pid: int, how: int) -> int:
    os.kill(pid, how)
    return os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1])


def main() -> None:
    running: set[int] = set()
    for line in sys.stdin:
        order = json.loads(line)
        if "start" in order:
            answer = _start(order["start"], order["port"], order["log"])
            running.add(answer)
        else:
            answer = _end(order["end"], order["how"]) if order["end"] in running else 0
            running.discard(order["end"])
        print(answer, flush=True)
    for pid in running:
        _end(pid, signal.SIGKILL)


if __name__ == "__main__":
    main()
