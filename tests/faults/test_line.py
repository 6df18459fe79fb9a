"""Phones behind a line that is cut anywhere, slow, or sends things twice: nothing is lost or twice."""

import contextlib
import json
import random
import socket
import threading
from collections.abc import Callable, Iterator

import pytest

from server.store.check import check
from tests.faults.forked import Forked
from tests.faults.line import Fate, Line
from tests.faults.phones import LOST, Phone, picture

SLOW = 20_000 / 8  # bytes/s of 20 kbit/s


@pytest.fixture
def line(forked: Forked) -> Iterator[Line]:
    line = Line(forked.port)
    yield line
    line.close()


@pytest.fixture
def phone(forked: Forked, line: Line) -> Phone:
    phone = Phone(forked.device("Roadside phone"))
    phone.goes_by(line.url)
    return phone


def until_done(work: Callable[[], object], tries: int = 500) -> int:
    """Try again after each cut; how many there were."""
    for cuts in range(tries):
        try:
            work()
            return cuts
        except LOST:
            pass
    pytest.fail("it never comes through")


def stored(server: Forked) -> list[str]:
    here = server.opened()
    try:
        assert check(here).problems == []
        return [row["text"] for row in here.store.rows("select text from records order by device, seq")]
    finally:
        here.close()


def exchanged(line: Line, phone: Phone) -> dict[str, int]:
    """Bytes of an exchange of one note, each way."""
    phone.write("x" * 20)
    phone.send()
    return line.fates[-1].passed


def raw(forked: Forked, request: bytes, up: int, down: int | None) -> bytes:
    """What came back on a connection that ends after so many bytes of the request or of the answer."""
    answer = b""
    with socket.create_connection(("127.0.0.1", forked.port), 20) as connection:
        connection.sendall(request[:up])
        while up == len(request) and (down is None or len(answer) < down):
            piece = connection.recv(65536 if down is None else down - len(answer))
            if not piece:
                break
            answer += piece
    return answer


def test_a_sync_cut_after_any_byte_of_it_and_of_its_answer_is_repeated_without_harm(forked: Forked) -> None:
    phone = Phone(forked.device("Roadside phone"))
    phone.write("first", "second")
    message = {"protocol": 1, "device": phone.id, "epoch": "", "cursor": 0, "records": phone.waiting}
    body = json.dumps(message).encode()
    head = f"POST /sync HTTP/1.1\r\nHost: shop\r\nAuthorization: Bearer {phone.device.token}\r\n"
    request = f"{head}Connection: close\r\nContent-Length: {len(body)}\r\n\r\n".encode() + body
    for position in range(len(request)):
        raw(forked, request, position, None)
    assert stored(forked) == []
    answer = raw(forked, request, len(request), None)
    assert b"200 OK" in answer
    for position in range(len(answer)):
        raw(forked, request, len(request), position)
    said = json.loads(raw(forked, request, len(request), None).partition(b"\r\n\r\n")[2])
    assert said["taken"] == list(phone.written)
    assert said["refused"] == []
    assert stored(forked) == list(phone.written.values())


@pytest.mark.parametrize("way", ["up", "down"])
def test_a_server_killed_and_started_again_within_a_sync_loses_nothing(
    forked: Forked, line: Line, phone: Phone, way: str
) -> None:
    restarted = threading.Event()

    def restart() -> None:
        forked.kill()
        forked.start()
        restarted.set()

    exchanged(line, phone)
    size = exchanged(line, phone)[way]
    for position in [1, *range(25, size, 60), size - 1]:
        phone.write("x" * 20)
        line.fate = lambda position=position: Fate(**{way: position}, at_cut=restart)
        with contextlib.suppress(LOST):
            phone.send()
        assert restarted.wait(60)
        restarted.clear()
        assert set(phone.acknowledged.values()) <= set(stored(forked))
    line.fate = Fate
    phone.send_all()
    assert stored(forked) == list(phone.written.values())


def test_large_exchanges_are_cut_anywhere_and_come_through(forked: Forked, line: Line, phone: Phone) -> None:
    """Both directions of some 100 kB, and a photo, with connections that last for 1 to 150,000 bytes."""
    chance = random.Random(3)
    other = Phone(forked.device("Bay 1 phone"))
    line.fate = lambda: Fate(**{chance.choice(["up", "down"]): chance.randint(1, 150_000)})
    cuts = 0
    for _ in range(3):
        other.write(*[chance.randbytes(400).hex() for _ in range(80)])
        other.send_all()
        phone.write(*[chance.randbytes(400).hex() for _ in range(80)])
        phone.photograph(picture(300, 200))
        cuts += until_done(phone.send_all)
    assert cuts >= 3
    other.send()
    assert phone.holds == other.holds
    assert len(stored(forked)) == 3 * 161
    for photo, content in phone.photos.items():
        assert (forked.settings.data / "photos" / photo).read_bytes() == content


def test_requests_that_come_twice_and_overtake_each_other_change_nothing(forked: Forked, line: Line) -> None:
    chance = random.Random(4)
    phones = [Phone(forked.device(f"Phone {number}")) for number in range(3)]
    line.fate = lambda: Fate(twice=chance.random() < 0.5, delay=chance.random() * 0.02)

    def send(phone: Phone) -> None:
        for number in range(8):
            phone.write(f"note {number}")
            if number % 3 == 0:
                phone.photograph(picture())
            before = list(phone.waiting)
            phone.send_all()
            phone.note(phone.device.sync(*before))  # an old batch, once more

    for phone in phones:
        phone.goes_by(line.url)
    threads = [threading.Thread(target=send, args=(phone,)) for phone in phones]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    for phone in phones:
        phone.send()
        assert phone.waiting == phone.photos_waiting == []
    assert phones[0].holds == phones[1].holds == phones[2].holds
    assert len(stored(forked)) == len(phones[0].holds) == 3 * 11


def test_a_photo_comes_through_20_kbit_with_a_third_lost(forked: Forked, line: Line, phone: Phone) -> None:
    """A lost piece comes again a little later; every few kB the connection is gone altogether."""
    chance = random.Random(5)
    content = picture(130, 90)
    assert len(content) > 6000
    phone.photograph(content)
    line.fate = lambda: Fate(up=chance.randint(1000, 4000), rate=SLOW, lost=0.3)
    photo = phone.photos_waiting[0]
    cuts = until_done(phone.send_all)
    assert cuts >= 2
    assert (forked.settings.data / "photos" / photo).read_bytes() == content
