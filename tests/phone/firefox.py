"""The system's Firefox, driven over WebDriver BiDi by a Node program that stays until it is killed."""

import contextlib
import json
import os
import shutil
import signal
import subprocess
from pathlib import Path
from typing import Any

from pwa.build import node

PROGRAM = shutil.which("firefox-esr") or shutil.which("firefox")


class Firefox:
    """One phone, on a profile that outlives it."""

    def __init__(self, profile: Path) -> None:
        self._profile = profile
        self.start()

    def start(self) -> None:
        assert PROGRAM
        self._bridge = subprocess.Popen(
            [str(node.NODE), str(Path(__file__).with_name("firefox.mjs")), str(self._profile), PROGRAM],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        self._pid = int(self._read()["pid"])

    def do(self, phase: str, url: str, given: Any = None) -> dict[str, Any]:
        """One of the phases of firefox.mjs, at the app of this address; what it saw."""
        assert self._bridge.stdin
        self._bridge.stdin.write(json.dumps({"phase": phase, "url": url, "given": given}) + "\n")
        self._bridge.stdin.flush()
        return self._read()

    def _read(self) -> dict[str, Any]:
        assert self._bridge.stdout
        line = self._bridge.stdout.readline()
        assert line, "Firefox's driver is gone; what it said stands in the captured output"
        said: dict[str, Any] = json.loads(line)
        assert "error" not in said, said["error"]
        return said

    def kill(self) -> None:
        """As a dead battery would."""
        with contextlib.suppress(ProcessLookupError):
            os.kill(self._pid, signal.SIGKILL)
        self._bridge.kill()
        self._bridge.communicate()
