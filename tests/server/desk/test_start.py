"""The first steps of a new shop: what is done, what is to do, and when the list goes."""

import pytest

from server.backup.folder import backup
from server.store.facts import LONGEST_NAME
from tests.helpers.servers import Device


def states(browser):
    page = browser.get("/desk/start").text
    return [part.split("</strong>")[0] for part in page.split("<p><strong>")[1:]]


def head(browser):
    return browser.get("/desk/devices").text.split("</header>")[0]


def test_each_step_shows_when_it_is_done_and_then_the_list_goes(server, browser, tmp_path):
    assert states(browser) == ["To do", "To do", "To do"]
    assert "First steps" in head(browser)
    assert browser.post("/desk/start", data={"do": "name", "name": "  Yard  & Sons "}).status_code == 303
    assert "Layby · Yard &amp; Sons</a>" in head(browser)
    assert states(browser) == ["Done", "To do", "To do"]
    Device(server)
    assert states(browser) == ["Done", "Done", "To do"]
    backup(server.settings.data, tmp_path / "backups")
    page = browser.get("/desk/start").text
    assert states(browser) == ["Done", "Done", "Done"]
    assert str(tmp_path / "backups") in page
    assert "Put this list away" not in page
    assert "First steps" not in head(browser)


def test_the_list_can_be_put_away(browser):
    browser.post("/desk/start", data={"do": "away"})
    assert "First steps" not in head(browser)
    assert states(browser) == ["To do", "To do", "To do"]  # whoever looks for it still finds it


@pytest.mark.parametrize("name", ["", "   ", "x" * (LONGEST_NAME + 1), "a\u0000b"])
def test_a_name_that_is_none_is_not_taken(browser, name):
    answer = browser.post("/desk/start", data={"do": "name", "name": name})
    assert (answer.status_code, "Give the shop a name" in answer.text) == (422, True)
    assert states(browser)[0] == "To do"


def test_whoever_has_not_signed_in_does_not_learn_the_name(server, browser):
    server.shop.facts.name_shop("Yard & Sons")
    browser.post("/desk/leave")
    assert "Yard" not in browser.get("/desk/enter").text
