"""The app as a phone gets it: the real build, a real server, real browsers."""

import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Playwright, sync_playwright

from pwa.build.build import build
from tests.helpers.servers import Server
from tests.phone.browser import Browser, chromium

FIREFOX = shutil.which("firefox-esr") or shutil.which("firefox")


def require(program: str | None, name: str) -> str:
    """Skip without the browser; where tests must not be skipped (CI), fail instead."""
    if program:
        return program
    if os.environ.get("LAYBY_REQUIRE_BROWSERS"):
        pytest.fail(f"{name} is not installed, and no test may be skipped here")
    pytest.skip(f"{name} is not installed: THE PHONE IS NOT TESTED. Install it, or run .ci/run")


@pytest.fixture(scope="session")
def dist(tmp_path_factory: pytest.TempPathFactory) -> Path:
    target = tmp_path_factory.mktemp("build") / "dist"
    build(target)
    return target


@pytest.fixture
def server(tmp_path: Path, dist: Path) -> Iterator[Server]:
    own = tmp_path / "dist"
    shutil.copytree(dist, own)
    running = Server(tmp_path, own)
    yield running
    running.stop()


@pytest.fixture(scope="session")
def playwright() -> Iterator[Playwright]:
    with sync_playwright() as running:
        yield running


@pytest.fixture
def new_browser(playwright: Playwright, tmp_path: Path) -> Iterator[Callable[..., Browser]]:
    """Makes phones; each has a profile of its own. Flags go to the browser."""
    require(chromium(), "Chromium")
    started: list[Browser] = []

    def make(*flags: str) -> Browser:
        started.append(Browser(playwright, tmp_path / f"profile-{len(started)}", *flags))
        return started[-1]

    yield make
    for browser in started:
        browser.kill()


@pytest.fixture
def browser(new_browser: Callable[..., Browser]) -> Browser:
    return new_browser()
