"""Installing, and opening from cold without a network."""

import pytest

from tests.helpers.servers import Server
from tests.phone.browser import Browser

LATE_PROGRESS = """() => navigator.serviceWorker.dispatchEvent(
    new MessageEvent("message", {data: {kind: "progress", done: 50, total: 50}}))"""


def test_first_visit_keeps_everything_and_then_needs_no_network(browser: Browser, server: Server) -> None:
    browser.page.goto(server.url)
    browser.page.wait_for_selector("text=Ready without signal")
    server.stop()
    browser.page.evaluate(LATE_PROGRESS)  # a slow phone hears of the last file when it is ready already
    assert "Ready without signal" in browser.page.inner_text("#state")
    browser.page.click("#open")
    browser.page.wait_for_selector("h1:has-text('Jobs')")


def test_every_kept_page_opens_after_the_browser_was_killed_and_the_server_is_gone(
    browser: Browser, server: Server
) -> None:
    browser.install(server.url)
    path = browser.start_job()
    server.stop()
    browser.kill()
    browser.start()
    for address in ("/", path, f"{path}/timeline", "/handbook/", "/rescue.html", "/phone"):
        browser.page.goto(server.url + address)
        assert browser.page.locator("h1").count() == 1, address
        assert "That did not work" not in browser.page.inner_text("main"), address


def test_a_killed_worker_comes_back_with_the_next_tap(browser: Browser, server: Server) -> None:
    browser.install(server.url)
    server.stop()
    browser.kill_worker()
    browser.start_job("Truck 8")
    browser.kill_worker()
    browser.page.goto(server.url)
    browser.page.wait_for_selector("text=Truck 8")


def test_a_hard_reload_finds_its_way_back(browser: Browser, server: Server) -> None:
    browser.install(server.url)
    path = browser.start_job()
    session = browser.devtools()
    session.send("Page.enable")
    session.send("Page.reload", {"ignoreCache": True})  # leaves the page without its worker
    browser.page.wait_for_selector("h1:has-text('Truck 7')")
    assert browser.page.url.endswith(path)


def test_an_incomplete_first_visit_says_so_and_keeps_nothing_half_done(
    browser: Browser, server: Server
) -> None:
    (server.settings.dist / "phone/python.pack").unlink()
    browser.page.goto(server.url)
    browser.page.wait_for_selector("text=Not everything could be fetched")
    assert browser.page.evaluate("caches.keys()") == []


def test_it_says_plainly_when_the_browser_cannot_keep_the_app(browser: Browser, server: Server) -> None:
    browser.page.add_init_script("delete Navigator.prototype.serviceWorker")
    browser.page.goto(server.url)
    browser.page.wait_for_selector("text=This browser cannot keep an app")


def test_it_says_plainly_when_nothing_can_be_stored(browser: Browser, server: Server) -> None:
    browser.page.add_init_script("indexedDB.open = () => { throw new Error('no') }")
    browser.page.goto(server.url)
    browser.page.wait_for_selector("text=does not let Layby store anything")


@pytest.mark.parametrize("granted", [True, False])
def test_the_page_says_whether_the_browser_promised_to_keep_the_notes(
    browser: Browser, server: Server, granted: bool
) -> None:
    browser.page.add_init_script(f"navigator.storage.persisted = async () => {str(granted).lower()}")
    browser.page.goto(server.url)
    browser.page.wait_for_selector(
        "text=has promised to keep" if granted else "text=has not promised to keep"
    )
