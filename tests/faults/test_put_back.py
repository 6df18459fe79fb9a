"""A data folder put back to an earlier state: every phone notices, and sends what is lacking again."""

import dataclasses
import json
import shutil
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from server.store.check import check
from server.store.people import NOBODY
from tests.faults.forked import Forked
from tests.faults.phones import picture
from tests.helpers.servers import Device, Server, say_yes
from tests.phone.browser import Browser
from tests.phone.test_restored import exchange, join, note
from tests.server.sync.test_uploads import sha


class Phone:
    """What a phone remembers, and what it does with an answer (pwa/phone/sync.js)."""

    def __init__(self, device: Device, shop: Any) -> None:  # with a method `opened`
        self.device, self.shop = device, shop
        self.own: list[str] = []
        self.acked, self.mark, self.others = 0, "", set[str]()
        self.gaps: list[Any] = []

    def write(self, *notes: str) -> None:
        self.own += self.device.write(*notes)

    def exchange(self) -> list[Any]:
        """Until nothing is left to do; what was refused last."""
        for _ in range(20):
            before = self.device.epoch
            self.let_in()
            sent = self.own[self.acked : self.acked + 200]
            said = self.device.sync(*sent, acked=self.acked, mark=self.mark)
            is_new = said["behind"] or (before and said["epoch"] != before)
            taken = [json.loads(text)["seq"] for text in sent if json.loads(text)["id"] in said["taken"]]
            self.acked = max([0 if is_new else self.acked, *taken])
            self.mark, self.gaps = said["mark"], said["gaps"]
            self.others |= set(said["records"])
            if not (is_new or said["more"] or (taken and self.acked < len(self.own))):
                return list(said["refused"])
        raise AssertionError("this exchange does not end")

    def let_in(self) -> None:
        here = self.shop.opened()
        say_yes(here)
        here.close()

    @property
    def knows(self) -> set[str]:
        return {*self.own, *self.others}


@pytest.fixture
def phones(forked: Forked) -> list[Phone]:
    return [Phone(forked.device(name), forked) for name in ("Bay 1", "Bay 2", "Reader", "Roadside")]


class Copy:
    """The folder is copied, and the copy is put in its place later."""

    def __init__(self, shop: Forked) -> None:
        self.data, self.kept = shop.settings.data, shop.settings.data.with_name("kept")

    def take(self) -> None:
        shutil.copytree(self.data, self.kept)

    def put_back(self) -> None:
        shutil.rmtree(self.data)
        shutil.copytree(self.kept, self.data)


class Snapshot(Copy):
    """The disk goes back to what it was: the same files, with what they held earlier."""

    def put_back(self) -> None:
        for path in [path for path in self.data.rglob("*") if path.is_file()]:
            old = self.kept / path.relative_to(self.data)
            path.write_bytes(old.read_bytes()) if old.exists() else path.unlink()


class LostJournal(Copy):
    """SQLite's write-ahead log is deleted, as by who tidies up: what was only in it is gone."""

    def take(self) -> None:
        pass

    def put_back(self) -> None:
        for name in ("layby.db-wal", "layby.db-shm"):
            (self.data / name).unlink()


@pytest.mark.parametrize("first", [0, 1, 2, 3])
@pytest.mark.parametrize("way", [Copy, Snapshot, LostJournal])
def test_whoever_comes_first_everything_is_everywhere_again(
    forked: Forked, phones: list[Phone], way: type[Copy], first: int
) -> None:
    one, two, reader, roadside = phones
    one.write("1", "2")
    two.write("a")
    for phone in phones * 2:
        assert phone.exchange() == []
    forked.stop()
    how = way(forked)
    how.take()
    forked.start()
    one.write("3", "4")
    two.write("b")
    for phone in (one, two, reader):
        assert phone.exchange() == []
    forked.kill()
    how.put_back()
    forked.start()
    # More than was lost: so the newest cursor is beyond what the others have read to.
    roadside.write(*[f"from the roadside {n}" for n in range(9)])
    assert roadside.exchange() == []
    one.write("5")
    for phone in [*phones[first:], *phones[:first]] * 2:
        assert phone.exchange() == []
    assert len(one.knows) == 5 + 2 + 9
    for phone in phones:
        assert phone.knows == one.knows
        assert phone.gaps == []
        assert phone.device.epoch == one.device.epoch
    here = forked.opened()
    try:
        assert check(here).problems == []
        assert set(here.ledger.texts()) == one.knows
    finally:
        here.close()
    assert forked.log.read_text().count('"put back"') == 1


def test_who_only_reads_misses_nothing_that_came_under_the_same_numbers(
    forked: Forked, phones: list[Phone]
) -> None:
    one, _, reader, roadside = phones
    one.write("1")
    for phone in (one, reader, roadside):
        phone.exchange()
    forked.stop()
    how = Snapshot(forked)
    how.take()
    forked.start()
    one.write("2", "3")
    one.exchange()
    reader.exchange()
    forked.kill()
    how.put_back()
    forked.start()
    roadside.write(*[f"from the roadside {n}" for n in range(9)])
    roadside.exchange()
    assert reader.exchange() == []
    assert len(reader.knows) == 3 + 9


