"""No page of another site writes on a phone, in any of the three engines; the phone's own forms pass."""

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
from tests.security.hostile import Hostile

REFUSED = "This form did not come from Layby. Nothing was written."
WAYS = ["form", "multipart", "plain", "silent", "honest", "hop"]
TOKENS = ["", "undefined", "null", "0" * 64]

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
# As without a script: the browser itself sends the form, and opens the answer.
NATIVE = """(() => {
  const form = [...document.forms].find((form) => form.getAttribute("action") === "/job/new");
  form.elements.unit.value = "Truck 12";
  form.elements.complaint.value = "no power";
  for (const [name, value] of [["place", "bay"], ["drive", "electric"]])
    form.querySelector(`[name=${name}][value=${value}]`).checked = true;
  HTMLFormElement.prototype.submit.call(form);
})()"""
# The same by a script of ours on a page that an earlier version made, whose forms had no token.
STALE = """(() => {
  const body = new URLSearchParams({ name: "An older page" });
  const asked = fetch("/phone/name", { method: "POST", body });
  asked.then((answer) => (document.title = `answered ${answer.url}`));
})()"""

Step = dict[
    str, str
]  # "open": an address, "run": an expression, "until": one that becomes true, "tell": one to note


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

    def tour(self, steps: list[Step]) -> list[Any]:
        told = []
        for step in steps:
            if "open" in step:
                self.browser.run(f"void (location.href = {json.dumps(step['open'])})")
            if "run" in step:
                self.browser.run(f"void {step['run']}")
            self.browser.wait(step["until"])
            told.append(self.browser.run(step["tell"]))
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


@pytest.fixture
def hostile() -> Iterator[Hostile]:
    site = Hostile()
    yield site
    site.stop()


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
    return f"location.pathname === {json.dumps(path)} && document.readyState === 'complete'"


def seen(words: str) -> str:
    return f"document.body?.innerText.includes({json.dumps(words)})"


def test_no_form_of_another_site_writes_and_the_phones_own_pass(
    engine: Engine, server: Server, hostile: Hostile
) -> None:
    app = server.url
    look = {"open": f"{app}/rescue.html", "until": on("/rescue.html"), "tell": DUMP}
    own = [
        {"open": f"{app}/job/new", "until": on("/job/new"), "tell": "1"},
        {"run": NATIVE, "until": seen("Make safe") + " && location.pathname", "tell": "location.pathname"},
    ]
    *_, job, before = engine.tour([*own, look])
    fields = {"unit": "Bad", "complaint": "bad", "place": "bay", "drive": "electric", "name": "Bad",
              "text": "bad", "code": "bad", "rate": "1", "currency": "X", "accept": "yes"}  # fmt: skip
    paths = ["/job/new", "/phone/name", "/phone/free", "/prices", f"{job}/note", "/files"]
    steps: list[Step] = []
    for number, way in enumerate(WAYS * 3):
        origin, path = hostile.origins[number % 2], paths[(number + number // len(WAYS)) % len(paths)]
        given = {**fields, "layby-token": TOKENS[number % len(TOKENS)]}
        page = hostile.page(origin, app, way, [path], given)
        steps.append(
            {
                "open": page,
                "until": f"location.origin === '{app}' && {seen(REFUSED)}",
                "tell": "location.pathname",
            }
        )
    for origin in hostile.origins:
        page = hostile.page(origin, app, "aside", paths, fields)
        steps.append({"open": page, "until": "document.title === 'done'", "tell": "1"})
    *_, after = engine.tour([*steps, look])
    assert json.loads(after) == json.loads(before)

    stale = {"open": f"{app}/phone", "until": on("/phone"), "tell": "1"}
    renamed = {"run": STALE, "until": "document.title.startsWith('answered')", "tell": "document.title"}
    *_, last = engine.tour([stale, renamed, look])
    [device] = [
        fact for fact in json.loads(last)["facts getAll"] if isinstance(fact, dict) and "head" in fact
    ]
    assert device["name"] == "An older page"


def test_no_address_that_another_site_opens_writes(engine: Engine, server: Server, hostile: Hostile) -> None:
    app = server.url
    look = {"open": f"{app}/rescue.html", "until": on("/rescue.html"), "tell": DUMP}
    [before] = engine.tour([look])
    paths = ["/phone/free", "/phone/retry", "/phone/name?name=Bad", "/job/new?unit=Bad&complaint=bad",
             "/files", "/files/all", "/phone#code=AAAA-AAAA", "/photo/" + "0" * 64]  # fmt: skip
    steps = [
        {
            "open": hostile.page(origin, app, "aside", paths, {}),
            "until": "document.title === 'done'",
            "tell": "1",
        }
        for origin in hostile.origins
    ]
    steps += [
        {
            "open": hostile.page(origin, app, "link", [path], {}),
            "until": f"location.origin === '{app}'",
            "tell": "1",
        }
        for origin in hostile.origins
        for path in paths
        if path != "/files/all"  # a download opens no page
    ]
    *_, after = engine.tour([*steps, look])
    told, was = (
        {name: found for name, found in json.loads(text).items() if "facts" not in name}
        for text in (after, before)
    )
    assert told == was
