"""What was typed stands in one place: in the form while it is not saved, in the notebook once it is."""

import json

import pytest

from tests.faults.test_killed import NO_DRAFT
from tests.helpers.servers import Server
from tests.phone.browser import Browser

# The page never hears of an answer, as when it is killed before one comes.
DEAF = """() => {
  const send = window.fetch;
  window.fetch = (address, options) => send(address, options).then((answer) => {
    if (options?.method !== "POST") return answer;
    window.answered = true;
    return new Promise(() => {});
  });
}"""

# Whether the disk has this text under this key.
IS_DRAFT = """async ([key, text]) => {
  const opening = indexedDB.open("layby-page");
  await new Promise((done) => { opening.onsuccess = done; });
  const asked = opening.result.transaction("kept").objectStore("kept").get(key);
  await new Promise((done) => { asked.onsuccess = done; });
  opening.result.close();
  return asked.result === text;
}"""


@pytest.fixture
def note(browser: Browser, server: Server) -> str:
    """The address of a job's note page, opened."""
    browser.install(server.url)
    server.stop()
    address = f"{server.url}{browser.start_job()}/note"
    browser.page.goto(address)
    return address


def notes(phone: Browser) -> list[str]:
    records = [json.loads(row["text"]) for row in phone.stored("records")]
    return [record["data"]["text"] for record in records if record["kind"] == "note"]


def save_deaf(phone: Browser, text: str) -> None:
    phone.page.fill("textarea", text)
    phone.page.evaluate(DEAF)
    phone.page.click("button:has-text('Save note')")
    phone.page.wait_for_function("() => window.answered")


def test_what_was_saved_when_the_browser_died_does_not_come_back_as_a_draft(
    browser: Browser, note: str
) -> None:
    save_deaf(browser, "said once")
    assert notes(browser) == ["said once"]
    browser.kill()
    browser.start()
    browser.page.goto(note)
    browser.page.wait_for_function(NO_DRAFT, arg=f"draft {note[note.index('/job/') :]} text")
    assert browser.page.input_value("textarea") == ""
    assert notes(browser) == ["said once"]


def test_what_was_typed_after_it_does(browser: Browser, note: str) -> None:
    save_deaf(browser, "said once")
    browser.page.fill("textarea", "and more")
    browser.page.wait_for_function(IS_DRAFT, arg=[f"draft {note[note.index('/job/') :]} text", "and more"])
    browser.kill()
    browser.start()
    browser.page.goto(note)
    browser.page.wait_for_function("() => document.querySelector('textarea').value === 'and more'")
    browser.page.click("button:has-text('Save note')")
    browser.page.wait_for_selector("ol.timeline:has-text('and more')")
    assert notes(browser) == ["said once", "and more"]


def test_the_same_words_are_saved_again_when_a_person_saves_them_again(browser: Browser, note: str) -> None:
    for _ in range(2):
        browser.page.goto(note)
        browser.page.fill("textarea", "the same again")
        browser.page.click("button:has-text('Save note')")
        browser.page.wait_for_selector("ol.timeline:has-text('the same again')")
    assert notes(browser) == ["the same again", "the same again"]


def test_a_refused_form_does_not_count_itself_as_waiting(browser: Browser, note: str) -> None:
    browser.page.click("button:has-text('Save note')")
    browser.page.wait_for_selector("[role=alert]:has-text('Not saved.')")
    assert "could not be worked into a job" not in browser.page.inner_text("body")
