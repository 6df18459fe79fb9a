"""A phone's storage put back from an old backup, in a real browser: both copies' entries are everywhere."""

import json
import shutil
from collections.abc import Callable
from pathlib import Path

from server.store.check import check
from tests.helpers.servers import Server
from tests.phone.browser import Browser
from tests.phone.storage import save


def note(phone: Browser, address: str, *texts: str) -> None:
    """Save these as the page for notes does, which is open then."""
    phone.page.goto(f"{address}/note")
    for text in texts:
        save(phone, f"{address}/note", text=text)


# When the phone noted its last sync, in ms since 1970.
NOTED = """() => new Promise((done) => {
  const opening = indexedDB.open("layby");
  opening.onsuccess = () => {
    const asked = opening.result.transaction("facts").objectStore("facts").get("sync");
    asked.onsuccess = () => { opening.result.close(); done(asked.result?.at ?? 0); };
  };
})"""


def exchange(phone: Browser, server: Server) -> str:
    """Send and fetch by hand; what the page says once that is done."""
    phone.page.goto(f"{server.url}/phone")
    before = phone.page.evaluate(NOTED)
    phone.page.click("button:has-text('Send and fetch now')")
    phone.page.wait_for_load_state()
    phone.page.wait_for_function(f"async before => (await ({NOTED})()) > before", arg=before)
    phone.page.goto(f"{server.url}/phone")
    phone.page.wait_for_selector("strong:has-text('Nothing left to send')")
    return phone.page.inner_text("main")


def notes(texts: list[str]) -> list[str]:
    records = [json.loads(text) for text in texts]
    return sorted(record["data"]["text"] for record in records if record["kind"] == "note")


def join(phone: Browser, server: Server, name: str) -> None:
    phone.page.goto(f"{server.url}/phone")
    phone.page.fill("[name=name]", name)
    phone.page.fill("[name=code]", server.shop.new_code("phone"))
    phone.page.click("button:has-text('Join')")
    phone.page.wait_for_selector("button:has-text('Send and fetch now')")


def test_two_copies_of_one_phone_lose_nothing(
    new_browser: Callable[..., Browser], server: Server, tmp_path: Path
) -> None:
    phone = new_browser()
    phone.install(server.url)
    join(phone, server, "Bay 2 phone")
    address = server.url + phone.new_job()
    exchange(phone, server)
    phone.kill()
    shutil.copytree(tmp_path / "profile-0", tmp_path / "profile-1", symlinks=True)  # the backup

    phone.start()
    note(phone, address, *"12345")
    exchange(phone, server)
    phone.kill()

    server.stop()
    old = new_browser()
    note(old, address, *"abc")
    server.start()
    said = exchange(old, server)
    assert "was not taken" not in said
    assert "3 entries written on the copy were sent again" in said
    rows = old.stored("records")
    assert notes([row["text"] for row in rows]) == sorted("12345abc")
    assert notes(list(server.shop.ledger.texts())) == sorted("12345abc")
    assert not any(row.get("unsent") for row in rows)
    assert check(server.shop).problems == []
    assert [row["name"] for row in server.shop.access.phones()].count("Bay 2 phone (restored copy)") == 1

    # The copy took the key along; as a device of its own it signs with another.
    known = server.shop.store.rows("select key, state from keys where device <> ''")
    assert [row["state"] for row in known] == ["good", "good"]
    assert len({row["key"] for row in known}) == 2
    assert len(server.shop.store.rows("select distinct device from heads")) == 2

    # The phone the backup was made of works on, and so does the copy.
    note(old, address, "d")
    exchange(old, server)
    phone.start()
    note(phone, address, "6")
    assert "was not taken" not in exchange(phone, server)
    assert notes([row["text"] for row in phone.stored("records")]) == sorted("123456abcd")
    phone.page.goto(f"{address}/timeline")
    assert len(phone.page.query_selector_all("ol.timeline > li")) == 11
