"""A build of `layby dev` takes over by itself and shows tracebacks; no other build does either."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from pwa.build import build as builder
from pwa.build import python_pack
from pwa.build.cache import Cache
from tests.helpers.servers import Server
from tests.phone.browser import Browser


@pytest.fixture(scope="module")
def cache(tmp_path_factory: pytest.TempPathFactory) -> Cache:
    return Cache(tmp_path_factory.mktemp("cache"))


@pytest.fixture
def developing(tmp_path: Path, cache: Cache) -> Iterator[Server]:
    builder.build(tmp_path / "dev", cache=cache, dev=True)
    running = Server(tmp_path, tmp_path / "dev")
    yield running
    running.stop()


def test_a_new_build_is_taken_at_once_and_a_failure_is_on_the_page(
    browser: Browser, developing: Server, cache: Cache, monkeypatch: pytest.MonkeyPatch
) -> None:
    browser.install(developing.url)
    path = browser.new_job()
    sources = python_pack.sources()
    notes = "pwa/app/screens/job/notes.py"
    faulty = {**sources, notes: re.sub(r"def ask\(.*\n", r"\g<0>    lost[0]\n", sources[notes], count=1)}
    monkeypatch.setattr(python_pack, "sources", lambda cache: faulty)
    browser.page.evaluate("window.before = true")
    builder.build(developing.settings.dist, cache=cache, dev=True)
    browser.page.wait_for_function("() => !window.before")  # it came again, and nobody tapped on anything
    browser.page.goto(f"{developing.url}{path}/note")
    browser.page.wait_for_selector("pre:has-text('notes.py')")
    assert "name 'lost' isn't defined" in browser.page.inner_text("pre")
    monkeypatch.setattr(python_pack, "sources", lambda cache: sources)
    builder.build(developing.settings.dist, cache=cache, dev=True)
    browser.page.wait_for_selector("h1:has-text('Note or photo')")


def test_a_build_that_was_not_whole_when_it_was_seen_is_taken_when_it_is(
    browser: Browser, developing: Server
) -> None:
    browser.install(developing.url)
    dist = developing.settings.dist
    sheet = (dist / "static/layby.css").read_bytes() + b"/* next */"
    files = {
        path.relative_to(dist).as_posix(): path.read_bytes() for path in dist.rglob("*") if path.is_file()
    }
    del files["worker.js"], files["version.json"]
    _, worker = builder.bundle_worker(builder.hashes(files | {"static/layby.css": sheet}), dev=True)
    browser.page.evaluate("window.before = true")
    (dist / "worker.js").write_bytes(worker)
    browser.page.wait_for_selector("text=The update did not come through")
    (dist / "static/layby.css").write_bytes(sheet)
    browser.page.wait_for_function("() => !window.before", timeout=50_000)  # page.js tries again after 60 s


def test_no_other_build_takes_over_or_shows_tracebacks(dist: Path, developing: Server) -> None:
    ours, theirs = dist, developing.settings.dist
    assert {path.name for path in theirs.rglob("*")} - {path.name for path in ours.rglob("*")} == {"dev.js"}
    assert (ours / "static/page.js").read_bytes() == (builder.PWA / "static/page.js").read_bytes()
    for mark, only_by_tap in (("skipWaiting", 1), ("dev.js", 0)):
        assert (ours / "worker.js").read_text("utf-8").count(mark) == only_by_tap
        assert (theirs / "worker.js").read_text("utf-8").count(mark) > only_by_tap


def test_what_a_cache_gives_is_what_a_build_without_one_makes(
    tmp_path: Path, dist: Path, cache: Cache
) -> None:
    for _ in range(2):
        builder.build(tmp_path / "kept", cache=cache)
        for path in dist.rglob("*"):
            if path.is_file():
                assert (tmp_path / "kept" / path.relative_to(dist)).read_bytes() == path.read_bytes(), path
