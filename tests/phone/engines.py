"""The three engines behind one face: each opens addresses, runs expressions and tells what they say."""

import contextlib
import json
import shutil
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, Protocol

import pytest
from playwright.sync_api import Error

from tests.helpers.browsers import require
from tests.helpers.servers import Server
from tests.phone.browser import Browser, chromium
from tests.phone.firefox import Firefox
from tests.phone.webkit import WebKit, minibrowser

# Reads every store of the phone as it is, from a page that has neither worker nor Python behind it.
DUMP = """new Promise((done, fail) => {
  const opening = indexedDB.open("layby");
  opening.onerror = () => fail(opening.error);
  opening.onsuccess = () => {
    const names = [...opening.result.objectStoreNames];
    const transaction = opening.result.transaction(names);
    const found = {};
    for (const name of names) for (const what of ["getAllKeys", "getAll"]) {
      const asked = transaction.objectStore(name)[what]();
      asked.onsuccess = () => (found[`${name} ${what}`] = asked.result);
    }
    transaction.oncomplete = () => { opening.result.close(); done(JSON.stringify(found)); };
  };
})"""

# "open": an address; "run": an expression; "until": one that becomes true; "tell": one whose value is told.
Step = dict[str, str]


class Engine(Protocol):
    def tour(self, steps: list[Step]) -> list[Any]: ...


class Chromium:
    def __init__(self, browser: Browser) -> None:
        self.page = browser.page

    def tour(self, steps: list[Step]) -> list[Any]:
        told = []
        for step in steps:
            if "open" in step:
                self.page.goto(step["open"], wait_until="commit")
            if "run" in step:
                self.page.evaluate(step["run"])
            self._wait(step["until"])
            told.append(self.page.evaluate(step["tell"]))
        return told

    def _wait(self, script: str) -> None:
        """Ask again and again; the policy of the app's pages allows no function from a text."""
        for _ in range(1000):
            with contextlib.suppress(Error):  # a page on its way to another one may not answer
                if self.page.evaluate(script):
                    return
            time.sleep(0.05)
        pytest.fail(f"never true: {script}\non the page {self.page.url}:\n{self.page.inner_text('body')}")


class InWebKit:
    def __init__(self, browser: WebKit) -> None:
        self.browser = browser

    def _ask(self, script: str) -> Any:
        """As `run`, for what may be asked twice: a page on its way to another one may not answer."""
        for last in (False, False, False, False, True):
            try:
                return self.browser.run(script)
            except AssertionError as error:
                if last or "no answer" not in str(error):
                    raise
        return None

    def tour(self, steps: list[Step]) -> list[Any]:
        told = []
        for step in steps:
            if "open" in step:
                # It answers before it goes, and the new page does not know that the old one has been left.
                going = f"setTimeout(() => location.href = {json.dumps(step['open'])}, 50)"
                self._ask(f"void (window.left = true, {going})")
                self.browser.wait("!window.left")
            if "run" in step:
                self.browser.run(f"void {step['run']}")
            self.browser.wait(step["until"])
            told.append(self._ask(step["tell"]))
        return told


class InFirefox:
    def __init__(self, browser: Firefox, url: str) -> None:
        self.browser, self.url = browser, url

    def tour(self, steps: list[Step]) -> list[Any]:
        told: list[Any] = self.browser.do("tour", self.url, steps)["told"]
        return told


@pytest.fixture(scope="session")
def engines(
    request: pytest.FixtureRequest, port: int, dist: Path, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Callable[[str], Engine]]:
    """Starts each engine once a process, on a phone with the app of `server` that all its tests use."""
    running: dict[str, Engine] = {}
    folder = tmp_path_factory.mktemp("engines")

    def install(name: str) -> Engine:
        if name == "firefox":
            profile = folder / "firefox"
            shutil.copytree(request.getfixturevalue("firefox_profile"), profile, symlinks=True)
            firefox = Firefox(profile)
            request.addfinalizer(firefox.kill)
            return InFirefox(firefox, f"http://127.0.0.1:{port}")
        (folder / name).mkdir()
        server = Server(folder / name, dist, port=port)
        try:
            if name == "chromium":
                require(chromium(), "Chromium")
                browser = Browser(request.getfixturevalue("playwright"), folder / "chromium-profile")
                request.addfinalizer(browser.kill)
                browser.install(server.url)
                return Chromium(browser)
            require(minibrowser(), "WebKitGTK's MiniBrowser with Xvfb")
            (folder / "webkit-profile").mkdir()
            webkit = WebKit(folder / "webkit-profile")
            request.addfinalizer(webkit.kill)
            webkit.install(server.url)
            return InWebKit(webkit)
        finally:
            server.stop()

    def engine(name: str) -> Engine:
        if name not in running:
            running[name] = install(name)
        return running[name]

    return engine


@pytest.fixture(params=["chromium", "firefox", "webkit"])
def engine(request: pytest.FixtureRequest) -> Engine:
    """A phone with the app installed. It is asked for before `server`, which has the same address."""
    name: str = request.param
    started: Engine = request.getfixturevalue("engines")(name)
    return started


def on(path: str) -> str:
    """An expression that is true on a page that is there."""
    return f"location.pathname === {json.dumps(path)} && document.readyState === 'complete'"


def seen(words: str) -> str:
    return f"document.body?.innerText.includes({json.dumps(words)})"
