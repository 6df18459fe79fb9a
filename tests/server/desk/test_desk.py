"""The desk: who gets in, what another site can do (nothing), and that a page's records are stored."""

import io
import json
import re

import httpx
import pytest
from PIL import Image

from pwa.app.record import chain
from tests.helpers.servers import Device


def test_every_page_but_the_entrance_asks_who_it_is(server):
    for path in ("/desk/", "/desk", "/desk/devices", "/desk/job/1", "/desk/photo/" + "0" * 64):
        answer = httpx.get(server.url + path, follow_redirects=True)
        assert answer.url.path == "/desk/enter"
        assert 'name="passphrase"' in answer.text


def test_a_full_disk_is_said_on_a_page_and_nothing_is_stored(server, browser):
    with server.shop.store.transaction() as db:
        size = db.execute("pragma page_count").fetchone()[0]
        db.execute(f"pragma max_page_count = {size}")
    answer = browser.post("/desk/", data={"text": "x" * 100_000})
    assert answer.status_code == 507
    assert "is full" in answer.text
    assert 'role="alert"' in answer.text  # so the page keeps what was typed
    assert list(server.shop.ledger.texts()) == []


def test_after_leaving_the_session_is_worth_nothing(server, browser):
    session = browser.cookies["layby"]
    browser.post("/desk/leave")
    answer = httpx.get(server.url + "/desk/", cookies={"layby": session})
    assert answer.headers["Location"] == "/desk/enter"


@pytest.mark.parametrize(
    "headers",
    [
        {},
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},
        {"Origin": "https://elsewhere.example"},
        {"Origin": "null"},
        {"Sec-Fetch-Site": "cross-site", "Origin": "http://127.0.0.1"},
    ],
)
def test_another_site_changes_nothing(server, browser, headers):
    with httpx.Client(base_url=server.url, cookies=browser.cookies, headers=headers) as other:
        for path in ("/desk/job/1/note", "/desk/devices", "/desk/leave", "/desk/enter"):
            answer = other.post(path, data={"text": "planted"})
            assert (answer.status_code, answer.json()["error"]) == (403, "other_site")
    assert server.shop.ledger.of_kinds(["note"]) == []
    assert browser.get("/desk/").status_code == 200


def test_a_browser_that_only_sends_its_origin_may(server, browser):
    with httpx.Client(base_url=server.url, cookies=browser.cookies, headers={"Origin": server.url}) as old:
        assert old.post("/desk/job/1/note", data={"text": "mine"}).status_code == 303


def test_what_the_desk_writes_reaches_the_phones_as_a_chain(server, browser, phone):
    for text in ("one", "two ✓"):
        answer = browser.post("/desk/job/1/note", data={"text": text})
        assert (answer.status_code, answer.headers["Location"]) == (303, "/desk/job/1/note")
    first, second = phone.sync()["records"]
    assert json.loads(first)["data"] == {"text": "one"}
    assert json.loads(second)["prev"] == chain.digest(first)
    assert "two" in browser.get("/desk/job/1/note").text


def test_the_desks_chain_goes_on_after_a_restart(server, browser, phone):
    browser.post("/desk/job/1/note", data={"text": "before"})
    server.stop()
    server.start()
    browser.post("/desk/job/1/note", data={"text": "after"})
    assert [json.loads(text)["seq"] for text in phone.sync()["records"]] == [1, 2]


def test_what_a_phone_wrote_is_on_the_desk(browser, phone):
    phone.sync(*phone.write("from the roadside"))
    assert "from the roadside" in browser.get("/desk/").text


def test_what_the_desk_writes_sorts_behind_all_it_has_seen(browser, phone):
    ahead = json.loads(phone.write("from the future")[0])
    ahead["clock"] = "002500000000000.0000000"
    phone.sync(json.dumps(ahead))
    browser.post("/desk/job/1/note", data={"text": "answer"})
    assert json.loads(phone.sync()["records"][0])["clock"] > ahead["clock"]


