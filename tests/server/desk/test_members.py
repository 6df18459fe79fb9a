"""Phones: who comes in by which code, and how that is taken back."""

import dataclasses
import re
import secrets
import shutil
from copy import copy as copy_of

import httpx
import pytest

from server.backup.archive import backup
from server.backup.restore import restore
from server.errors import Refused
from server.store import limits
from tests.helpers.servers import Device, sign_in


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
    browser.post("/desk/job/1/note", data={"text": "first"})
    (desk,) = server.shop.access.desks()
    for device in ("nobody", desk, "%00"):
        assert browser.post(f"/desk/devices/{device}/revoke").status_code == 404
        assert browser.post(f"/desk/devices/{device}/code").status_code in (303, 404)
    assert browser.post("/desk/job/1/note", data={"text": "still"}).status_code == 303


def forked(phone, copy):
    """A phone that goes on with a token of its own, as a restored one does, or as a thief's."""
    token = secrets.token_hex(32)
    answer = phone.http.post("/sync/fork", json={"device": copy, "token": token})
    twin = copy_of(phone)
    twin.state = {**phone.state, "id": copy, "seq": 0, "head": ""}
    twin.http = httpx.Client(base_url=phone.http.base_url, headers={"Authorization": f"Bearer {token}"})
    return twin, answer


@pytest.mark.parametrize("which", ["phone", "copy", "copy of the copy"])
def test_shutting_one_out_reaches_the_phone_and_all_its_copies(server, browser, phone, another, which):
    first, _ = forked(phone, "copy")
    second, _ = forked(first, "copy-of-the-copy")
    other = another()
    here = {"phone": phone, "copy": first, "copy of the copy": second}[which].state["id"]
    page = browser.get(f"/desk/devices/{here}/revoke").text
    assert "copies of one phone" in page and "can neither send nor fetch" in page
    assert [one.post().status_code for one in (phone, first, second)] == [200] * 3  # asking does nothing
    assert browser.post(f"/desk/devices/{here}/revoke").status_code == 303
    for one in (phone, first, second):
        assert one.post().json()["error"] == "not_enrolled"
        assert forked(one, secrets.token_hex(8))[1].status_code == 401
    assert other.post().status_code == 200
    assert browser.get(f"/desk/devices/{here}/revoke").status_code == 303  # nothing is left to ask


def test_a_stolen_token_makes_few_copies_and_the_desk_sees_each(server, browser, phone):
    made = [forked(phone, f"copy{n}")[1].status_code for n in range(5)]
    assert made == [200] * 3 + [403] * 2
    page = browser.get("/desk/devices").text
    assert page.count("somebody copied it") == 3
    assert browser.post("/desk/devices/copy0/known").status_code == 303
    assert browser.get("/desk/devices").text.count("somebody copied it") == 2
    assert forked(phone, "copy5")[1].status_code == 200
    assert forked(phone, "copy6")[1].status_code == 403


def test_after_a_restored_backup_no_right_comes_back_without_a_yes(server, browser, phone, another, tmp_path):
    lost = another()
    for one in (phone, lost):
        one.sync(*one.write("before"))
    backup(server.settings.data, tmp_path / "shop.zip")
    browser.post(f"/desk/devices/{lost.state['id']}/revoke")
    later = phone.write("after the backup")
    phone.sync(*later)
    server.stop()
    shutil.rmtree(server.settings.data)
    restore(tmp_path / "shop.zip", server.settings)
    server.start()
    for one in (phone, lost):
        said = one.post(*later)
        assert (said.status_code, said.json()["error"]) == (403, "waiting")
        assert "Everything stays safe on this phone" in said.json()["message"]
        assert one.http.get("/photos/" + "0" * 64).status_code == 403
    sign_in(server.shop, browser, "desk", "Bea")
    assert browser.get("/desk/devices").text.count("Waits for a yes") == 2
    browser.post(f"/desk/devices/{lost.state['id']}/revoke")
    listed = re.findall(r'<li>[^\n]*name="device" value="([^"]+)"', browser.get("/desk/devices").text)
    assert listed == [phone.state["id"]]
    assert browser.post("/desk/confirm", data={"device": listed}).status_code == 303
    assert phone.sync(*phone.write("on"), cursor=0)["refused"][0]["error"] == "gap"  # it is heard again
    assert lost.post().json()["error"] == "not_enrolled"


def test_only_who_was_on_the_list_gets_the_yes(server, browser, phone, another):
    """A phone that came to wait while somebody read the list does not slip in."""
    other = another()
    server.shop.store.renew_epoch()
    sign_in(server.shop, browser, "desk", "Bea")
    browser.post("/desk/confirm", data={"device": [phone.state["id"], "nobody"]})
    assert [one.post().status_code for one in (phone, other)] == [200, 403]


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
