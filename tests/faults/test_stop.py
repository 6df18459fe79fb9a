"""A server that is asked to stop finishes what is in hand; an outside tus client goes on after anything."""

import io
import random
import signal
import threading
from collections.abc import Iterator

import pytest
import requests
from tusclient import client as tusclient
from tusclient.exceptions import TusCommunicationError

from tests.faults.forked import Forked
from tests.faults.line import Fate, Line
from tests.faults.phones import Phone, picture, sha
from tests.faults.test_disk_full import clean

ENDED = -signal.SIGTERM  # uvicorn stops, and then passes the signal on to itself


@pytest.fixture
def line(forked: Forked) -> Iterator[Line]:
    line = Line(forked.port)
    yield line
    line.close()


def test_a_sync_and_an_upload_under_way_are_finished_before_the_server_stops(
    forked: Forked, line: Line
) -> None:
    phone = Phone(forked.device("Bay 2 phone"))
    phone.goes_by(line.url)
    phone.write(*[f"note {number} {'x' * 200}" for number in range(30)])
    line.fate = lambda: Fate(rate=40_000, at=5000, then=forked.ask_to_stop)
    phone.send()
    assert forked.stop() == ENDED
    assert clean(forked) == list(phone.acknowledged.values()) == list(phone.written.values())

    forked.start()
    content = picture(200, 100)
    line.fate = Fate
    phone.photograph(content)
    phone.send()
    place = sha(content)
    requests_ = iter([Fate(), Fate(rate=40_000, at=3000, then=forked.ask_to_stop)])
    line.fate = lambda: next(requests_)
    phone.send_photo(place, len(content))
    assert forked.stop() == ENDED
    assert (forked.settings.data / "photos" / place).read_bytes() == content


def test_tuspy_comes_through_cuts_and_a_killed_server(forked: Forked, line: Line) -> None:
    chance = random.Random(8)
    content = picture(500, 400)
    device = forked.device("A client of others")
    client = tusclient.TusClient(f"{line.url}/uploads", headers={"Authorization": f"Bearer {device.token}"})
    restarted = threading.Event()

    def restart() -> None:
        if not restarted.is_set():
            forked.kill()
            forked.start()
            restarted.set()

    fates = iter([Fate(up=500), Fate(down=60)])
    line.fate = lambda: next(fates, None) or Fate(up=chance.randint(1000, 60_000), at_cut=restart)
    place, lost = "", 0
    while True:
        try:
            uploader = client.uploader(
                file_stream=io.BytesIO(content),
                chunk_size=50_000,
                metadata={"sha256": sha(content)},
                url=place or None,
            )
            place = place or uploader.create_url()
            uploader.set_url(place)
            uploader.offset = uploader.get_offset()
            uploader.upload()
            break
        except (TusCommunicationError, requests.RequestException):
            lost += 1
            assert lost < 5000
    assert lost >= 3
    assert restarted.is_set()
    assert (forked.settings.data / "photos" / sha(content)).read_bytes() == content
