"""What was typed stands in one place: in the form while it is not saved, in the notebook once it is."""

import json

import pytest

from tests.faults.test_killed import NO_DRAFT
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
def note(alone: Browser) -> str:
    """The address of a new job's note page, opened."""
    address = f"{alone.root}{alone.new_job()}/note"
    alone.page.goto(address)
    return address


def notes(phone: Browser) -> list[str]:
    """Of the open page's job."""
    records = [json.loads(row["text"]) for row in phone.stored("records") if row["kind"] == "note"]
    return [record["data"]["text"] for record in records if f"/job/{record['job']}/" in phone.page.url]


def save_deaf(phone: Browser, text: str) -> None:
    phone.page.fill("textarea", text)
    phone.page.evaluate(DEAF)
    phone.page.click("button:has-text('Save note')")
    phone.page.wait_for_function("() => window.answered")


def test_what_was_saved_when_the_browser_died_does_not_come_back_as_a_draft(
    alone: Browser, note: str
) -> None:
    save_deaf(alone, "said once")
    assert notes(alone) == ["said once"]
    alone.kill()
    alone.start()
    alone.page.goto(note)
    alone.page.wait_for_function(NO_DRAFT, arg=f"draft {note[note.index('/job/') :]} text")
    assert alone.page.input_value("textarea") == ""
    assert notes(alone) == ["said once"]


def test_what_was_typed_after_it_does(alone: Browser, note: str) -> None:
    save_deaf(alone, "said once")
    alone.page.fill("textarea", "and more")
    alone.page.wait_for_function(IS_DRAFT, arg=[f"draft {note[note.index('/job/') :]} text", "and more"])
    alone.kill()
    alone.start()
    alone.page.goto(note)
    alone.page.wait_for_function("() => document.querySelector('textarea').value === 'and more'")
    alone.page.click("button:has-text('Save note')")
    alone.page.wait_for_selector("ol.timeline:has-text('and more')")
    assert notes(alone) == ["said once", "and more"]


def test_the_same_words_are_saved_again_when_a_person_saves_them_again(alone: Browser, note: str) -> None:
    for _ in range(2):
        alone.page.goto(note)
        alone.page.fill("textarea", "the same again")
        alone.page.click("button:has-text('Save note')")
        alone.page.wait_for_selector("ol.timeline:has-text('the same again')")
    assert notes(alone) == ["the same again", "the same again"]


def test_a_refused_form_does_not_count_itself_as_waiting(alone: Browser, note: str) -> None:
    alone.page.click("button:has-text('Save note')")
    alone.page.wait_for_selector("[role=alert]:has-text('Not saved.')")
    assert "could not be worked into a job" not in alone.page.inner_text("body")
