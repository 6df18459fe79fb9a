"""One server a test, with a small site and a plain notebook."""

from collections.abc import Callable, Iterator
from pathlib import Path

import httpx
import pytest

from tests.helpers.processes import Process
from tests.helpers.servers import Device, PlainBook, Server, sign_in

SITE = {
    "index.html": "<!doctype html><title>Layby</title><h1>First page</h1>" + "x" * 1000,
    "worker.js": "// worker",
    "layby.webmanifest": "{}",
    "phone/micropython.wasm": "\0asm",
    "handbook/index.html": "<h1>Handbook</h1>",
    "static/layby.css": "body{}",
    "static/photo-not-here.svg": "<svg/>",
}


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Server]:
    for name, text in SITE.items():
        file = tmp_path / "dist" / name
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(text)
    (tmp_path / "secret.txt").write_text("not for the web")
    running = Server(tmp_path, tmp_path / "dist", PlainBook())
    yield running
    running.stop()


@pytest.fixture
def phone(server: Server) -> Device:
    return Device(server)


@pytest.fixture
def another(server: Server) -> Callable[[], Device]:
    return lambda: Device(server, "Roadside phone")


@pytest.fixture
def browser(server: Server) -> httpx.Client:
    """A browser that has come in at the desk."""
    client = httpx.Client(base_url=server.url, headers={"Sec-Fetch-Site": "same-origin"}, timeout=60)
    sign_in(server.shop, client, "owner", "Anna")
    return client


@pytest.fixture
def served(tmp_path: Path) -> Iterator[Process]:
    process = Process(tmp_path)
    yield process
    process.end()
