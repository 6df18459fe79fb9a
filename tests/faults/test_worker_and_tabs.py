"""The worker ended within a form, its storage lost under it, two tabs at once: all is kept once, no gap."""

import json
from pathlib import Path

from pwa.app.record.chain import digest
from tests.faults.test_python_fails import notes, type_note
from tests.helpers.servers import Server
from tests.phone.browser import Browser
from tests.phone.test_update import publish

# Where a form's way through the worker is stopped, by a promise that never settles.
PLACES = {
    "nothing is kept yet": "IDBObjectStore.prototype.add",
    "it is in the journal": "IDBIndex.prototype.count",
    "its record is written, and nobody has heard of it": "Response.redirect",
}


def write_from(page, path: str, texts: list[str]) -> None:
    """Send these notes all at once, and do not wait; `window.sent` tells how many are answered."""
    page.evaluate(
        """([path, texts]) => {
            window.sent = 0;
            for (const text of texts) {
                fetch(`${path}/note`, {method: "POST", body: new URLSearchParams({text})})
                    .then((answer) => { window.sent += answer.ok; });
            }
        }""",
        [path, texts],
    )


def assert_one_chain(phone: Browser) -> None:
    """Numbers without a gap or a fork, each with the hash of the one before it."""
    texts = sorted((row["text"] for row in phone.stored("records")), key=lambda text: json.loads(text)["seq"])
    known = [json.loads(text) for text in texts]
    assert [record["seq"] for record in known] == list(range(1, len(known) + 1))
    assert [record["prev"] for record in known] == ["", *map(digest, texts[:-1])]


def test_a_worker_ended_in_the_middle_of_a_form_loses_nothing_and_writes_nothing_twice(
    browser: Browser, server: Server
) -> None:
    browser.install(server.url)
    server.stop()
    path = browser.new_job()
    for number, (words, place) in enumerate(PLACES.items(), 1):
        type_note(browser, server, path, words)
        browser.context.service_workers[-1].evaluate(
            f"() => {{ {place} = () => {{ self.reached = true; return new Promise(() => {{}}); }}; }}"
        )
        browser.page.click("button:has-text('Save note')")
        while not browser.context.service_workers[-1].evaluate("() => self.reached"):
            browser.page.wait_for_timeout(20)
        browser.kill_worker()
        browser.page.wait_for_selector(f"ol.timeline:has-text('{words}')")
        assert notes(browser) == list(PLACES)[:number]
        assert browser.stored("journal") == []
    assert_one_chain(browser)


def test_a_connection_that_is_lost_is_opened_anew_whatever_the_browser_calls_it(
    browser: Browser, server: Server
) -> None:
    browser.install(server.url)
    path = browser.new_job()
    errors = ["InvalidStateError", "UnknownError", "AbortError", None]
    for error in errors:
        type_note(browser, server, path, str(error))
        browser.context.service_workers[-1].evaluate(
            """error => {
                const open = IDBDatabase.prototype.transaction;
                IDBDatabase.prototype.transaction = function () {
                    IDBDatabase.prototype.transaction = open;
                    this.close();
                    throw error && new DOMException("lost", error);
                };
            }""",
            error,
        )
        browser.page.click("button:has-text('Save note')")
        browser.page.wait_for_selector(f"ol.timeline:has-text('{error}')")
    assert notes(browser) == [str(error) for error in errors]


def test_a_storage_that_stays_lost_is_said_and_does_not_reload_for_ever(
    browser: Browser, server: Server
) -> None:
    browser.install(server.url)
    path = browser.new_job()
    type_note(browser, server, path, "typed all the same")
    server.stop()
    browser.context.add_init_script(
        "window.fetch = async () => { throw new TypeError('gone'); };"
        "sessionStorage.loads = 1 + Number(sessionStorage.loads ?? 0);"
    )
    browser.page.evaluate("() => { window.fetch = async () => { throw new TypeError('gone'); }; }")
    browser.page.click("button:has-text('Save note')")
    browser.page.wait_for_selector("text=This phone's storage does not answer")
    assert browser.page.input_value("textarea") == "typed all the same"
    assert browser.page.evaluate("sessionStorage.loads") == "1"


def test_two_tabs_write_at_once_and_every_entry_is_kept_once(browser: Browser, server: Server) -> None:
    browser.install(server.url)
    server.stop()
    first, second = browser.page, browser.context.new_page()
    path = browser.new_job("Truck 7")
    other = browser.new_job("Truck 8")
    for page in (first, second):
        page.goto(server.url + path)
    for jobs, tabs in (((path, path), ("a", "b")), ((path, other), ("c", "d"))):
        for page, job, tab in zip((first, second), jobs, tabs, strict=True):
            write_from(page, job, [f"{tab}{n}" for n in range(6)])
        for page in (first, second):
            page.wait_for_function("() => window.sent === 6")
    assert sorted(notes(browser)) == [f"{tab}{n}" for tab in "abcd" for n in range(6)]
    assert_one_chain(browser)
    for page in (first, second):
        for job, count in ((path, 18), (other, 6)):
            page.goto(f"{server.url}{job}/timeline")
            assert page.locator("ol.timeline li:has-text('Note:')").count() == count
    assert browser.stored("journal") == []


def test_a_tab_on_the_old_version_keeps_its_text_and_saves_it_under_the_new_worker(
    browser: Browser, server: Server, tmp_path: Path
) -> None:
    browser.install(server.url)
    path = browser.new_job()
    type_note(browser, server, path, "half a sentence")
    browser.page.evaluate("window.untouched = true")
    publish(server, tmp_path, "second edition")
    other = browser.context.new_page()
    other.goto(server.url)
    other.wait_for_selector("text=A new version of Layby is ready")
    other.click("text=Take the update now")
    other.wait_for_function(
        "() => fetch('/static/layby.css').then(r => r.text()).then(t => t.includes('second edition'))"
    )
    assert browser.page.evaluate("window.untouched")
    assert browser.page.input_value("textarea") == "half a sentence"
    browser.page.click("button:has-text('Save note')")
    browser.page.wait_for_selector("ol.timeline")
    assert notes(browser) == ["half a sentence"]
    assert_one_chain(browser)
