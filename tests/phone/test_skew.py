"""This release's phone in a real browser, against servers that are older and newer than it."""

from collections.abc import Callable

import pytest
from starlette.responses import JSONResponse

from server.store import quota
from server.sync import sync
from tests.helpers.servers import Server
from tests.phone.browser import Browser
from tests.phone.test_restored import exchange, join, note

OPTIONAL = ("time", "refused", "records", "more", "photos_wanted", "gaps", "here")


def older(answer: dict[str, object]) -> dict[str, object]:
    """As a server that knows none of what could be left out."""
    return {name: value for name, value in answer.items() if name not in OPTIONAL or value}


def newer(answer: dict[str, object]) -> dict[str, object]:
    """As a server two releases on: fields nobody knows here, inside and out."""
    return {**answer, "hints": {"deep": [1, None]}, "v": 3, "taken_at": "now"}


@pytest.mark.parametrize("change", [older, newer])
def test_a_phone_exchanges_with_a_server_of_another_release(
    change: Callable[[dict[str, object]], dict[str, object]],
    browser: Browser,
    server: Server,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    merge = sync._merge

    def as_then(here: object, batch: sync.Batch) -> JSONResponse:
        said = merge(here, batch.model_copy(update={"short": False}))  # type: ignore[arg-type]
        return JSONResponse(change(sync.entries.json_value(bytes(said.body))))

    monkeypatch.setattr(sync, "_merge", as_then)
    browser.install(server.url)
    join(browser, server, "Bay 2 phone")
    address = server.url + browser.new_job()
    note(browser, address, "to another release")
    exchange(browser, server)
    assert [record["data"]["text"] for record in server.shop.ledger.of_kinds(["note"])] == [
        "to another release"
    ]


def test_a_server_that_speaks_another_protocol_is_named_and_everything_is_kept(
    browser: Browser, server: Server, monkeypatch: pytest.MonkeyPatch
) -> None:
    browser.install(server.url)
    join(browser, server, "Bay 2 phone")
    address = server.url + browser.new_job()
    page = browser.page
    for versions, what in (((0, 0), "Ask whoever runs the server to update it"), ((2, 3), "take the update")):
        monkeypatch.setattr(sync, "OLDEST", versions[0])
        monkeypatch.setattr(sync, "NEWEST", versions[1])
        note(browser, address, what)
        page.goto(f"{server.url}/phone")
        page.click("button:has-text('Send and fetch now')")
        page.wait_for_selector(f"p.verdict:has-text('{what}')")
        assert "stays safe on this phone" in page.inner_text("main")
    monkeypatch.undo()
    exchange(browser, server)
    assert len(server.shop.ledger.of_kinds(["note"])) == 2


def test_a_phone_that_is_asked_to_wait_says_so_and_waits(
    browser: Browser, server: Server, monkeypatch: pytest.MonkeyPatch
) -> None:
    browser.install(server.url)
    join(browser, server, "Bay 2 phone")
    address = server.url + browser.new_job()
    exchange(browser, server)
    monkeypatch.setattr(quota, "AT_ONCE", -10)
    monkeypatch.setattr(quota, "EACH_SECOND", 0.01)
    note(browser, address, "too much")
    page, asked = browser.page, []
    merge = sync._merge
    monkeypatch.setattr(sync, "_merge", lambda *given: asked.append(given) or merge(*given))  # type: ignore[func-returns-value]
    page.goto(f"{server.url}/phone")
    page.click("button:has-text('Send and fetch now')")
    page.wait_for_selector("p.verdict:has-text('more than a person writes')")
    assert "stays safe on this phone" in page.inner_text("main")
    before = len(asked)
    page.click("button:has-text('Send and fetch now')")
    page.wait_for_load_state("networkidle")
    page.wait_for_selector("p.verdict:has-text('more than a person writes')")
    assert len(asked) == before


def test_a_notebook_that_a_newer_app_wrote_is_left_alone_and_named(browser: Browser, server: Server) -> None:
    browser.install(server.url)
    path = browser.new_job()
    held = [row["text"] for row in browser.stored("records")]
    browser.page.goto(f"{server.url}/rescue.html")
    browser.kill_worker()
    browser.page.evaluate(
        """() => new Promise((done, fail) => {
            const opening = indexedDB.open("layby", 99);
            opening.onerror = () => fail(opening.error);
            opening.onsuccess = () => { opening.result.close(); done(); };
        })"""
    )
    for address in (path, "/", f"{path}/note"):
        browser.page.goto(server.url + address)
        browser.page.wait_for_selector("h1:has-text('This notebook is newer than the app')")
    assert [row["text"] for row in browser.stored("records")] == held