def photograph(orientation=1, size=(3000, 1000)):
    exif = Image.Exif()
    exif[0x0112] = orientation
    exif.get_ifd(0x8825)[1] = "N"
    file = io.BytesIO()
    Image.effect_noise(size, 50).convert("RGB").save(file, "JPEG", exif=exif)
    return file.getvalue()


def test_a_photo_at_the_desk_is_kept_upright_small_and_without_its_place(browser, phone):
    assert b"Exif" in photograph(6)
    browser.post("/desk/job/1/photo", data={"joint": "outlet"}, files={"photo": ("IMG ✓.jpg", photograph(6))})
    data = json.loads(phone.sync()["records"][0])["data"]
    assert (data["joint"], data["photo_type"]) == ("outlet", "image/jpeg")
    kept = browser.get(f"/desk/photo/{data['photo_sha256']}").content
    assert len(kept) == int(data["photo_size"])
    assert b"Exif" not in kept
    assert Image.open(io.BytesIO(kept)).size == (667, 2000)
    assert (data["photo_width"], data["photo_height"]) == ("667", "2000")


def test_a_form_without_a_photo_is_just_a_form(browser, phone):
    body = (
        b'--x\r\nContent-Disposition: form-data; name="caption"\r\n\r\nnone\r\n'
        b'--x\r\nContent-Disposition: form-data; name="photo"; filename=""\r\n\r\n\r\n--x--\r\n'
    )
    kind = {"Content-Type": "multipart/form-data; boundary=x"}
    assert browser.post("/desk/job/1/photo", content=body, headers=kind).status_code == 303
    assert json.loads(phone.sync()["records"][0])["data"] == {"caption": "none"}


@pytest.mark.parametrize("content", [b"no picture", photograph()[:5000], b"GIF89a"])
def test_a_file_that_is_no_picture_is_named_and_nothing_stored(browser, phone, content):
    answer = browser.post("/desk/job/1/photo", files={"photo": ("x.jpg", content)})
    assert answer.status_code == 422
    assert "picture" in answer.text
    assert phone.sync()["records"] == []


def test_the_desk_lists_the_phones_and_makes_codes(server, browser, phone):
    page = browser.post("/desk/devices").text
    assert "Bay 2 phone" in page
    code = re.search(r'id="code">([A-Z0-9-]+)<', page).group(1)
    asked = {"code": code, "device": "new", "name": "<b>New</b>"}
    assert httpx.post(server.url + "/enrol", json=asked).status_code == 200
    assert "&lt;b&gt;New" in browser.get("/desk/devices").text
    assert isinstance(phone, Device)


@pytest.mark.parametrize(
    "body", [b"", b"--x", b"\xff" * 100, b'--x\r\nContent-Disposition: form-data; name="photo"\r\n\r\n']
)
def test_a_malformed_form_is_no_accident(browser, body):
    for kind in (
        "multipart/form-data; boundary=x",
        "multipart/form-data",
        "application/x-www-form-urlencoded",
    ):
        answer = browser.post("/desk/job/1/note", content=body, headers={"Content-Type": kind})
        assert answer.status_code < 500


def test_a_form_is_bounded(browser):
    many = "&".join(f"f{n}=1" for n in range(5000))
    form = {"Content-Type": "application/x-www-form-urlencoded"}
    assert browser.post("/desk/job/1/note", content=many, headers=form).status_code == 400
    assert browser.get("/desk/?" + many).status_code == 200


def test_the_handbooks_worksheets_open_at_the_desk_that_is_signed_in(server, browser):
    answer = browser.get("/worksheets/supply-drop?kind=air")
    assert (answer.status_code, answer.headers["Location"]) == (307, "/desk/worksheets/supply-drop?kind=air")
    assert browser.get("/worksheets").headers["Location"] == "/desk/worksheets"
    page = httpx.get(server.url + "/worksheets/supply-drop", headers={"Accept": "text/html"})
    assert "First page" in page.text  # a phone that has yet to keep the app
