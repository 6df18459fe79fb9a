"""The app's own files rot or go missing on the phone: mended with signal, and named without."""

import pytest

from tests.helpers.servers import Server
from tests.phone.browser import Browser

CACHE = "caches.keys().then(names => caches.open(names[0]))"
CSS = "{headers: {'Content-Type': 'text/css'}}"
ROT = f"path => {CACHE}.then(cache => cache.put(path, new Response('rotten', {CSS})))"
LOSE = f"path => {CACHE}.then(cache => cache.delete(path))"
KEPT = f"path => {CACHE}.then(cache => cache.match(path)).then(it => it?.text() ?? '')"


def damage(browser: Browser, how: str, path: str) -> None:
    browser.page.evaluate(how, path)
    browser.kill_worker()


@pytest.mark.parametrize("how", [ROT, LOSE])
def test_a_damaged_file_is_mended_with_signal_and_named_without(
    browser: Browser, server: Server, how: str
) -> None:
    page, root = browser.page, server.url
    browser.install(root)
    sound = page.evaluate(KEPT, "/handbook/index.html")
    damage(browser, how, "/handbook/index.html")
    page.goto(root)  # any page will do: all files are looked at, also those that nobody opens
    page.wait_for_function(
        f"sound => ({KEPT})('/handbook/index.html').then(text => text === sound)", arg=sound
    )

    server.stop()
    for path in ("/phone/python.pack", "/phone/micropython.wasm"):
        damage(browser, how, path)
        page.goto(root)
        page.wait_for_selector("text=A file of the app on this phone is damaged or missing")
        page.click("text=See and save what is stored here")
        page.wait_for_selector("#state:has-text('0 records')")
    server.start()
    page.goto(root)
    page.wait_for_selector("h1:has-text('Jobs')")
    server.stop()
    browser.kill_worker()
    page.goto(root)
    page.wait_for_selector("h1:has-text('Jobs')")


def test_a_damaged_style_sheet_is_named_over_every_page(browser: Browser, server: Server) -> None:
    page, root = browser.page, server.url
    browser.install(root)
    server.stop()
    damage(browser, ROT, "/static/layby.css")
    page.goto(root)
    page.goto(f"{root}/phone")
    page.wait_for_selector(".notices:has-text('damaged or missing')")
    server.start()
    page.wait_for_function("() => fetch('/static/layby.css').then(it => it.ok)")
    page.goto(root)
    page.wait_for_selector("h1:has-text('Jobs')")
    assert page.locator(".notices:has-text('damaged')").count() == 0
