"""`layby serve` as a real process of its own, for tests of its start, its end and what it logs."""

import json
import os
import re
import signal
import subprocess
import sys
from pathlib import Path
from typing import Any

from server.settings import Settings
from tests.helpers.servers import free_port

BARE = Path(__file__).with_name("bare")  # stands for what no shop's server has installed


class Process:
    """Over `folder/data`; `start` again goes on with what is there."""

    def __init__(self, folder: Path, **environment: str) -> None:
        (folder / "dist" / "phone").mkdir(parents=True)
        (folder / "dist" / "phone" / "content.json").write_text("{}")
        self.port = free_port()
        self.url = f"http://127.0.0.1:{self.port}"
        self.data = folder / "data"
        self.settings = Settings(data=self.data)
        self._program = (
            "import dataclasses, pathlib; from server.settings import from_environment;"
            "from server.serve import serve;"
            f"serve(dataclasses.replace(from_environment(), dist=pathlib.Path({str(folder / 'dist')!r})))"
        )
        self._environment = {
            **os.environ, "PYTHONPATH": os.pathsep.join([str(BARE), os.environ.get("PYTHONPATH", "")]),
            "LAYBY_DATA": str(self.data), "LAYBY_PORT": str(self.port), **environment,
        }  # fmt: skip
        self._log = folder / "log"
        self.start()

    def start(self) -> None:
        """`said` is what it printed once its port was open."""
        lines = self.launch(3)
        assert lines[0].startswith("Layby serves"), self.log
        if not self.has_passphrase:
            lines += self.read(2)
        self.said = "".join(lines)

    def launch(self, count: int) -> list[str]:
        """Start it, and read so many lines of what it prints once its port is open."""
        with self._log.open("a") as log:
            self.process = subprocess.Popen(
                [sys.executable, "-c", self._program],
                stdout=subprocess.PIPE,
                stderr=log,
                text=True,
                env=self._environment,
            )
        return self.read(count)

    def read(self, count: int) -> list[str]:
        assert self.process.stdout
        return [self.process.stdout.readline() for _ in range(count)]

    has_passphrase = False  # set it before a later start, which prints less then

    @property
    def code(self) -> str:
        """The one of the link that sets the passphrase."""
        found = re.search(r"/desk/setup#code=(\w{4}-\w{4})$", self.said, re.MULTILINE)
        return found[1] if found else ""

    def stop(self) -> int:
        self.process.send_signal(signal.SIGTERM)
        status = self.process.wait(60)
        if self.process.stdout:
            self.process.stdout.close()
        return status

    def end(self) -> None:
        self.process.kill()
        self.process.wait()
        if self.process.stdout:
            self.process.stdout.close()

    @property
    def log(self) -> str:
        return self._log.read_text()

    @property
    def lines(self) -> list[dict[str, Any]]:
        return [json.loads(line) for line in self.log.splitlines()]
