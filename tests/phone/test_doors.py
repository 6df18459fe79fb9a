"""One text, one verdict at sync and in both files; and letters that come out as they went in."""

import io
import json
import zipfile

import httpx
from playwright.sync_api import expect

from pwa.app.record import chain
from server.files.take_in import take
from server.store import entries
from tests.helpers.servers import Server, sign_in
from tests.phone.browser import Browser

NOW = 1_764_065_263_000
LETTERS = "Vane \U0001f527 stuck é ✓ \U0001f468\u200d\U0001f527"


def good(**fields):
    device = {"id": fields.pop("device", "other"), "name": "Other", "seq": 0, "head": "", "clock": ""}
    text = chain.seal(
        [chain.draft("job", "note", {"text": "words"})], device, NOW, "0123456789abcdef" * 2, ""
    )[0][0]
    return json.dumps({**json.loads(text), "id": device["id"], **fields})


def put(text, old, new):
    assert old in text
    return text.replace(old, new)


WORDS = '"words"'
# Each with a device of its own, so that none follows another. True for what is a record, understood or not.
TEXTS = [
    (True, good(device="d0")),
    (True, good(device="d1", data={"text": 7})),
    (True, good(device="d2", data={"text": "x" * 20_001})),
    (True, good(device="d3", data={"text": "x" * 300_000})),
    (True, good(device="d4", v=2)),
    (True, good(device="d5", v="2")),
    (True, good(device="d6", clock="9" * 15 + ".0000000")),
    (True, good(device="d7", clock="9" * 15 + "." + "9" * 23)),
    (True, good(device="d8", kind="prices", data={"rate": "abc"})),
    (True, good(device="d9", kind="finding", data={"finding": ["x"]})),
    (True, put(good(device="d10"), WORDS, r'"\ud83d"')),
    (True, put(good(device="d11"), WORDS, "1e299")),
    (True, good(device="d12", time=-5)),
    (False, good(device="d13", seq=0)),
    (False, good(device="d14", seq=1.0)),
    (False, good(device="d15", clock="soon")),
    (False, good(device="d16", clock="9" * 15 + "." + "9" * 60)),
    (False, good(device="d17", author="\ud83d")),
    (False, good(device="d18", data=["words"])),
    (False, put(good(device="d19"), WORDS, "NaN")),
    (False, put(good(device="d20"), WORDS, "1e400")),
    (False, put(good(device="d21"), WORDS, "9" * 400)),
    (False, put(good(device="d22"), WORDS, "[" * 40 + "]" * 40)),
    (False, put(good(device="d23"), '": ', '" ')),
    (False, put(good(device="d24"), WORDS, '"\t"')),
    (False, good(device="d25", data={"text": "x" * 4 * 1024 * 1024})),
    (False, good(device="d26", replaces=["x"] * 1001)),
    (False, "{}"),
    (False, "[1"),
]


def is_record(text):
    try:
        entries.read(text)
    except ValueError:
        return False
    return True


def file_of(lines):
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as content:
        content.writestr("records.jsonl", b"\n".join(lines))
    file.seek(0)
    return file


def test_every_door_gives_a_text_the_same_verdict(browser: Browser, server: Server) -> None:
    kept = [text for record, text in TEXTS if record]
    assert [text for _, text in TEXTS if is_record(text)] == kept
    lines = [*(text.encode() for _, text in TEXTS), good(device="d27").encode().replace(b"words", b"w\xff")]
    said = take(server.shop, file_of(lines))
    assert (said["taken"], said["refused"]) == (len(kept), len(lines) - len(kept)), said["named"]
    browser.install(server.url)
    page = browser.page
    page.goto(f"{server.url}/files")
    page.set_input_files(
        "#f-file", {"name": "a.zip", "mimeType": "application/zip", "buffer": file_of(lines).read()}
    )
    page.wait_for_selector(f"#taken:has-text('{len(kept)} entries')")
    stored = [row["text"] for row in browser.stored("records")]
    assert sorted(stored) == sorted(kept) == sorted(server.shop.ledger.texts())


def test_letters_come_out_as_they_went_in_on_every_side(browser: Browser, server: Server) -> None:
    browser.install(server.url)
    page, root = browser.page, server.url
    code = server.shop.new_code("phone")
    page.goto(f"{root}/phone")
    page.fill("[name=name]", "Bay 2")
    page.fill("[name=code]", code)
    page.click("button:has-text('Join')")
    page.wait_for_selector("button:has-text('Send and fetch now')")
    page.goto(f"{root}/")
    job = browser.start_job("Truck \U0001f69b")
    page.goto(f"{root}{job}/note")
    page.fill("[name=text]", f"phone {LETTERS}")
    page.click("button:has-text('Save note')")
    expect(page.locator("main")).to_contain_text(f"phone {LETTERS}")
    page.evaluate("navigator.serviceWorker.controller.postMessage('sync')")
    desk = httpx.Client(base_url=root, headers={"Sec-Fetch-Site": "same-origin"}, follow_redirects=True)
    sign_in(server.shop, desk)
    for _ in range(300):
        if f"phone {LETTERS}" in desk.get(f"/desk{job}/timeline").text:
            break
        page.wait_for_timeout(200)
    assert f"phone {LETTERS}" in desk.get(f"/desk{job}/timeline").text
    desk.post(f"/desk{job}/note", data={"text": f"desk {LETTERS}"})
    page.evaluate("navigator.serviceWorker.controller.postMessage('sync')")
    for _ in range(300):
        page.goto(f"{root}{job}/timeline")
        if f"desk {LETTERS}" in page.inner_text("main"):
            break
        page.wait_for_timeout(200)
    expect(page.locator("main")).to_contain_text(f"desk {LETTERS}")
    expect(page.locator("main")).to_contain_text("Truck \U0001f69b")


def test_a_field_says_how_much_room_is_left_and_cuts_nothing(alone: Browser) -> None:
    page = alone.page
    page.goto(f"{alone.root}{alone.new_job()}/note")
    field = page.locator("textarea[name=text]")
    field.fill("x" * 1000)
    assert not page.locator(".room-left").count()
    field.fill("x" * 18_500)
    expect(page.locator(".room-left")).to_have_text("1500 characters left.")
    field.fill("\U0001f527" * 20_003)
    expect(page.locator(".room-left")).to_have_text(
        "3 too many: 20000 characters fit. Shorten it before you save."
    )
    field.fill("x" * 20_003)
    page.click("button:has-text('Save note')")
    expect(page.locator("h1")).to_have_text("Not saved yet")
    expect(page.locator("#e-text")).to_contain_text("Shorten it by 3")
    expect(page.locator("textarea[name=text]")).to_have_value("x" * 20_003)
    page.fill("textarea[name=text]", "x" * 20_000)
    page.click("button:has-text('Save')")
    page.wait_for_selector("h1:has-text('Timeline')")
