"""A new build: fetched in the background, complete or not at all, and taken only when a person says so."""

import json
import shutil
from pathlib import Path

from pwa.build import build as builder
from tests.helpers.servers import Server
from tests.phone.browser import Browser


def publish(server: Server, tmp_path: Path, mark: str) -> None:
    """Put a new build in place of the one the server has, with a mark on its first page."""
    files = {
        path.relative_to(server.settings.dist).as_posix(): path.read_bytes()
        for path in server.settings.dist.rglob("*")
        if path.is_file() and path.name not in ("worker.js", "version.json")
    }
    files["static/layby.css"] += f"\n/* {mark} */".encode()
    version, files["worker.js"] = builder.bundle_worker(builder.hashes(files))
    files["version.json"] = json.dumps({"version": version}).encode()
    builder.replace(server.settings.dist, files)


def test_an_update_waits_for_consent_and_leaves_the_open_job_alone(
    browser: Browser, server: Server, tmp_path: Path
) -> None:
    browser.install(server.url)
    path = browser.new_job()
    before = browser.stored("records")
    publish(server, tmp_path, "second edition")
    browser.page.goto(server.url + path + "/note")
    browser.page.fill("textarea", "half a sentence")
    browser.page.wait_for_selector("text=A new version of Layby is ready")
    assert "second edition" not in browser.page.evaluate("fetch('/static/layby.css').then(r => r.text())")
    browser.page.click("text=Take the update now")
    browser.page.wait_for_function(
        "() => fetch('/static/layby.css').then(r => r.text()).then(t => t.includes('second edition'))"
    )
    browser.page.wait_for_function("() => document.querySelector('textarea')?.value === 'half a sentence'")
    assert browser.stored("records") == before
    browser.page.wait_for_function("() => caches.keys().then(names => names.length === 1)")


def test_an_update_that_cannot_be_fetched_whole_is_announced_and_changes_nothing(
    browser: Browser, server: Server, tmp_path: Path
) -> None:
    browser.install(server.url)
    publish(server, tmp_path, "broken edition")
    (server.settings.dist / "static/layby.css").write_text("not the file of this build")
    kept = browser.page.evaluate("caches.keys()")
    browser.page.reload()
    browser.page.wait_for_selector("text=The update did not come through")
    assert browser.page.evaluate("caches.keys()") == kept
    publish(server, tmp_path, "mended edition")
    browser.page.reload()
    browser.page.wait_for_selector("text=A new version of Layby is ready")
    server.stop()
    shutil.rmtree(server.settings.dist)
    browser.page.reload()
    browser.page.wait_for_selector("h1:has-text('Jobs')")
