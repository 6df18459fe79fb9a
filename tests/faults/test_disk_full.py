"""The shop's disk is full: nothing is taken, nothing that was taken is lost, and the phone says why."""

import json
import resource
from pathlib import Path

import httpx
import pytest

from server.store.check import check
from tests.faults.forked import Forked
from tests.faults.phones import TUS, Phone, picture
from tests.helpers.servers import Server
from tests.phone.browser import Browser


@pytest.fixture
def phone(forked: Forked) -> Phone:
    return Phone(forked.device("Bay 2 phone"))


def limit(server: Forked, most: int = resource.RLIM_INFINITY) -> None:
    """No file of the server's may grow beyond `most` bytes: a write fails as it does on a full disk."""
    resource.prlimit(server.pid, resource.RLIMIT_FSIZE, (most, resource.RLIM_INFINITY))


def clean(server: Forked) -> list[str]:
    here = server.opened()
    try:
        assert check(here).problems == []
        return [row["text"] for row in here.store.rows("select text from records order by seq")]
    finally:
        here.close()


def test_records_wait_on_the_phone_until_there_is_room(forked: Forked, phone: Phone) -> None:
    phone.write("before", "also before")
    phone.send_all()
    limit(forked, 200_000)
    answer = phone.device.post()
    while answer.status_code == 200:  # until the disk is full
        phone.note(answer.json())
        phone.write("x" * 20_000)
        answer = phone.device.post(*phone.waiting)
    assert (answer.status_code, answer.json()["error"]) == (507, "disk_full")
    assert "disk is full" in answer.json()["message"]
    assert phone.device.post(*phone.waiting).status_code == 507
    here = forked.opened()
    with here.store.transaction() as db:  # so that the server wants to note when it saw the phone
        db.execute("update devices set seen = 0")
    here.close()
    assert phone.device.post().status_code == 200  # what is here can still be fetched
    # The disk has room, and a limit of the shop's account says no all the same.
    assert httpx.get(f"{forked.url}/health").json() == {"status": "database"}
    assert clean(forked) == list(phone.acknowledged.values())
    limit(forked)
    assert httpx.get(f"{forked.url}/health").json() == {"status": "ok"}
    phone.send_all()
    assert clean(forked) == list(phone.written.values())
    assert '"status": 500' not in forked.log.read_text()


def test_a_photo_goes_on_where_the_disk_was_full(forked: Forked, phone: Phone) -> None:
    content = picture(600, 400)
    assert len(content) > 100_000
    phone.photograph(content)
    photo = phone.photos_waiting[0]
    phone.send()
    phone.begin_photo(photo)
    limit(forked, 50_000)
    with pytest.raises(AssertionError, match="disk_full"):
        phone.send_photo(photo, 20_000)
    assert phone.offsets[photo] == 40_000
    here = phone.device.http.head(f"/uploads/{photo}", headers=TUS)
    assert 40_000 <= int(here.headers["Upload-Offset"]) <= 50_000
    limit(forked)
    phone.send_photo(photo, 20_000)
    assert (forked.settings.data / "photos" / photo).read_bytes() == content
    assert clean(forked)
    assert '"status": 500' not in forked.log.read_text()


def test_the_phone_says_so_and_sends_once_there_is_room(browser: Browser, server: Server, dist: Path) -> None:
    browser.install(server.url)
    browser.page.goto(f"{server.url}/phone")
    browser.page.fill("[name=code]", server.shop.new_code("phone"))
    browser.page.click("button:has-text('Join')")
    browser.page.wait_for_selector("text=Send and fetch now")
    with server.shop.store.transaction() as db:
        pages = db.execute("pragma page_count").fetchone()[0]
    with server.shop.store.transaction() as db:  # the writer's own connection
        db.execute(f"pragma max_page_count = {pages}")
    path = browser.new_job()
    browser.page.goto(f"{server.url}{path}/note")
    browser.page.fill("textarea", "a long note " * 1000)
    browser.page.click("button:has-text('Save note')")
    browser.page.wait_for_url(f"**{path}/**")
    browser.page.goto(f"{server.url}/phone")
    browser.page.click("text=Send and fetch now")
    browser.page.wait_for_selector("text=The shop's disk is full")
    with server.shop.store.transaction() as db:
        db.execute("pragma max_page_count = 1000000")
    browser.page.click("text=Send and fetch now")
    browser.page.wait_for_function("() => !document.body.innerText.includes('disk is full')")
    texts = {row["text"] for row in server.shop.store.rows("select text from records")}
    assert any("a long note" in json.loads(text)["data"].get("text", "") for text in texts)
