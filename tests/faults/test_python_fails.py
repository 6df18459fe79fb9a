"""Python or the storage can fail; what a person typed may not be lost, and no page may claim otherwise."""

import json
import re

import pytest

from pwa.build import build as builder
from pwa.build import python_pack, templates
from pwa.templates import ROOT
from tests.helpers.servers import Server
from tests.phone.browser import Browser

PACK = "/phone/python.pack"


def drop_python(browser: Browser) -> None:
    """Lose the compiled app from the cache and end the worker that has it in memory."""
    browser.page.evaluate(
        "path => caches.keys().then(names => caches.open(names[0])).then(cache => cache.delete(path))", PACK
    )
    browser.kill_worker()


def type_note(browser: Browser, server: Server, path: str, text: str) -> None:
    browser.page.goto(f"{server.url}{path}/note")
    browser.page.wait_for_selector("textarea")
    browser.page.fill("textarea", text)


def notes(browser: Browser) -> list[str]:
    rows = [json.loads(row["text"]) for row in browser.stored("records") if row["kind"] == "note"]
    return [row["data"]["text"] for row in rows]


def test_a_note_typed_while_python_cannot_start_is_kept_shown_and_works_in_later(
    browser: Browser, server: Server
) -> None:
    browser.install(server.url)
    path = browser.new_job()
    type_note(browser, server, path, "typed while Python was gone")
    server.stop()
    drop_python(browser)
    browser.page.click("button:has-text('Save note')")
    browser.page.wait_for_selector("text=what was typed is safe")
    assert notes(browser) == []
    browser.page.click("text=See and save what is stored here")
    browser.page.wait_for_selector("#journal li:has-text('typed while Python was gone')")
    server.start()  # signal again: the lost file is fetched, and the entry tried again
    browser.page.goto(f"{server.url}/phone")
    browser.page.click("button:has-text('Try again')")
    browser.page.wait_for_selector("text=Join the shop")
    browser.page.wait_for_function("() => !document.body.innerText.includes(' waiting')")
    assert notes(browser) == ["typed while Python was gone"]
    assert browser.stored("journal") == []


def test_an_entry_that_finds_its_job_gone_stays_in_the_journal(browser: Browser, server: Server) -> None:
    browser.install(server.url)
    path = browser.new_job()
    type_note(browser, server, path, "for a job that is not here")
    browser.page.evaluate("() => { document.querySelector('form.stack').action = '/job/elsewhere/note'; }")
    browser.page.evaluate("() => HTMLFormElement.prototype.submit.call(document.querySelector('form.stack'))")
    browser.page.wait_for_selector("text=This job is not on this device yet")
    for _ in range(2):  # nor does trying again throw it away
        kept = browser.stored("journal")
        assert [entry["form"]["text"] for entry in kept] == [["for a job that is not here"]]
        browser.page.goto(f"{server.url}/phone")
        browser.page.click("button:has-text('Try again')")
        browser.page.wait_for_load_state("networkidle")


def test_a_storage_that_takes_nothing_says_so_and_the_text_stays_in_the_form(
    browser: Browser, server: Server
) -> None:
    browser.install(server.url)
    path = browser.new_job()
    type_note(browser, server, path, "typed into a full phone")
    worker = browser.context.service_workers[0]
    worker.evaluate("() => { IDBObjectStore.prototype.add = () => { throw new Error('full'); }; }")
    browser.page.click("button:has-text('Save note')")
    browser.page.wait_for_selector("text=Not saved: the phone could not store it")
    assert "is safe" not in browser.page.inner_text("main")
    browser.kill_worker()
    browser.page.goto(f"{server.url}{path}/note")
    browser.page.wait_for_function(
        "() => document.querySelector('textarea')?.value === 'typed into a full phone'"
    )
    browser.page.click("button:has-text('Save note')")
    browser.page.wait_for_selector("ol.timeline")
    assert notes(browser) == ["typed into a full phone"]


def publish_with_fault(server: Server, monkeypatch: pytest.MonkeyPatch) -> int:
    """Let the server have a build in which saving a note fails in Python, and the timeline in its template.

    Returns:
        The line of the timeline's template that fails.
    """
    dist, sources = server.settings.dist, python_pack.sources()
    notes, template = "pwa/app/screens/job/notes.py", "job/timeline.html"
    sources[notes] = sources[notes].replace("def write(", "def write(visit): return lost[0]\ndef _write(")
    text = (ROOT / template).read_text("utf-8")
    faulty = text.replace("<h1>", "{{ nowhere.to.be.found }}<h1>", 1)
    assert faulty != text
    made = templates.compiled(template, faulty)
    module = templates.module_name(template)
    sources[f"{module}.py"] = made.source
    monkeypatch.setattr(python_pack, "sources", lambda cache: sources)
    (dist / "phone/python.pack").write_bytes(python_pack.pack())
    lines = {**templates.line_map(), f"{module}.py": (template, made.lines)}
    (dist / "phone/template-lines.json").write_text(json.dumps(lines))
    files = {
        path.relative_to(dist).as_posix(): path.read_bytes()
        for path in dist.rglob("*")
        if path.is_file() and path.name not in ("worker.js", "version.json")
    }
    _, files["worker.js"] = builder.bundle_worker(builder.hashes(files))
    builder.replace(dist, files)
    return faulty[: faulty.index("nowhere")].count("\n") + 1


def test_where_python_failed_stays_with_the_entry_and_can_be_sent_in(
    browser: Browser, server: Server, monkeypatch: pytest.MonkeyPatch
) -> None:
    publish_with_fault(server, monkeypatch)
    browser.install(server.url)
    path = browser.new_job()
    type_note(browser, server, path, "typed into a faulty build")
    browser.page.click("button:has-text('Save note')")
    browser.page.wait_for_selector("text=what was typed is safe")
    (entry,) = browser.stored("journal")
    assert entry["form"]["text"] == ["typed into a faulty build"]
    told = entry["failure"]["text"]
    assert f"POST {path}/note" in told
    assert re.search(r'File "pwa/app/screens/job/notes\.py", line \d+, in write\n', told)
    assert "NameError: name 'lost' isn't defined" in told
    assert "typed into" not in told
    browser.page.goto(f"{server.url}/phone")
    browser.page.click("summary:has-text('Something failed')")
    assert browser.page.inner_text("#failed").strip() == told
    browser.page.goto(f"{server.url}/rescue.html")
    browser.page.wait_for_selector("#journal li:has-text('typed into a faulty build')")
    assert told in browser.page.inner_text("#journal")
    assert browser.page.inner_text("#failure pre") == told


def test_a_page_that_failed_names_the_templates_line(
    browser: Browser, server: Server, monkeypatch: pytest.MonkeyPatch
) -> None:
    line = publish_with_fault(server, monkeypatch)
    browser.install(server.url)
    path = browser.new_job()
    browser.page.goto(f"{server.url}{path}/timeline")
    browser.page.click("text=See what failed")
    browser.page.wait_for_selector("#failure:not([hidden])")
    told = browser.page.inner_text("#failure pre")
    assert f'File "templates/job/timeline.html", line {line},' in told
    assert "pages/" not in told
    browser.context.grant_permissions(["clipboard-read", "clipboard-write"], origin=server.url)
    browser.page.click("#failure button")
    browser.page.wait_for_selector("button:has-text('Copied')")
    assert browser.page.evaluate("navigator.clipboard.readText()") == told
