"""A real Chromium with a profile that outlives it, so that it can be killed and started again."""

import os
import shutil
import signal
import subprocess
import time
from pathlib import Path
from typing import Any

from playwright.sync_api import Page, Playwright

SIZE = {"width": 360, "height": 740}
QUIET = [
    "--headless=new", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-sync",
    "--disable-background-networking", "--disable-component-update", "--remote-debugging-port=0",
]  # fmt: skip
PATIENCE = 60  # seconds; several browsers may share the machine


def chromium() -> str | None:
    """The system's Chromium; Playwright's own download is not used."""
    return shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")


class Browser:
    """One phone: `page` is its only tab, `kill` takes the whole process away without a word."""

    def __init__(self, playwright: Playwright, profile: Path, *flags: str) -> None:
        self._playwright, self._profile, self._flags = playwright, profile, flags
        self.console: list[str] = []
        self.start()

    def start(self) -> None:
        port_file = self._profile / "DevToolsActivePort"
        port_file.unlink(missing_ok=True)
        program = chromium()
        assert program
        self._process = subprocess.Popen(
            [program, *QUIET, *self._flags, f"--user-data-dir={self._profile}", "about:blank"],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
        )
        deadline = time.monotonic() + PATIENCE
        while not (port_file.exists() and port_file.read_text().count("\n")):
            assert time.monotonic() < deadline, "Chromium does not start"
            time.sleep(0.02)
        port = port_file.read_text().split("\n")[0]
        self._remote = self._playwright.chromium.connect_over_cdp(f"http://127.0.0.1:{port}")
        self.context = self._remote.contexts[0]
        self.context.set_default_timeout(PATIENCE * 1000)
        self.page: Page = self.context.pages[0] if self.context.pages else self.context.new_page()
        self.page.set_viewport_size(SIZE)  # type: ignore[arg-type]
        self.context.on("console", lambda message: self.console.append(message.text))

    @property
    def group(self) -> int:
        """The process group of everything this browser started."""
        return self._process.pid

    def kill(self) -> None:
        os.killpg(self._process.pid, signal.SIGKILL)
        self._process.wait()

    def kill_worker(self) -> None:
        """End the idle service worker, as the browser itself does after half a minute."""
        session = self.devtools()
        session.send("ServiceWorker.enable")
        session.send("ServiceWorker.stopAllWorkers")
        session.detach()

    def devtools(self) -> Any:
        return self.context.new_cdp_session(self.page)

    def install(self, url: str) -> None:
        """Visit for the first time and wait until everything is kept, then open the app."""
        self.page.goto(f"{url}/")
        self.page.wait_for_selector("#open:not([hidden])")
        self.page.click("#open")
        self.page.wait_for_selector("h1:has-text('Jobs')")

    def start_job(self, unit: str = "Truck 7", drive: str = "electric", place: str = "bay") -> str:
        """Start a job through the screens; returns its path."""
        self.page.click("text=Start a job")
        self.page.wait_for_selector("h1:has-text('Start a job')")
        self.page.fill("[name=unit]", unit)
        self.page.fill("[name=complaint]", "no power uphill")
        self.page.check(f"[value={place}]")
        self.page.check(f"[value={drive}]")
        self.page.click("button:has-text('Start')")
        self.page.wait_for_selector(f"h1:has-text('{unit}')")
        return self.page.url[self.page.url.index("/job/") :]

    def stored(self, store: str) -> list[Any]:
        """Everything in one of the phone's IndexedDB stores; photos without their bytes."""
        return self.page.evaluate(
            """store => new Promise((done, fail) => {
                const opening = indexedDB.open("layby");
                opening.onerror = () => fail(opening.error);
                opening.onsuccess = () => {
                    const all = opening.result.transaction(store).objectStore(store).getAll();
                    all.onsuccess = () => { opening.result.close(); done(all.result.map(({bytes, ...rest}) =>
                        bytes ? {...rest, length: bytes.byteLength} : rest)); };
                };
            })""",
            store,
        )

    def stored_at(self, url: str, store: str) -> list[Any]:
        """As `stored`, from a page that needs neither the worker nor Python."""
        self.page.goto(f"{url}/rescue.html")
        return self.stored(store)
