"""A photo damaged or lost at the shop: not shown, said so, asked back from any phone that has it."""

import asyncio
import concurrent.futures
import io
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path

import httpx
import pytest

from server import rot
from server.errors import Refused
from server.store.check import check
from tests.faults.phones import picture
from tests.faults.test_put_back import keep_photo
from tests.helpers.servers import Device, PlainBook, Server, sign_in
from tests.phone.browser import Browser
from tests.phone.test_restored import exchange, join
from tests.server.sync.test_uploads import sha, upload

SITE = ("index.html", "static/photo-not-here.svg", "static/photo-damaged.svg")


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Server]:
    for name in SITE:
        (tmp_path / "dist" / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / "dist" / name).write_text("<svg/>")
    running = Server(tmp_path, tmp_path / "dist", PlainBook())
    yield running
    running.stop()


@pytest.fixture
def desk(shop: Server) -> httpx.Client:
    client = httpx.Client(base_url=shop.url, headers={"Sec-Fetch-Site": "same-origin"})
    sign_in(shop.shop, client, "owner", "Anna")
    return client


@pytest.fixture
def phone(shop: Server) -> Device:
    return Device(shop)


def sent(phone: Device, content: bytes) -> Path:
    """A photo that a record names, at the shop; its file."""
    phone.sync(*phone.write("", kind="photo", sha256=sha(content)))
    upload(phone, content)
    return Path("photos") / sha(content)


def flipped(path: Path) -> None:
    content = bytearray(path.read_bytes())
    content[len(content) // 2] ^= 1
    path.write_bytes(content)


def cut(path: Path) -> None:
    path.write_bytes(path.read_bytes()[:-10])


def lost(path: Path) -> None:
    path.unlink()


DAMAGES = [flipped, cut, lost]


@pytest.mark.parametrize("damage", DAMAGES)
def test_it_is_not_shown_and_heals_from_another_phone(
    shop: Server, desk: httpx.Client, phone: Device, damage: Callable[[Path], None]
) -> None:
    content = picture(80, 60)
    path = shop.settings.data / sent(phone, content)
    assert desk.get(f"/desk/photo/{sha(content)}").content == content
    bystander = Device(shop, "Bay 3 phone")
    assert bystander.sync()["asked_back"] == []
    damage(path)
    drawn = desk.get(f"/desk/photo/{sha(content)}")
    assert (drawn.status_code, drawn.headers["Location"]) == (307, "/static/photo-damaged.svg")
    answer = bystander.http.get(f"/photos/{sha(content)}")
    assert (answer.status_code, answer.json()["error"]) == (404, "damaged")
    assert "asked back" in answer.json()["message"]
    assert desk.get("/desk/").status_code == 200
    assert phone.sync()["asked_back"] == bystander.sync()["asked_back"] == [sha(content)]
    upload(bystander, content)  # the one that fetched it, say
    assert desk.get(f"/desk/photo/{sha(content)}").content == content
    assert phone.sync()["asked_back"] == []
    report = check(shop.shop)
    assert (report.problems, report.photos) == ([], 1)


@pytest.mark.parametrize("damage", DAMAGES)
def test_all_jobs_as_a_file_name_it_as_missing(
    shop: Server, desk: httpx.Client, phone: Device, damage: Callable[[Path], None]
) -> None:
    good, bad = picture(80, 60), picture(90, 60)
    sent(phone, good)
    damage(shop.settings.data / sent(phone, bad))
    answer = desk.get("/desk/files/all")
    assert answer.status_code == 200
    with zipfile.ZipFile(io.BytesIO(answer.content)) as file:
        assert file.testzip() is None
        names = [name for name in file.namelist() if sha(bad) in name]
        assert (names, sha(bad) in file.read("layby.json").decode()) == ([], True)
        assert any(sha(good) in name for name in file.namelist())


def test_nothing_damaged_is_destroyed(shop: Server, phone: Device) -> None:
    content = picture(80, 60)
    path = shop.settings.data / sent(phone, content)
    flipped(path)
    damaged = path.read_bytes()
    with pytest.raises(Refused):
        shop.shop.photos.find(sha(content))
    (aside,) = (path.parent / "damaged").iterdir()
    assert aside.read_bytes() == damaged


@pytest.mark.parametrize("damage", DAMAGES)
def test_one_that_nobody_looks_at_is_found(
    shop: Server, phone: Device, monkeypatch: pytest.MonkeyPatch, damage: Callable[[Path], None]
) -> None:
    good, bad = picture(80, 60), picture(90, 60)
    sent(phone, good)
    damage(shop.settings.data / sent(phone, bad))
    for pause in ("FIRST", "LEAST", "SHARE"):
        monkeypatch.setattr(rot, pause, 0)

    async def one_round() -> None:
        round = asyncio.create_task(rot.look(shop.shop.photos))
        while not shop.shop.ledger.asked_back("") and not round.done():
            await asyncio.sleep(0.01)
        round.cancel()

    # In a thread of its own: a browser that an earlier test drives has a loop in this one.
    with concurrent.futures.ThreadPoolExecutor() as pool:
        pool.submit(asyncio.run, asyncio.wait_for(one_round(), 30)).result()
    assert phone.sync()["asked_back"] == [sha(bad)]
    assert shop.shop.photos.has(sha(good))


def test_a_real_phone_shows_that_it_is_damaged_and_another_heals_it(
    new_browser: Callable[..., Browser], server: Server
) -> None:
    content = picture(80, 60)
    has, lacks = new_browser(), new_browser()
    for phone, name in ((has, "Bay 2 phone"), (lacks, "Bay 3 phone")):
        phone.install(server.url)
        join(phone, server, name)
    keep_photo(has, content)
    exchange(has, server)
    flipped(server.settings.data / "photos" / sha(content))
    shown = lacks.page.goto(f"{server.url}/photo/{sha(content)}")
    assert shown and "Photo damaged at the shop" in shown.text()
    exchange(has, server)
    shown = lacks.page.goto(f"{server.url}/photo/{sha(content)}")
    assert shown and shown.body() == content
    assert check(server.shop).problems == []