def test_a_phone_that_lies_moves_nobody_but_itself(forked: Forked, phones: list[Phone]) -> None:
    liar, other = phones[:2]
    for phone in (liar, other) * 2:
        phone.write("1", "2")
        phone.exchange()
    before = liar.device.epoch
    forged = f"{liar.mark.rpartition('.')[0]}9.{liar.mark.rpartition('.')[2]}"
    for claim in (
        {"acked": 10**9},
        {"cursor": 10**9},
        {"mark": "5.none"},
        {"mark": "nonsense"},
        {"mark": forged},
    ):
        said = liar.device.sync(**{"mark": liar.mark, "acked": liar.acked, **claim})
        assert said["behind"] and len(said["records"]) == 4
    assert liar.device.epoch == before
    assert other.exchange() == []
    assert other.device.epoch == before
    assert other.knows == {*liar.own, *other.own}
    assert '"put back"' not in forked.log.read_text()


def test_a_proof_is_worth_nothing_once_it_has_been_believed(forked: Forked, phones: list[Phone]) -> None:
    phone = phones[0]
    phone.write("1")
    phone.exchange()
    forked.stop()
    how = Copy(forked)
    how.take()
    forked.start()
    phone.write("2")
    phone.exchange()
    proof = phone.mark
    forked.stop()
    how.put_back()
    forked.start()
    phone.let_in()
    assert phone.device.sync(mark=proof)["behind"]
    phone.let_in()
    renewed = phone.device.sync(mark="")["epoch"]
    assert phone.device.sync(mark=proof)["behind"]
    assert phone.device.epoch == renewed
    assert forked.log.read_text().count('"put back"') == 1


def test_the_desk_goes_on_as_a_new_device(forked: Forked, phones: list[Phone]) -> None:
    """Phones may hold entries that it wrote and has forgotten: their numbers are not used again."""
    phone = phones[0]
    forked.stop()
    how = Copy(forked)
    how.take()
    forked.start()
    phone.write("1")
    phone.exchange()
    forked.stop()
    how.put_back()
    forked.start()
    here = forked.opened()
    try:
        desk = here.access.desk(NOBODY, True)
        phone.let_in()
        phone.device.sync(acked=phone.acked, mark=phone.mark)
        assert here.access.desk(NOBODY, True) != desk
    finally:
        here.close()


def test_a_phone_of_an_older_release_is_understood(forked: Forked, phones: list[Phone]) -> None:
    phone = phones[0]
    phone.write("1", "2")
    phone.exchange()
    said = phone.device.sync()  # it says nothing of what it knows
    assert not said["behind"] and "mark" not in said
    assert phone.device.post(short=True).status_code == 204
    assert phone.device.post(short=True, mark=phone.mark, acked=2).status_code == 204


@pytest.fixture
def joined(browser: Browser, server: Server) -> Iterator[Browser]:
    browser.install(server.url)
    join(browser, server, "Bay 2 phone")
    yield browser


def test_a_real_phone_notices_and_sends_again(joined: Browser, server: Server, tmp_path: Path) -> None:
    phone = joined
    address = server.url + phone.new_job()
    exchange(phone, server)
    server.stop()
    shutil.copytree(server.settings.data, tmp_path / "kept")
    server.start()
    note(phone, address, "after the copy")
    photo = picture(40, 30)
    keep_photo(phone, photo)
    exchange(phone, server)
    server.stop()
    shutil.rmtree(server.settings.data)
    shutil.copytree(tmp_path / "kept", server.settings.data)
    server.start()
    assert not any("after the copy" in text for text in server.shop.ledger.texts())
    note(phone, address, "written on")
    phone.page.goto(f"{server.url}/phone")
    phone.page.click("button:has-text('Send and fetch now')")
    phone.page.wait_for_selector("text=Waiting for the shop's yes")
    say_yes(server.shop)
    said = exchange(phone, server)
    assert "was not taken" not in said
    texts = [row["text"] for row in phone.stored("records")]
    assert sorted(server.shop.ledger.texts()) == sorted(texts)
    assert server.shop.photos.find(sha(photo)).path.read_bytes() == photo
    assert check(server.shop).problems == []


def keep_photo(phone: Browser, content: bytes) -> None:
    """As if a photo had been taken: it waits to be sent."""
    phone.page.evaluate(
        """([hash, bytes, at]) => new Promise((done) => {
            const opening = indexedDB.open("layby");
            opening.onsuccess = () => {
                const change = opening.result.transaction("photos", "readwrite");
                const array = new Uint8Array(bytes);
                change.objectStore("photos").put(
                    {sha256: hash, type: "image/jpeg", size: array.length, bytes: array.buffer, unsent: at});
                change.oncomplete = () => { opening.result.close(); done(); };
            };
        })""",
        [sha(content), list(content), time.time_ns() // 1_000_000],
    )


def test_a_sync_that_leaves_something_behind_is_not_complete(joined: Browser, server: Server) -> None:
    phone = joined
    exchange(phone, server)
    before = good(phone)
    server.shop.settings = dataclasses.replace(server.shop.settings, device_bytes=1)
    keep_photo(phone, picture(40, 30))
    phone.page.goto(f"{server.url}/phone")
    phone.page.click("button:has-text('Send and fetch now')")
    phone.page.wait_for_selector("text=A photo was not taken")
    assert "1 photo not sent yet" in phone.page.inner_text("main")
    assert good(phone) == before
    server.shop.settings = server.settings
    exchange(phone, server)
    assert good(phone) > before


def good(phone: Browser) -> int:
    return int(
        next(fact["good"] for fact in phone.stored("facts") if isinstance(fact, dict) and "good" in fact)
    )
