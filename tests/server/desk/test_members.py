"""Passphrases, roles and phones: who comes in as what, and how that is taken back."""

import dataclasses
import re

import httpx
import pytest

from server.errors import Refused
from server.store import limits
from tests.helpers.servers import Device

DESK, VIEWER = "correct horse battery staple", "seven quiet rivers bend"
SAME = {"Sec-Fetch-Site": "same-origin"}


@pytest.fixture
def enter(server):
    def entered(**form):
        client = httpx.Client(base_url=server.url, headers=SAME)
        return client, client.post("/desk/enter", data=form)

    return entered


def change(client, **form):
    return client.post("/desk/access", data=form)


@pytest.fixture
def secured(browser):
    """A shop with both passphrases, and the desk's browser."""
    assert change(browser, do="desk", passphrase=DESK, again=DESK).status_code == 303
    assert change(browser, do="viewer", current=DESK, passphrase=VIEWER, again=VIEWER).status_code == 303
    return browser


def test_a_passphrase_opens_the_desk_and_a_wrong_one_does_not(secured, enter):
    client, answer = enter(passphrase=DESK)
    assert (answer.status_code, client.get("/desk/devices").status_code) == (303, 200)
    for wrong in (DESK + " ", DESK.upper(), "", "x", DESK * 100):
        client, answer = enter(passphrase=wrong)
        assert answer.status_code == 403
        assert "Set-Cookie" not in answer.headers


def test_a_viewer_reads_everything_and_changes_nothing(server, secured, enter, phone):
    phone.sync(*phone.write("from the roadside"))
    viewer, answer = enter(passphrase=VIEWER)
    assert answer.status_code == 303
    assert "from the roadside" in viewer.get("/desk/").text
    for path in (
        "/desk/job/1/note",
        "/desk/devices",
        "/desk/access",
        f"/desk/devices/{phone.state['id']}/revoke",
    ):
        answer = viewer.post(path, data={"text": "planted"})
        assert answer.status_code == 403
        assert "may read everything and change nothing" in answer.text
    assert viewer.get("/desk/devices").status_code == viewer.get("/desk/access").status_code == 403
    assert len(server.shop.ledger.of_kinds(["note"])) == 1
    assert viewer.post("/desk/leave").headers["Location"] == "/desk/enter"


def test_nothing_of_a_passphrase_is_stored_but_argon2(server, secured):
    stored = b"".join(path.read_bytes() for path in server.settings.data.glob("layby.db*"))
    assert DESK.encode() not in stored
    assert stored.count(b"$argon2id$v=19$m=65536,t=3,p=4$") >= 2


@pytest.mark.parametrize("weak", ["", "short", "a" * 30, "abababababababab", "x" * 300])
def test_a_passphrase_that_is_easy_to_guess_is_not_taken(browser, weak):
    answer = change(browser, do="desk", passphrase=weak, again=weak)
    assert (answer.status_code, "passphrase" in answer.text) == (422, True)
    assert "They have no passphrase" in browser.get("/desk/access").text


def test_two_different_spellings_of_the_new_passphrase_change_nothing(secured, enter):
    assert change(secured, do="desk", current=DESK, passphrase=VIEWER + "!", again=VIEWER).status_code == 422
    assert enter(passphrase=DESK)[1].status_code == 303


def test_desk_and_viewers_cannot_share_a_passphrase(secured):
    answer = change(secured, do="viewer", current=DESK, passphrase=DESK, again=DESK)
    assert (answer.status_code, "different" in answer.text) == (422, True)


def test_an_accent_typed_in_another_way_is_the_same(browser, enter):
    change(browser, do="desk", passphrase="quatre étés à la mer", again="quatre étés à la mer")
    assert enter(passphrase="quatre e\u0301te\u0301s a\u0300 la mer")[1].status_code == 303


def test_changing_it_needs_the_current_one_and_signs_the_others_out(secured, enter):
    other, _ = enter(passphrase=DESK)
    new = "nine loud engines idle"
    assert change(secured, do="desk", current="wrong", passphrase=new, again=new).status_code == 422
    assert change(secured, do="desk", current=DESK, passphrase=new, again=new).status_code == 303
    assert secured.get("/desk/devices").status_code == 200
    assert other.get("/desk/devices").headers["Location"] == "/desk/enter"
    assert enter(passphrase=DESK)[1].status_code == 403


def test_viewers_can_be_shut_out(secured, enter):
    viewer, _ = enter(passphrase=VIEWER)
    assert change(secured, do="no-viewer", current=DESK).status_code == 303
    assert viewer.get("/desk/").headers["Location"] == "/desk/enter"
    assert enter(passphrase=VIEWER)[1].status_code == 403


def test_every_other_browser_can_be_signed_out(secured, enter):
    others = [enter(passphrase=DESK)[0], enter(passphrase=VIEWER)[0]]
    assert change(secured, do="leave-all", current=DESK).status_code == 303
    assert [client.get("/desk/").status_code for client in [secured, *others]] == [200, 303, 303]


