"""Storage that fills up, is cleared or is not promised: nothing saved is lost, and pages say what to do."""

import json
from pathlib import Path

from PIL import Image
from playwright.sync_api import expect

from tests.helpers.servers import Server
from tests.phone.browser import Browser
from tests.phone.storage import save, send, small

MB = 1_000_000
SIDE = 600  # px of a photo that has about 0.8 MB
SIZE = "hash => fetch('/photo/' + hash).then(it => it.blob()).then(it => it.size)"


def enrol(phone: Browser, server: Server) -> None:
    phone.page.goto(f"{server.url}/phone")
    phone.page.fill("[name=name]", "Bay 2 phone")
    phone.page.fill("[name=code]", server.shop.new_code("phone"))
    phone.page.click("button:has-text('Join')")
    phone.page.wait_for_selector("text=Send and fetch now")


def texts(phone: Browser) -> list[str]:
    rows = [json.loads(row["text"]) for row in phone.stored("records") if row["kind"] == "note"]
    return [row["data"]["text"] for row in rows]


def captions(phone: Browser) -> dict[str, str]:
    rows = [json.loads(row["text"]) for row in phone.stored("records") if row["kind"] == "photo"]
    return {row["data"]["sha256"]: row["data"]["caption"] for row in rows}


def test_a_full_phone_still_takes_notes_and_takes_photos_again_once_sent_ones_are_freed(
    browser: Browser, server: Server, tmp_path: Path
) -> None:
    page, root = browser.page, server.url
    small(browser, root, 9 * MB)
    browser.install(root)
    path = browser.new_job()
    enrol(browser, server)
    server.stop()

    kept = 0
    while "no-room" not in send(browser, f"{path}/photo", SIDE, caption=f"photo {kept}"):
        kept += 1
    assert kept > 2
    before = captions(browser)
    assert sorted(before.values()) == sorted(f"photo {n}" for n in range(kept))

    picture = tmp_path / "picture.png"
    Image.effect_noise((1900, 1500), 90).save(picture)
    page.goto(f"{root}{path}/note")
    page.fill("textarea", "typed beside the photo")
    page.fill("[name=caption]", "crack in the housing")
    page.locator("form.photo input[type=file]").set_input_files(picture)
    page.wait_for_selector("[role=alert]:has-text('this phone is full')")
    expect(page.locator("textarea")).to_have_value("typed beside the photo")
    expect(page.locator("[name=caption]")).to_have_value("crack in the housing")
    outside = page.get_attribute("[role=alert] a[download]", "href") or ""
    assert page.evaluate("link => fetch(link).then(it => it.blob()).then(it => it.size)", outside) > 50_000

    page.click("button:has-text('Save note')")
    page.wait_for_selector("ol.timeline:has-text('typed beside the photo')")
    for n in range(30):
        save(browser, f"{path}/note", text=f"note {n} " + 9_000 * "x")
    assert len(texts(browser)) == 31
    # The room given up is for text alone.
    assert "no-room" in send(browser, f"{path}/photo", SIDE)
    browser.kill_worker()
    page.goto(f"{root}/phone")
    assert page.locator("button:has-text('Free')").count() == 0  # nothing is at the shop, so nothing may go
    assert captions(browser) == before
    assert {photo["sha256"] for photo in browser.stored("photos")} == set(before)

    server.start()
    page.click("button:has-text('Send and fetch now')")
    page.wait_for_selector("text=Nothing left to send", timeout=60_000)
    page.click("button:has-text('Free')")
    page.wait_for_function("() => !document.body.innerText.includes('Free ')")
    assert browser.stored("photos") == []
    assert "no-room" not in send(browser, f"{path}/photo", SIDE, caption="after")
    assert len(texts(browser)) == 31
    assert len(captions(browser)) == kept + 1
    page.goto(f"{root}{path}/timeline")
    assert page.evaluate(SIZE, next(iter(before))) > 10_000


