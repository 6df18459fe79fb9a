"""Records damaged where they are stored: on the phone in IndexedDB, at the desk in SQLite."""

import json
import sqlite3
from pathlib import Path

import httpx

from pwa.app.notebook import Notebook
from server.desk.notebook import Pages
from server.store.check import check
from tests.helpers.servers import Server, sign_in
from tests.helpers.trade import CONTENT
from tests.phone.browser import Browser
from tests.phone.test_carry import saved
from tests.phone.test_job import enrol


def write_note(phone: Browser, root: str, path: str, text: str) -> None:
    phone.page.goto(f"{root}{path}/note")
    phone.page.fill("textarea", text)
    phone.page.click("button:has-text('Save note')")


def damage(phone: Browser, ids: list[str]) -> None:
    """Cut the text of these records short."""
    phone.page.evaluate(
        """ids => new Promise((done) => {
            const opening = indexedDB.open("layby");
            opening.onsuccess = () => {
                const change = opening.result.transaction("records", "readwrite");
                const store = change.objectStore("records");
                for (const id of ids) store.get(id).onsuccess = ({target}) =>
                    store.put({...target.result, text: target.result.text.slice(0, -7)});
                change.oncomplete = () => { opening.result.close(); done(); };
            };
        })""",
        ids,
    )


def test_a_damaged_job_opens_takes_nothing_new_and_is_mended_by_the_shops_copy(
    browser: Browser, server: Server, tmp_path: Path
) -> None:
    browser.install(server.url)
    page, root = browser.page, server.url
    path = browser.new_job()
    write_note(browser, root, path, "seen by the shop")
    page.wait_for_selector("ol.timeline")
    enrol(browser, server, "First phone")
    page.wait_for_selector("text=Nothing left to send")
    everything = {row["id"]: row["text"] for row in browser.stored("records")}
    before = {id: text for id, text in everything.items() if json.loads(text)["kind"] != "person"}
    assert (len(before), len(everything)) == (2, 3)  # the third tells the phone's name
    damage(browser, list(before))

    page.goto(f"{root}/")
    page.click(".damaged a")
    page.wait_for_selector("text=2 entries of this job are damaged and cannot be read")
    assert page.locator("text=Truck 7").count() == 0
    broken = {row["id"]: row["text"] for row in browser.stored("records")}
    file = saved(browser, tmp_path, "layby-job.zip")
    page.goto(f"{root}/rescue.html")
    page.wait_for_selector(f"#records li >> nth={len(broken) - 1}")
    for text in broken.values():
        assert page.locator("#records pre", has_text=text[:200]).count() == 1

    desk = httpx.Client(base_url=root, headers={"Sec-Fetch-Site": "same-origin"})
    sign_in(server.shop, desk)
    assert desk.post("/desk/files", content=file.read_bytes()).json()["refused"] == 2
    copy = desk.get(f"/desk/files/{path.split('/')[-1]}").content
    page.goto(f"{root}/files")
    page.set_input_files("#f-file", {"name": "a.zip", "mimeType": "application/zip", "buffer": copy})
    page.wait_for_selector("#taken:has-text('3 entries were here already')")
    assert {row["id"]: row["text"] for row in browser.stored("records")} == everything
    page.goto(f"{root}{path}/timeline")
    page.wait_for_selector("text=seen by the shop")
    assert page.locator(".damaged").count() == 0


def test_what_is_typed_for_a_damaged_job_waits_and_goes_in_once_it_is_mended(
    browser: Browser, server: Server
) -> None:
    browser.install(server.url)
    page, root = browser.page, server.url
    server.stop()
    path = browser.new_job()
    write_note(browser, root, path, "first")
    page.wait_for_selector("ol.timeline")
    [note] = [row for row in browser.stored("records") if row["kind"] == "note"]
    page.goto(f"{root}{path}/note")
    damage(browser, [note["id"]])
    page.fill("textarea", "typed for later")
    page.click("button:has-text('Save note')")
    page.wait_for_selector("text=What you typed is kept on this phone")
    assert len(browser.stored("records")) == 2
    [entry] = browser.stored("journal")
    assert entry["form"]["text"] == ["typed for later"]
    page.evaluate(
        """row => new Promise((done) => {
            const opening = indexedDB.open("layby");
            opening.onsuccess = () => {
                const change = opening.result.transaction("records", "readwrite");
                change.objectStore("records").put(row);
                change.oncomplete = () => { opening.result.close(); done(); };
            };
        })""",
        note,
    )
    page.goto(f"{root}/phone")
    page.click("button:has-text('Try again')")
    page.wait_for_function("() => !document.body.innerText.includes(' waiting')")
    notes = [json.loads(row["text"])["data"]["text"] for row in browser.stored("records")[1:]]
    assert (notes, browser.stored("journal")) == (["first", "typed for later"], [])


def test_a_damaged_row_at_the_desk_is_named_and_the_job_opens(tmp_path: Path) -> None:
    server = Server(tmp_path, tmp_path, Notebook(CONTENT, Pages().render))
    desk = httpx.Client(base_url=server.url, headers={"Sec-Fetch-Site": "same-origin"}, follow_redirects=True)
    sign_in(server.shop, desk)
    opening = {"unit": "Truck 7", "complaint": "no power", "place": "bay", "drive": "electric"}
    job = str(desk.post("/desk/job/new", data=opening).url)
    for text in ("to be damaged", "whole"):
        desk.post(f"{job}/note", data={"text": text})
    [path] = (tmp_path / "data").glob("*.db")
    with sqlite3.connect(path) as db:
        db.execute("update records set text = substr(text, 1, 99) where text like '%to be damaged%'")
    page = desk.get(f"{job}/timeline").text
    assert "1 entry of this job is damaged" in page
    assert "whole" in page
    answer = desk.post(f"{job}/note", data={"text": "on top of it"})
    assert (answer.status_code, "This was not written" in answer.text) == (409, True)
    assert desk.get(f"/desk/files/{job.split('/')[-1]}").status_code == 200
    assert desk.get("/desk/").status_code == 200
    assert len(check(server.shop).problems) == 3  # the row, the one after it, and what was signed
    server.stop()
