"""`layby dev` in a small copy of the checkout: changes are served, and what is broken is shown."""

import os
import re
import shutil
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import httpx
import pytest

from server.commands import dev
from tests.helpers.processes import free_port

ROOT = Path(__file__).parents[2]
ROOMS = ("content", "pwa", "server", "demo")
GENERATED = shutil.ignore_patterns("node_modules", "dist", ".dev", "data", "__pycache__")
PATIENCE = 120  # seconds; the machine may be busy


class Dev:
    """The command over a copy of this checkout."""

    def __init__(self, folder: Path) -> None:
        self.root = folder
        for room in ROOMS:
            shutil.copytree(ROOT / room, folder / room, ignore=GENERATED)
        for name in ("LICENSE", "pyproject.toml"):
            shutil.copy(ROOT / name, folder)
        (folder / "pwa/node_modules").symlink_to((ROOT / "pwa/node_modules").resolve())
        port = free_port()
        self._log = folder / "log.txt"
        with self._log.open("wb") as log:
            self.process = subprocess.Popen(
                [sys.executable, "-c", "from server.cli import main; main()", "dev"],
                cwd=folder,
                env={**os.environ, "PYTHONPATH": str(folder), "LAYBY_PORT": str(port)},
                stdout=log,
                stderr=subprocess.STDOUT,
            )
        self.desk = httpx.Client(
            base_url=f"http://127.0.0.1:{port}", headers={"Sec-Fetch-Site": "same-origin"}, timeout=PATIENCE
        )

    @property
    def log(self) -> str:
        return self._log.read_text("utf-8")

    def until(self, is_so: Callable[[], object], what: str) -> None:
        """Waits, and prints how long it took: no test judges a time."""
        start = time.monotonic()
        while not is_so():
            assert self.process.poll() is None, self.log
            assert time.monotonic() < start + PATIENCE, f"{what}: not after {PATIENCE} s\n{self.log}"
            time.sleep(0.05)
        print(f"{what}: {time.monotonic() - start:.2f} s")

    def change(self, path: str, before: str, after: str) -> None:
        file = self.root / path
        text = file.read_text("utf-8")
        assert before in text, path
        file.write_text(text.replace(before, after, 1), "utf-8")


@pytest.fixture
def running(tmp_path: Path) -> Iterator[Dev]:
    started = Dev(tmp_path)
    yield started
    started.process.terminate()
    started.process.wait(60)


def test_a_change_is_served_and_a_failure_is_shown(running: Dev) -> None:
    running.until(lambda: "sign in as" in running.log, "from nothing to the demo's shop")
    assert f"the shop is in {running.root / 'demo/data'}" in running.log
    way = re.search(r"sign in as (.+) with (\S+)", running.log)
    assert way
    assert running.desk.post("/desk/enter", data={"name": way[1], "passphrase": way[2]}).status_code == 303

    def says(path: str, words: str) -> Callable[[], bool]:
        return lambda: words in running.desk.get(path).text

    running.change("pwa/templates/job/jobs.html", "<h1>Jobs</h1>", "<h1>Every job</h1>")
    running.until(says("/desk/", "<h1>Every job</h1>"), "a template at the desk")
    running.change("content/cautions/battery.yaml", "Rings and metal watch strap off.", "Mind the kettle.")
    running.until(says("/phone/content.json", "Mind the kettle."), "content on the phone")
    running.change("pwa/app/notebook.py", "This page does not exist.", "There is no such page here.")
    running.until(says("/desk/nowhere", "There is no such page here."), "an app module at the desk")
    worker = running.desk.head("/worker.js").headers["ETag"]
    running.change("pwa/phone/worker.js", "Layby is damaged on this phone", "Layby is broken on this phone")
    running.until(lambda: running.desk.head("/worker.js").headers["ETag"] != worker, "a script of the worker")

    running.change("pwa/templates/job/jobs.html", "<h1>Every job</h1>", "<h1>{{ nowhere.to.be.found }}</h1>")
    running.until(says("/desk/", "pwa/templates/job/jobs.html"), "a failing template")
    assert "nowhere" in running.desk.get("/desk/").text
    running.change("pwa/templates/job/jobs.html", "<h1>{{ nowhere.to.be.found }}</h1>", "<h1>Mended</h1>")
    running.until(says("/desk/", "<h1>Mended</h1>"), "a mended template")

    running.change("pwa/app/notebook.py", "class Notebook:", "class Notebook")
    running.until(lambda: "this cannot run" in running.log, "an app module that does not parse")
    assert "SyntaxError" in running.log
    running.change("pwa/app/notebook.py", "class Notebook", "class Notebook:")
    running.until(says("/desk/", "<h1>Mended</h1>"), "a mended app module")


def test_outside_a_checkout_it_says_what_it_needs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(dev, "ROOT", tmp_path)
    with pytest.raises(ValueError, match="needs a checkout"):
        dev.run(None)  # type: ignore[arg-type]
