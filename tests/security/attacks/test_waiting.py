"""Work that takes long: a heavy page, a long transaction, many sign-ins; others do not wait for it."""

import concurrent.futures
import sqlite3
import threading

import httpx
import pytest

from server.store import database
from tests.helpers import servers
from tests.helpers.servers import Device, PlainBook, Server

SAME = {"Sec-Fetch-Site": "same-origin"}
PATIENCE = 30  # seconds; what waits for the slow one would wait for ever


class SlowBook(PlainBook):
    """Its page `/slow` is not ready before `go_on` is set."""

    def __init__(self):
        self.begun, self.go_on = threading.Semaphore(0), threading.Event()

    def answer(self, request, rows):
        if request["path"] == "/slow":
            self.begun.release()
            assert self.go_on.wait(PATIENCE)
        return super().answer(request, rows)


@pytest.fixture
def book():
    return SlowBook()


@pytest.fixture
def server(tmp_path, book):
    (tmp_path / "dist").mkdir()
    running = Server(tmp_path, tmp_path / "dist", book)
    yield running
    book.go_on.set()
    running.stop()


@pytest.fixture
def desk(server):
    client = httpx.Client(base_url=server.url, headers=SAME, timeout=PATIENCE / 2)
    servers.sign_in(server.shop, client)
    return client


def all_goes_on(server, desk, phone):
    assert desk.get("/desk/jobs").status_code == 200
    assert desk.get("/desk/devices").status_code == 200
    assert phone.sync()["records"] is not None
    assert httpx.get(f"{server.url}/health", timeout=PATIENCE / 2).status_code == 200


def test_a_heavy_page_holds_up_nobody(server, book, desk):
    phone = Device(server)
    with concurrent.futures.ThreadPoolExecutor() as pool:
        slow = pool.submit(desk.get, "/desk/slow")
        assert book.begun.acquire(timeout=PATIENCE)
        all_goes_on(server, desk, phone)
        assert desk.post("/desk/note", data={"text": "meanwhile"}).status_code == 303
        assert len(phone.sync(*phone.write("meanwhile"))["taken"]) == 1
        assert not slow.done()
        book.go_on.set()
        assert slow.result().status_code == 200


def test_many_heavy_pages_hold_up_only_pages(server, book, desk):
    phone = Device(server)
    with concurrent.futures.ThreadPoolExecutor(60) as pool:
        slow = [pool.submit(desk.get, "/desk/slow") for _ in range(60)]
        for _ in range(4):
            assert book.begun.acquire(timeout=PATIENCE)
        assert not book.begun.acquire(timeout=0.3)  # the others take no thread
        assert desk.get("/desk/devices").status_code == 200
        assert len(phone.sync(*phone.write("meanwhile"))["taken"]) == 1
        assert httpx.get(f"{server.url}/health", timeout=PATIENCE / 2).status_code == 200
        book.go_on.set()
        assert {each.result().status_code for each in slow} == {200}


def test_a_long_transaction_holds_up_no_reading(server, desk):
    phone, store = Device(server), server.shop.store
    with store.transaction() as db:
        db.execute("insert into facts values ('x', 'y')")
        all_goes_on(server, desk, phone)
        assert [row["value"] for row in store.rows("select value from facts where name = 'x'")] == ["y"]
    assert [row["value"] for row in store.rows("select value from facts where name = 'x'")] == ["y"]


def test_a_transaction_that_does_not_end_is_told(server, monkeypatch):
    monkeypatch.setattr(database, "BUSY", -1.0)
    with server.shop.store.transaction():
        assert httpx.get(f"{server.url}/health").json() == {"status": "database"}
    assert httpx.get(f"{server.url}/health").json() == {"status": "ok"}


def test_a_reader_cannot_write(server):
    with server.shop.store.reading() as db, pytest.raises(sqlite3.OperationalError, match="readonly"):
        db.execute("insert into facts values ('x', 'y')")


def test_sign_ins_at_once_take_few_threads_and_little_memory(server, monkeypatch):
    """64 MB each: what waits takes none, and no thread that others need."""
    hashing, most, lock = 0, 0, threading.Lock()
    go_on, hasher = threading.Event(), server.shop.passphrases._hasher

    def slowly(*given):
        nonlocal hashing, most
        with lock:
            hashing += 1
            most = max(most, hashing)
        assert go_on.wait(PATIENCE)
        with lock:
            hashing -= 1
        return "a hash"

    monkeypatch.setattr(type(hasher), "hash", slowly)
    form = {
        "code": "AAAA-AAAA",
        "name": "Anna",
        "passphrase": "four words of mine",
        "again": "four words of mine",
    }
    with concurrent.futures.ThreadPoolExecutor(20) as pool:
        ask = {"data": form, "headers": SAME, "timeout": PATIENCE}
        tries = [pool.submit(httpx.post, f"{server.url}/desk/setup", **ask) for _ in range(20)]
        while not hashing:
            pass
        assert Device(server).sync()["records"] == []
        assert httpx.get(f"{server.url}/health", timeout=PATIENCE / 2).status_code == 200
        go_on.set()
        said = {each.result().status_code for each in tries}
    assert said <= {403, 429}
    assert most <= 2
