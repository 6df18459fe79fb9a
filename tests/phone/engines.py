"""The three engines behind one face: each opens addresses, runs expressions and tells what they say."""

import contextlib
import json
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, Protocol

import pytest
from playwright.sync_api import Error

from tests.helpers.browsers import require
from tests.helpers.servers import Server
from tests.phone import test_firefox
from tests.phone.browser import Browser
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


class Firefox:
    def __init__(self, url: str, folder: Path) -> None:
        self.url, self.folder = url, folder
        self.profile = folder / "firefox"
        self.profile.mkdir()

    def tour(self, steps: list[Step]) -> list[Any]:
        script = self.folder / "steps.json"
        script.write_text(json.dumps(steps))
        told: list[Any] = test_firefox.drive("tour", self.url, self.profile, str(script))["told"]
        return told


@pytest.fixture(params=["chromium", "firefox", "webkit"])
def engine(
    request: pytest.FixtureRequest, server: Server, tmp_path: Path, new_browser: Callable[..., Browser]
) -> Iterator[Engine]:
    """A phone with the app installed."""
    if request.param == "chromium":
        browser = new_browser()
        browser.install(server.url)
        yield Chromium(browser)
    elif request.param == "firefox":
        firefox = Firefox(server.url, tmp_path)
        test_firefox.drive("install", server.url, firefox.profile)
        yield firefox
    else:
        require(minibrowser(), "WebKitGTK's MiniBrowser with Xvfb")
        profile = tmp_path / "webkit"
        profile.mkdir()
        webkit = WebKit(profile)
        webkit.install(server.url)
        yield InWebKit(webkit)
        webkit.kill()


def on(path: str) -> str:
    """An expression that is true on a page that is there."""
    return f"location.pathname === {json.dumps(path)} && document.readyState === 'complete'"


def seen(words: str) -> str:
    return f"document.body?.innerText.includes({json.dumps(words)})"
