"""Phones restored from old backups: found out, and nothing of either copy is lost, altered or stolen."""

import copy
import json
import secrets

import httpx
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pwa.app.record import forked
from server.store import access
from server.store.check import check
from tests.helpers.servers import Device


class Restorable(Device):
    """A bare phone that remembers what it wrote, can be copied, and follows the phone's own rules."""

    def __init__(self, server, name="Bay 2 phone"):
        super().__init__(server, name)
        self.held, self.unsent = {}, []

    def note(self, *texts):
        made = self.write(*texts)
        self.held |= {json.loads(text)["id"]: text for text in made}
        self.unsent += made

    def backup(self):
        twin = copy.copy(self)
        twin.http = httpx.Client(base_url=self.http.base_url, headers=self.http.headers)
        twin.state, twin.held, twin.unsent = dict(self.state), dict(self.held), list(self.unsent)
        return twin

    def exchange(self):
        """What `pwa/phone/sync.js` does; the last answer."""
        said = self.sync(*self.unsent, seq=self.state["seq"])
        self.unsent = [text for text in self.unsent if json.loads(text)["id"] not in said["taken"]]
        self.held |= {json.loads(text)["id"]: text for text in said["records"]}
        here = said.get("here")
        if not here or not forked.is_restored(here, self.own(here["seq"])):
            return said
        id, token = secrets.token_hex(16), secrets.token_hex(32)
        assert self.http.post("/sync/fork", json={"device": id, "token": token}).status_code == 200
        made = forked.fork(self.unsent, self.state, id, secrets.token_hex(10 * len(self.unsent) + 10))
        for text in self.unsent:
            del self.held[json.loads(text)["id"]]
        self.state, self.unsent, self.cursor = made["device"], made["records"], 0
        self.held |= {json.loads(text)["id"]: text for text in self.unsent}
        self.http.headers["Authorization"] = f"Bearer {token}"
        return self.exchange()

    def own(self, seq):
        found = [text for text in self.held.values() if f'"device": "{self.state["id"]}"' in text]
        return next((text for text in found if json.loads(text)["seq"] == seq), "")

    def notes(self):
        held = [json.loads(text) for text in self.held.values()]
        return sorted(record["data"]["text"] for record in held if record["kind"] == "note")


@pytest.fixture
def restorable(server):
    return Restorable(server)


def test_a_copy_that_wrote_before_its_first_sync_loses_nothing(server, restorable, browser):
    phone = restorable
    phone.note("1", "2")
    phone.exchange()
    old = phone.backup()
    phone.note(*"34567")
    phone.exchange()
    old.note(*"abc")
    assert old.exchange()["refused"] == []
    assert old.notes() == sorted("1234567abc")
    assert phone.exchange()["refused"] == []
    assert phone.notes() == sorted("1234567abc")
    assert check(server.shop).problems == []
    page = browser.get("/desk/devices").text
    assert "Bay 2 phone (restored copy)" in page
    assert "Refused" not in page


def test_a_copy_that_wrote_nothing_gets_back_what_it_lacks(restorable):
    phone = restorable
    phone.note("1")
    phone.exchange()
    old = phone.backup()
    phone.note("2", "3")
    phone.exchange()
    old.exchange()
    old.note("4")
    assert old.exchange()["refused"] == []
    assert old.notes() == ["1", "2", "3", "4"]


def test_a_phone_that_goes_on_from_the_servers_end_is_no_copy(restorable):
    restorable.note("1")
    old = restorable.backup()  # its answer was lost
    restorable.exchange()
    before = old.state["id"]
    old.note("2")
    old.exchange()
    assert (old.state["id"], old.notes()) == (before, ["1", "2"])


def test_an_altered_entry_of_a_phone_that_is_no_copy_stays_refused(restorable):
    restorable.note("1", "2")
    restorable.exchange()
    restorable.unsent = [restorable.own(1).replace('"1"', '"9"')]
    said = restorable.exchange()
    assert [item["error"] for item in said["refused"]] == ["altered"]


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.lists(
        st.tuples(st.sampled_from(["note", "sync", "backup", "restore"]), st.integers(0, 3)), max_size=25
    )
)
def test_whatever_is_restored_whenever_every_note_is_everywhere_once(server, monkeypatch, steps):
    """Up to four phones in use at once, all of them copies of one; backups are restored over and over."""
    monkeypatch.setattr(access, "MOST_COPIES", 10**6)
    phones = [Restorable(server)]
    job = phones[0].state["id"]
    backups = [phones[0].backup()]
    written = 0
    for step, which in steps:
        phone = phones[which % len(phones)]
        if step == "note":
            written += 1
            phone.note(f"{job} {written}")
        elif step == "sync":
            phone.exchange()
        elif step == "backup":
            backups.append(phone.backup())
        elif len(phones) < 4:
            phones.append(backups[which % len(backups)].backup())
    for phone in phones * 2:
        assert phone.exchange()["refused"] == []
    for phone in phones:
        known = {note for note in phone.notes() if note.startswith(job)}
        assert known == {f"{job} {n}" for n in range(1, written + 1)}
    assert check(server.shop).problems == []


def test_no_stranger_becomes_another_phone(server, browser, phone, another):
    other, token = another(), secrets.token_hex(32)
    answer = phone.http.post("/sync/fork", json={"device": other.state["id"], "token": token})
    assert (answer.status_code, answer.json()["error"]) == (403, "device_taken")
    browser.post("/desk/job/1/note", data={"text": "first"})
    (desk,) = server.shop.access.desks()
    answer = phone.http.post("/sync/fork", json={"device": desk, "token": token})
    assert (answer.status_code, answer.json()["error"]) == (403, "device_taken")
    assert other.post().status_code == phone.post().status_code == 200
    nobody = httpx.post(server.url + "/sync/fork", json={"device": "new", "token": token})
    assert nobody.status_code == 401


def test_asking_again_after_a_lost_answer_is_one_copy_and_another_token_is_none(server, phone):
    asked = {"device": "copy", "token": secrets.token_hex(32)}
    names = [phone.http.post("/sync/fork", json=asked).json() for _ in range(2)]
    assert names == [{"name": "Bay 2 phone (restored copy)"}] * 2
    thief = phone.http.post("/sync/fork", json={**asked, "token": secrets.token_hex(32)})
    assert thief.status_code == 403
    copied = httpx.Client(base_url=server.url, headers={"Authorization": f"Bearer {asked['token']}"})
    again = copied.post("/sync/fork", json={"device": "copy2", "token": secrets.token_hex(32)})
    assert again.json() == {"name": "Bay 2 phone (restored copy)"}
    assert phone.post().status_code == 200


def test_a_shut_out_phone_makes_no_copies_and_no_phone_makes_them_without_end(server, phone, monkeypatch):
    monkeypatch.setattr(access, "MOST_COPIES", 2)
    answers = [
        phone.http.post("/sync/fork", json={"device": f"copy{n}", "token": secrets.token_hex(32)})
        for n in range(3)
    ]
    assert [answer.status_code for answer in answers] == [200, 200, 403]
    server.shop.access.revoke(phone.state["id"], 1)
    asked = {"device": "late", "token": secrets.token_hex(32)}
    assert phone.http.post("/sync/fork", json=asked).status_code == 401
