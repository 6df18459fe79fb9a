"""A real Chromium with a profile that outlives it, so that it can be killed and started again."""

import os
import shutil
import signal
import subprocess
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from playwright.sync_api import BrowserContext, Page, Playwright, ViewportSize, expect

from tests.helpers.servers import Server, session

SIZE: ViewportSize = {"width": 360, "height": 740}
QUIET = [
    "--headless=new", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-sync",
    "--disable-background-networking", "--disable-component-update", "--remote-debugging-port=0",
    # The list under the address field is a page with a process of its own: half of what a start costs.
    "--disable-features=WebUIOmniboxPopup,WebUIOmniboxAimPopup,WebUIOmniboxFullPopup",
]  # fmt: skip
PATIENCE = 60  # seconds; several browsers may share the machine
expect.set_options(timeout=PATIENCE * 1000)

# Starts a job and accepts its cautions as the forms of these pages do, without opening the pages.
START = """async (fields) =>
    (await fetch("/job/new", {method: "POST", body: new URLSearchParams(fields)})).url"""
ACCEPT = """async (path) => {
    let text = await (await fetch(path + "/safe")).text();
    for (;;) {
        const form = new DOMParser().parseFromString(text, "text/html").querySelector(".caution form");
        if (!form) return text.includes("All cautions are accepted");
        text = await (await fetch(path + "/safe", {method: "POST", body: new FormData(form)})).text();
    }
}"""


def chromium() -> str | None:
    """The system's Chromium; Playwright's own download is not used."""
    return shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")


class Browser:
    """One phone: `page` is its only tab, `kill` takes the whole process away without a word.

    It starts when it is first used. `template` gives a profile that has the app of an address installed.
    """

    def __init__(
        self,
        playwright: Playwright,
        profile: Path,
        *flags: str,
        template: Callable[[str], Path] | None = None,
    ) -> None:
        self._playwright, self._profile, self._flags, self._template = playwright, profile, flags, template
        self.root = ""  # of the app that is installed
        self.console: list[str] = []
        self._process: subprocess.Popen[bytes] | None = None

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
        self._context = self._remote.contexts[0]
        self._context.set_default_timeout(PATIENCE * 1000)
        self._page = self._context.pages[0] if self._context.pages else self._context.new_page()
        self._page.set_viewport_size(SIZE)
        self._context.on("console", lambda message: self.console.append(message.text))

    @property
    def page(self) -> Page:
        self._started()
        return self._page

    @property
    def context(self) -> BrowserContext:
        self._started()
        return self._context

    @property
    def group(self) -> int:
        """The process group of everything this browser started."""
        return self._started().pid

    def _started(self) -> "subprocess.Popen[bytes]":
        if self._process is None:
            self.start()
        assert self._process
        return self._process

    def kill(self) -> None:
        if self._process:
            os.killpg(self._process.pid, signal.SIGKILL)
            self._process.wait()

    def close(self) -> None:
        """As a person closes it: everything is on the disk afterwards."""
        self._remote.new_browser_cdp_session().send("Browser.close")
        self._started().wait(PATIENCE)

    def kill_worker(self) -> None:
        """End the idle service worker, as the browser itself does after half a minute."""
        session = self.devtools()
        session.send("ServiceWorker.enable")
        session.send("ServiceWorker.stopAllWorkers")
        session.detach()

    def devtools(self) -> Any:
        return self.context.new_cdp_session(self.page)

    def install(self, url: str) -> None:
        """Have the app on this phone and open it, by a first visit or with the profile of one."""
        self.root = url
        if self._template and self._process is None:
            shutil.copytree(self._template(url), self._profile, symlinks=True)
            self.page.goto(f"{url}/")
        else:
            self.visit(url)
            self.page.click("#open")
        self.page.wait_for_selector("h1:has-text('Jobs')")

    def visit(self, url: str) -> None:
        """Visit for the first time and wait until everything is kept."""
        self.page.goto(f"{url}/")
        self.page.wait_for_selector("#open:not([hidden])")

    def stranger(self) -> Page:
        """A page of somebody else's browser, in which nothing of this phone is."""
        context = self.context.browser.new_context(viewport=SIZE)  # type: ignore[union-attr]
        context.set_default_timeout(PATIENCE * 1000)
        return context.new_page()

    def new_job(self, unit: str = "Truck 7") -> str:
        """Have a job, whatever page of the app is open, and stay there; returns the job's path."""
        fields = {"unit": unit, "complaint": "no power uphill", "place": "bay", "drive": "electric"}
        url = str(self.page.evaluate(START, fields))
        assert "/job/" in url and not url.endswith("/new"), url
        return url[url.index("/job/") :].split("?")[0].removesuffix("/safe")

    def accept_all(self, path: str) -> None:
        """Have all cautions of a job accepted, and stay on the page."""
        assert self.page.evaluate(ACCEPT, path)

    def fresh_tab(self) -> None:
        """Go on in a new tab, with nothing of the one before but what is stored; start first after a kill."""
        if self._process is None or self._process.poll() is not None:
            self.start()
        before = self._context.pages
        self._page = self._context.new_page()
        self._page.set_viewport_size(SIZE)
        for page in before:
            page.close()
        self.console.clear()

    def start_job(self, unit: str = "Truck 7", drive: str = "electric", place: str = "bay") -> str:
        """Start a job by hand, through the screens; returns its path."""
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


def enter_desk(page: Page, server: Server) -> None:
    """Signed in at the desk as somebody new, in front of the jobs."""
    cookie = {"name": "layby", "value": session(server.shop), "url": server.url}
    page.context.add_cookies([cookie])  # type: ignore[list-item]
    page.goto(f"{server.url}/desk/")
    page.wait_for_selector("h1:has-text('Jobs')")
