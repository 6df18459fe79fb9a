"""The app as a phone gets it: the real build, a real server, real browsers."""

import fcntl
import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import httpx
import pytest
from playwright.sync_api import Playwright, sync_playwright

from pwa.build.build import build
from tests.helpers.servers import Server, quiet_port
from tests.phone.browser import Browser, chromium
from tests.phone.firefox import PROGRAM, Firefox


def require(program: str | None, name: str) -> str:
    """Skip without the browser; where tests must not be skipped (CI), fail instead."""
    if program:
        return program
    if os.environ.get("LAYBY_REQUIRE_BROWSERS"):
        pytest.fail(f"{name} is not installed, and no test may be skipped here")
    pytest.skip(f"{name} is not installed: THE PHONE IS NOT TESTED. Install it, or run .ci/run")


@pytest.fixture(scope="session")
def dist(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The build, made once a run: by the worker that first needs it, for all of them."""
    run = tmp_path_factory.getbasetemp()
    if "PYTEST_XDIST_WORKER" in os.environ:
        run = run.parent
    target = run / "build" / "dist"
    with (run / "build.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not target.exists():
            build(target)
    return target


@pytest.fixture(scope="session")
def port() -> int:
    """Of all servers that browsers of this process see: an installed app belongs to its address."""
    return quiet_port()


@pytest.fixture
def server(tmp_path: Path, dist: Path, port: int) -> Iterator[Server]:
    own = tmp_path / "dist"
    shutil.copytree(dist, own)
    running = Server(tmp_path, own, port=port)
    yield running
    running.stop()


@pytest.fixture(scope="session")
def playwright() -> Iterator[Playwright]:
    with sync_playwright() as running:
        yield running


@pytest.fixture(scope="session")
def template(playwright: Playwright, tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], Path]:
    """The profile of a phone that visited an address once, so that not every test has to."""
    known: dict[str, Path] = {}

    def profile(url: str) -> Path:
        key = url + httpx.get(f"{url}/version.json").text
        if key not in known:
            known[key] = tmp_path_factory.mktemp("visited") / "profile"
            phone = Browser(playwright, known[key])
            try:
                phone.visit(url)
                # Copies must not be copies of one phone: that has its number from its first use on.
                assert phone.stored_at(url, "facts") == [], "the phone has been used"
                phone.close()
            finally:
                phone.kill()
        return known[key]

    return profile


@pytest.fixture
def new_browser(
    playwright: Playwright, tmp_path: Path, template: Callable[[str], Path]
) -> Iterator[Callable[..., Browser]]:
    """Makes phones; each has a profile of its own. Flags go to the browser."""
    require(chromium(), "Chromium")
    started: list[Browser] = []

    def make(*flags: str) -> Browser:
        profile = tmp_path / f"profile-{len(started)}"
        started.append(Browser(playwright, profile, *flags, template=template))
        return started[-1]

    yield make
    for browser in started:
        browser.kill()


@pytest.fixture(scope="session")
def firefox_profile(port: int, dist: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Of a Firefox that had the app installed and was killed then."""
    require(PROGRAM, "Firefox")
    folder = tmp_path_factory.mktemp("firefox")
    profile, server = folder / "profile", Server(folder, dist, port=port)
    profile.mkdir()
    phone = Firefox(profile)
    try:
        assert "Jobs" in phone.do("install", server.url)["title"]
    finally:
        phone.kill()
        server.stop()
    return profile


@pytest.fixture
def new_firefox(firefox_profile: Path, tmp_path: Path) -> Iterator[Callable[[], Firefox]]:
    """Makes phones with the app of `server`; each has a profile of its own."""
    started: list[Firefox] = []

    def make() -> Firefox:
        profile = tmp_path / f"firefox-{len(started)}"
        shutil.copytree(firefox_profile, profile, symlinks=True)
        started.append(Firefox(profile))
        return started[-1]

    yield make
    for phone in started:
        phone.kill()


@pytest.fixture(scope="session")
def standing(
    playwright: Playwright, tmp_path_factory: pytest.TempPathFactory, dist: Path
) -> Iterator[Browser]:
    """One phone for all tests of this process that ask `alone`. Its server is gone once the app is there."""
    require(chromium(), "Chromium")
    folder = tmp_path_factory.mktemp("standing")
    phone, server = Browser(playwright, folder / "profile"), Server(folder, dist)
    phone.install(server.url)
    server.stop()
    yield phone
    phone.kill()


@pytest.fixture
def alone(standing: Browser) -> Browser:
    """A phone without a network, in a new tab; what tests before wrote is on it too, in jobs of their own."""
    standing.fresh_tab()
    standing.page.goto(f"{standing.root}/rescue.html")
    return standing


@pytest.fixture
def browser(new_browser: Callable[..., Browser]) -> Browser:
    return new_browser()
