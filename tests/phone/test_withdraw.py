"""Withdrawing in real browsers: picture and words go from one phone at once, from another when it syncs."""

import json
from pathlib import Path

import pytest
from PIL import Image

from tests.helpers.servers import Server
from tests.phone.browser import Browser
from tests.phone.test_restored import exchange, join


@pytest.fixture
def other(new_browser, server: Server) -> Browser:
    second: Browser = new_browser()
    second.install(server.url)
    return second


def withdraw(phone: Browser, root: str, path: str, words: str) -> None:
    phone.page.goto(f"{root}{path}/timeline")
    phone.page.locator("li", has_text=words).locator("text=Withdraw this").click()
    phone.page.wait_for_selector("h1:has-text('Withdraw an entry')")
    phone.page.check("[value='A face or a number plate is on it']")
    phone.page.click("button:has-text('Erase it for good')")
    phone.page.wait_for_selector("text=What stood here was withdrawn")


def test_a_picture_and_words_go_from_both_phones_and_the_shop(
    browser: Browser, other: Browser, server: Server, tmp_path: Path
) -> None:
    picture = tmp_path / "face.png"
    Image.effect_noise((300, 200), 60).convert("RGB").save(picture)
    browser.install(server.url)
    join(browser, server, "First phone")
    path = browser.new_job()
    browser.page.goto(f"{server.url}{path}/note")
    browser.page.fill("form:has(textarea) textarea", "Kim was careless")
    browser.page.click("button:has-text('Save')")
    browser.page.wait_for_selector("text=Kim was careless")
    browser.page.goto(f"{server.url}{path}/note")
    browser.page.locator("form.photo input[type=file]").set_input_files(picture)
    browser.page.wait_for_selector("img[src^='/photo/']")
    exchange(browser, server)
    join(other, server, "Second phone")
    other.page.goto(f"{server.url}{path}/timeline")
    other.page.wait_for_selector("img[src^='/photo/']")
    assert other.stored("photos") and "Kim was careless" in json.dumps(other.stored("records"))

    browser.context.set_offline(True)
    withdraw(browser, server.url, path, "Kim was careless")
    withdraw(browser, server.url, path, "Photo.")
    assert browser.stored("photos") == [] and "Kim" not in json.dumps(browser.stored("records"))

    browser.context.set_offline(False)
    exchange(browser, server)
    exchange(other, server)
    assert other.stored("photos") == [] and "Kim" not in json.dumps(other.stored("records"))
    assert list(server.shop.photos.folder.glob("[0-9a-f]*")) == []
    other.page.goto(f"{server.url}{path}/timeline")
    assert other.page.locator("text=What stood here was withdrawn").count() == 2
