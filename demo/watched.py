"""The demo's shop under `layby dev`: serves it, and builds anew what changed until Python itself changes."""

import html
import os
import socket
import threading
import time
import traceback
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import uvicorn

from demo.dev import HANDED_ON, say
from demo.ways import DATA, ways_in
from pwa.app import protocol
from pwa.build.build import PWA, build
from pwa.build.cache import Cache
from pwa.build.content.reader import ContentError
from pwa.build.node import NodeError
from pwa.build.watch import Watch
from server import settings
from server.app import create
from server.desk import notebook
from server.store.shop import Shop

FOLDER = PWA / ".dev"  # not pwa/dist: a shop never serves a build that takes updates without asking
DIST = FOLDER / "dist"
FAILED = """<!doctype html><title>Failed</title><body data-host="desk"><pre>{}</pre>
<script src="/static/dev.js" type="module"></script>"""
STOPPING = 2  # seconds that requests under way have


class Book:
    """The desk's notebook, read anew after each build. Where it fails, the page is the traceback."""

    def __init__(self) -> None:
        self._pages = notebook.Pages()
        self.load()

    def load(self) -> None:
        self._notebook = notebook.load(DIST, self._pages)

    def needs(self, request: protocol.Request) -> protocol.Needs:
        return self._notebook.needs(request)

    def answer(self, request: protocol.Request, rows: list[protocol.Row]) -> protocol.Answer:
        try:
            return self._notebook.answer(request, rows)
        except Exception:
            told = traceback.format_exc()
            print(told, flush=True)
            return {
                "status": 500,
                "location": "",
                "type": "text/html; charset=utf-8",
                "body": FAILED.format(html.escape(told)),
                "records": [],
                "device": request["device"],
                "remains": [],
                "gone": [],
            }


def serve(listening: socket.socket, watch: Watch) -> None:
    """Returns once Python changed and requests under way are through."""
    cache = Cache(FOLDER / "cache")
    while not _built(cache) and not DIST.exists():  # nothing to serve yet
        if _is_python(watch.wait()):
            return
    book = Book()
    with _running(listening, book) as (shop, url):
        _begin(shop, url)
        while not _is_python(watch.wait()):
            if _built(cache):
                book.load()


def _built(cache: Cache) -> bool:
    """Whether everything could be built; if not, why is said, and the build before stays."""
    start = time.monotonic()
    try:
        version = build(DIST, cache=cache, dev=True)
    except (ContentError, NodeError, SyntaxError) as error:
        say(f"not built\n{error}")
    except Exception:
        say(f"not built\n{traceback.format_exc()}")
    else:
        say(f"version {version} is there, built in {time.monotonic() - start:.2f} s")
        return True
    return False


def _is_python(changed: set[Any]) -> bool:
    say(", ".join(sorted(str(path.relative_to(PWA.parent)) for path in changed)))
    return any(path.suffix == ".py" for path in changed)


@contextmanager
def _running(listening: socket.socket, book: Book) -> Iterator[tuple[Shop, str]]:
    host, port = listening.getsockname()[:2]
    app = create(settings.Settings(data=DATA, host=host, port=port, dist=DIST), book)
    server = uvicorn.Server(uvicorn.Config(app, log_level="warning", access_log=False))
    thread = threading.Thread(target=server.run, args=([listening.dup()],), daemon=True)
    thread.start()
    while not server.started and thread.is_alive():
        time.sleep(0.01)
    try:
        yield app.state.shop, f"http://{host}:{port}"
    finally:
        server.should_exit = True
        thread.join(STOPPING)


def _begin(shop: Shop, url: str) -> None:
    if not shop.ledger.of_kinds(["job-opened"]):
        from demo import scenario  # here: it reads pages as a person does, which takes long to import

        scenario.load(url, shop, say)
    if HANDED_ON in os.environ:
        return  # said before
    print(ways_in(url, shop), flush=True)
    say(f"the shop is in {DATA}; a change of a file in content, pwa, server or demo is served at once")