def test_guessing_is_slowed_down_and_then_stops(server, secured, enter):
    statuses = [enter(passphrase=f"guess number {n}")[1].status_code for n in range(12)]
    assert statuses == [403] * 8 + [429] * 4
    answer = enter(passphrase=DESK)[1]
    assert (answer.status_code, int(answer.headers["Retry-After"]) > 0) == (429, True)
    assert enter(code=server.shop.new_code("desk"))[1].status_code == 303  # who has the machine has a way in


def test_guessing_codes_stops_too(server):
    asked = {"device": "one", "name": "One"}
    statuses = [
        httpx.post(server.url + "/enrol", json={**asked, "code": f"AAAA-{n:04}"}).status_code
        for n in range(22)
    ]
    assert statuses == [403] * 20 + [429] * 2
    code = server.shop.new_code("phone")
    assert httpx.post(server.url + "/enrol", json={**asked, "code": code}).json()["error"] == "too_many"


def test_attempts_are_forgotten_after_their_window_and_counted_by_network():
    tries = limits.Attempts(each=2, everybody=4, minutes=1)
    for _ in range(2):
        tries.begin("2001:db8::1", 0)
    with pytest.raises(Refused):
        tries.begin("2001:db8::2", 1)  # the same customer's /64
    tries.begin("192.0.2.1", 1)
    tries.begin("192.0.2.2", 1)
    with pytest.raises(Refused):
        tries.begin("192.0.2.3", 1)  # all together
    tries.begin("2001:db8::1", 60_000)
    tries.right("2001:db8::1")
    tries.begin("2001:db8::1", 60_001)


def test_a_phone_that_is_shut_out_can_do_nothing_and_come_back_by_a_code_of_its_own(server, browser, phone):
    texts = phone.write("before", "after")
    phone.sync(texts[0])
    here = phone.state["id"]
    assert browser.post(f"/desk/devices/{here}/revoke").status_code == 303
    assert phone.post(texts[1]).json()["error"] == "not_enrolled"
    page = browser.get("/desk/devices").text
    assert "Shut out" in page
    new = {"device": here, "name": "Again"}
    refused = httpx.post(server.url + "/enrol", json={**new, "code": server.shop.new_code("phone")})
    assert (refused.status_code, refused.json()["error"]) == (403, "other_phone")
    page = browser.post(f"/desk/devices/{here}/code").text
    code = re.search(r'id="code">([A-Z0-9-]+)<', page)[1]
    token = httpx.post(server.url + "/enrol", json={**new, "code": code}).json()["token"]
    phone.http.headers["Authorization"] = f"Bearer {token}"
    assert phone.sync(*texts)["refused"] == []


def test_a_code_for_a_new_phone_does_not_make_it_another_one(server, phone, another):
    """Every record names its device, so every phone knows the ids of the others."""
    victim = phone.state["id"]
    asked = {"code": server.shop.new_code("phone"), "device": victim, "name": "Mallory"}
    assert httpx.post(server.url + "/enrol", json=asked).json()["error"] == "other_phone"
    assert phone.sync()["refused"] == []
    mine = {"code": server.shop.new_code("phone", victim), "device": "another", "name": "Mallory"}
    assert httpx.post(server.url + "/enrol", json=mine).json()["error"] == "other_phone"
    assert isinstance(another(), Device)


def test_a_phone_that_does_not_exist_is_neither_shut_out_nor_invited(server, browser):
    desk, _ = server.shop.access.desk()
    for device in ("nobody", desk, "%00"):
        assert browser.post(f"/desk/devices/{device}/revoke").status_code == 404
        assert browser.post(f"/desk/devices/{device}/code").status_code in (303, 404)
    assert browser.post("/desk/job/1/note", data={"text": "still"}).status_code == 303


@pytest.fixture
def public(server):
    server.shop.settings = dataclasses.replace(server.shop.settings, url="https://layby.example")


def test_the_page_draws_its_qr_code_from_the_link_with_the_code_behind_the_hash(public, browser):
    page = browser.post("/desk/devices").text
    code = re.search(r'id="code">([A-Z0-9-]+)<', page)[1]
    assert "style=" not in page
    assert f'data-qr="https://layby.example/phone#code={code}"' in page
    assert "no QR code" not in page


@pytest.mark.parametrize(
    ("url", "words"),
    [
        ("", "means the device itself"),  # the desk was opened at 127.0.0.1
        ("http://layby.example", "begins with https"),
        ("https://localhost:8700", "means the device itself"),
    ],
)
def test_there_is_no_qr_code_where_it_would_lead_a_phone_nowhere(server, browser, url, words):
    server.shop.settings = dataclasses.replace(server.shop.settings, url=url)
    page = browser.post("/desk/devices").text
    assert re.search(r'id="code">([A-Z0-9-]+)<', page)  # the code itself can be typed anywhere
    assert "data-qr" not in page
    assert "#code=" not in page
    assert words in page
    assert "Set LAYBY_URL" in page
