"""Python or the storage can fail; what a person typed may not be lost, and no page may claim otherwise."""

import json

from tests.helpers.servers import Server
from tests.phone.browser import Browser

PACK = "/phone/python.pack"


def drop_python(browser: Browser) -> None:
    """Lose the compiled app from the cache and end the worker that has it in memory."""
    browser.page.evaluate(
        "path => caches.keys().then(names => caches.open(names[0])).then(cache => cache.delete(path))", PACK
    )
    browser.kill_worker()


def type_note(browser: Browser, server: Server, path: str, text: str) -> None:
    browser.page.goto(f"{server.url}{path}/note")
    browser.page.wait_for_selector("textarea")
    browser.page.fill("textarea", text)


def notes(browser: Browser) -> list[str]:
    rows = [json.loads(row["text"]) for row in browser.stored("records") if row["kind"] == "note"]
    return [row["data"]["text"] for row in rows]


def test_a_note_typed_while_python_cannot_start_is_kept_shown_and_works_in_later(
    browser: Browser, server: Server
) -> None:
    browser.install(server.url)
    path = browser.start_job()
    type_note(browser, server, path, "typed while Python was gone")
    server.stop()
    drop_python(browser)
    browser.page.click("button:has-text('Save note')")
    browser.page.wait_for_selector("text=what was typed is safe")
    assert notes(browser) == []
    browser.page.click("text=See and save what is stored here")
    browser.page.wait_for_selector("#journal li:has-text('typed while Python was gone')")
    server.start()  # signal again: the lost file is fetched, and the entry tried again
    browser.page.goto(f"{server.url}/phone")
    browser.page.click("button:has-text('Try again')")
    browser.page.wait_for_selector("text=Join the shop")
    browser.page.wait_for_function("() => !document.body.innerText.includes('entries wait')")
    assert notes(browser) == ["typed while Python was gone"]
    assert browser.stored("journal") == []


def test_an_entry_that_finds_its_job_gone_stays_in_the_journal(browser: Browser, server: Server) -> None:
    browser.install(server.url)
    path = browser.start_job()
    type_note(browser, server, path, "for a job that is not here")
    browser.page.evaluate("() => { document.querySelector('form.stack').action = '/job/elsewhere/note'; }")
    browser.page.evaluate("() => HTMLFormElement.prototype.submit.call(document.querySelector('form.stack'))")
    browser.page.wait_for_selector("text=This job is not on this device yet")
    for _ in range(2):  # nor does trying again throw it away
        kept = browser.stored("journal")
        assert [entry["form"]["text"] for entry in kept] == [["for a job that is not here"]]
        browser.page.goto(f"{server.url}/phone")
        browser.page.click("button:has-text('Try again')")
        browser.page.wait_for_load_state("networkidle")


def test_a_storage_that_takes_nothing_says_so_and_the_text_stays_in_the_form(
    browser: Browser, server: Server
) -> None:
    browser.install(server.url)
    path = browser.start_job()
    type_note(browser, server, path, "typed into a full phone")
    worker = browser.context.service_workers[0]
    worker.evaluate("() => { IDBObjectStore.prototype.add = () => { throw new Error('full'); }; }")
    browser.page.click("button:has-text('Save note')")
    browser.page.wait_for_selector("text=The phone's storage did not take this")
    assert "is safe" not in browser.page.inner_text("main")
    browser.kill_worker()
    browser.page.goto(f"{server.url}{path}/note")
    browser.page.wait_for_function(
        "() => document.querySelector('textarea')?.value === 'typed into a full phone'"
    )
    browser.page.click("button:has-text('Save note')")
    browser.page.wait_for_selector("ol.timeline")
    assert notes(browser) == ["typed into a full phone"]
