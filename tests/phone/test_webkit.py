"""The same app in WebKit, which every browser on an iPhone is."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from demo import photos
from tests.helpers.browsers import require
from tests.helpers.servers import Server
from tests.phone.webkit import WebKit, minibrowser


@pytest.fixture
def new_webkit(tmp_path: Path) -> Iterator[Callable[..., WebKit]]:
    require(minibrowser(), "WebKitGTK's MiniBrowser with Xvfb")
    started: list[WebKit] = []

    def make(*flags: str) -> WebKit:
        profile = tmp_path / f"webkit-{len(started)}"
        profile.mkdir()
        started.append(WebKit(profile, *flags))
        return started[-1]

    yield make
    for browser in started:
        browser.kill()


def test_a_private_window_works_a_job_with_a_photo_without_a_network_and_sends_it_later(
    new_webkit: Callable[..., WebKit], server: Server
) -> None:
    phone = new_webkit("--private")
    phone.install(server.url)
    server.stop()
    path = phone.start_job("Truck 7")
    phone.open(f"{server.url}{path}/note")
    phone.fill("textarea", "written in WebKit with no network")
    phone.press("button", "Save note")
    phone.see("written in WebKit with no network")
    phone.open(f"{server.url}{path}/note")
    jpeg, _ = photos.render(photos.scenes()["electrical/turbine-housing/before"])
    phone.choose("form.photo input[type=file]", "Фото ✓.jpg", "image/jpeg", jpeg)
    phone.wait("location.pathname.endsWith('/timeline') || location.pathname.includes('/photo/')")
    phone.open(f"{server.url}{path}/timeline")
    phone.see("written in WebKit with no network")
    assert phone.wait("document.querySelector('img[src^=\"/photo/\"]')?.naturalWidth") == 1200

    server.start()
    phone.open(f"{server.url}/phone")
    phone.fill("[name=name]", "An iPhone")
    phone.fill("[name=code]", server.shop.new_code("phone"))
    phone.press("button", "Join")
    phone.see("Nothing left to send")
    kinds = [record["kind"] for record in server.shop.ledger.of_job(path.split("/")[-1])]
    assert kinds == ["job-opened", "note", "photo"]
    [photo] = phone.stored("photos")
    assert server.shop.photos.kept(photo["sha256"])


def test_a_storage_lost_under_a_live_page_comes_back_and_what_was_typed_and_shot_is_kept_once(
    new_webkit: Callable[..., WebKit], server: Server
) -> None:
    phone = new_webkit()
    phone.install(server.url)
    server.stop()
    path = phone.start_job("Truck 8")
    for times, words in enumerate(("typed before the loss", "and again"), 1):
        phone.open(f"{server.url}{path}/note")
        phone.fill("textarea", words)
        phone.kill_network_process()
        phone.press("button", "Save note")
        phone.see("Timeline")
        phone.see(words)
        assert [row["kind"] for row in phone.stored("records")].count("note") == times
    phone.open(f"{server.url}{path}/note")
    jpeg, _ = photos.render(photos.scenes()["electrical/turbine-housing/before"])
    phone.fill("[name=caption]", "shot before the loss")
    phone.kill_network_process()
    phone.choose("form.photo input[type=file]", "x.jpg", "image/jpeg", jpeg)
    phone.see("shot before the loss")
    phone.open(f"{server.url}{path}/timeline")
    assert phone.wait("document.querySelector('img[src^=\"/photo/\"]')?.naturalWidth") == 1200
    assert (len(phone.stored("photos")), phone.stored("journal")) == (1, [])