def test_a_full_phone_makes_room_itself_by_dropping_what_the_shop_has(
    browser: Browser, server: Server
) -> None:
    page, root = browser.page, server.url
    small(browser, root, 7 * MB)
    browser.install(root)
    path = browser.new_job()
    enrol(browser, server)
    sent = 4
    for n in range(sent):
        save(browser, f"{path}/photo", SIDE // 2, caption=f"sent {n}")
    page.goto(f"{root}/phone")
    page.click("button:has-text('Send and fetch now')")
    page.wait_for_selector("text=Nothing left to send")
    server.stop()
    kept = 0
    while "no-room" not in send(browser, f"{path}/photo", SIDE // 2, caption=f"unsent {kept}"):
        kept += 1
    here = {photo["sha256"] for photo in browser.stored("photos")}
    named = captions(browser)
    assert {hash for hash, caption in named.items() if caption.startswith("unsent")} == here
    assert len(here) == kept >= sent
    assert len(named) == kept + sent


def test_this_phone_says_what_the_browser_promised(browser: Browser, server: Server) -> None:
    browser.install(server.url)
    browser.new_job()
    for said, words in (
        ("async () => true", "The browser has promised to keep this"),
        ("async () => false", "The browser has not promised to keep this"),
        ("() => new Promise(() => {})", "The browser does not say whether it keeps this"),
    ):
        worker = browser.context.service_workers[0]
        worker.evaluate(f"() => {{ navigator.storage.persisted = {said}; }}")
        worker.evaluate("() => { navigator.storage.estimate = () => Promise.reject(new Error('no')); }")
        browser.page.goto(f"{server.url}/phone")
        expect(browser.page.locator("main")).to_contain_text(words)
        expect(browser.page.locator("main")).to_contain_text("1 job, 1 entry, 0 photos.")
        for when in ("tab", "private"):
            expect(browser.page.locator(f"[data-when={when}]")).to_be_hidden()


def test_the_first_save_asks_the_browser_to_keep_it_and_does_not_wait_for_an_answer(
    browser: Browser, server: Server
) -> None:
    browser.page.add_init_script(
        "navigator.storage.persist = () => { console.log('asked'); return new Promise(() => {}); }"
    )
    browser.install(server.url)
    assert "asked" not in browser.console
    path = browser.start_job()
    browser.page.goto(f"{server.url}{path}/note")
    browser.page.fill("textarea", "a note")
    browser.page.click("button:has-text('Save note')")
    browser.page.wait_for_selector("ol.timeline")
    assert browser.console.count("asked") == 1


def test_a_tab_that_loses_its_storage_and_a_private_window_are_named(
    browser: Browser, server: Server
) -> None:
    page = browser.page
    page.add_init_script("""
        navigator.standalone = false;  // as in a tab of iOS
        navigator.storage.getDirectory = () => Promise.reject(new DOMException('', 'SecurityError'));
    """)
    page.goto(server.url)
    for _ in range(2):
        expect(page.locator("[data-when=tab]")).to_contain_text("after seven days without use")
        expect(page.locator("[data-when=private]")).to_contain_text("This looks like a private window")
        page.wait_for_selector("#open:not([hidden]), h1:has-text('This phone')")
        page.goto(f"{server.url}/phone")


def test_a_phone_that_the_browser_cleared_says_so_and_gets_everything_back(
    browser: Browser, server: Server
) -> None:
    page, root = browser.page, server.url
    browser.install(root)
    path = browser.new_job("Truck 7")
    save(browser, f"{path}/note", text="sent before it was cleared")
    save(browser, f"{path}/photo", SIDE // 4, caption="a photo")
    enrol(browser, server)
    page.wait_for_selector("text=Nothing left to send")
    page.goto("about:blank")
    session = browser.devtools()
    session.send("Storage.clearDataForOrigin", {"origin": root, "storageTypes": "all"})
    browser.install(root)
    page.wait_for_selector("text=Were there jobs on this phone?")
    page.click("text=Enter the code")
    enrol(browser, server)
    page.goto(f"{root}{path}/timeline")
    page.wait_for_selector("text=sent before it was cleared")
    assert page.evaluate("document.querySelector('img[src^=\"/photo/\"]').src")
    (photo,) = captions(browser)
    assert page.evaluate(SIZE, photo) > 10_000
