"""`demo/run`: builds, loads the invented shop once, serves it; with --once does the main job and ends."""

import argparse
import hashlib
import shutil
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager

import uvicorn

from demo import scenario
from demo.ways import DATA, ways_in
from pwa.build.build import DIST, PWA, build
from server.app import create
from server.settings import Settings, from_environment
from server.store.shop import Shop

INPUTS = (PWA.parent / "content", PWA)
GENERATED = ("node_modules", "dist", "__pycache__")


def main() -> int:
    options = _options()
    start = time.monotonic()
    build_if_changed()
    settings = from_environment()
    settings = Settings(data=DATA, host=settings.host, port=settings.port)
    if options.once:
        shutil.rmtree(DATA, ignore_errors=True)
    with running(settings) as (shop, url):
        if not shop.ledger.of_kinds(["job-opened"]):
            scenario.load(url, shop, _say)
        if options.once:
            print(scenario.report(shop))
            _say(f"the main job is done, {time.monotonic() - start:.1f} s")
            return 0
        print(ways_in(url, shop) + TO_TRY, flush=True)
        _wait()
    return 0


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="demo/run", description=__doc__)
    parser.add_argument(
        "--once", action="store_true", help="play one phone's job, print the shop's view, end"
    )
    return parser.parse_args()


def build_if_changed() -> None:
    """Build, unless the last build was made from exactly these files."""
    note = DIST.with_name(".dist-made-from")
    made_from = _fingerprint()
    if DIST.exists() and note.exists() and note.read_text() == made_from:
        _say("the build is up to date")
        return
    build(say=lambda step: _say(f"building: {step}"))
    note.write_text(made_from)


def _fingerprint() -> str:
    digest = hashlib.sha256()
    for root in INPUTS:
        for path in sorted(root.rglob("*")):
            inside = path.relative_to(root)
            if path.is_file() and not any(part in GENERATED or part[0] == "." for part in inside.parts):
                digest.update(str(inside).encode() + path.read_bytes())
    return digest.hexdigest()


@contextmanager
def running(settings: Settings) -> Iterator[tuple[Shop, str]]:
    app = create(settings)
    config = uvicorn.Config(
        app, host=settings.host, port=settings.port, log_level="warning", access_log=False
    )
    server = uvicorn.Server(config)
    server.install_signal_handlers = lambda: None  # type: ignore[attr-defined] # Ctrl+C is ours
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    while not server.started:
        if not thread.is_alive():
            sys.exit(f"Port {settings.port} is taken. Set LAYBY_PORT to another one and start again.")
        time.sleep(0.01)
    try:
        yield app.state.shop, f"http://{settings.host}:{settings.port}"
    finally:
        server.should_exit = True
        thread.join(10)


TO_TRY = """
Try this
  1. Open the phone's address at phone size; wait for "Ready without signal"; open Layby.
  2. Press Ctrl+C here: no server any more. Start a job, photograph, close the browser, come back.
  3. Run demo/run again and join the shop: the job appears at the desk.
"""


def _wait() -> None:
    try:
        threading.Event().wait()
    except KeyboardInterrupt:
        _say("stopped; everything is kept in demo/data")


def _say(step: str) -> None:
    print(f"demo: {step}", flush=True)


if __name__ == "__main__":
    sys.exit(main())
