"""Whose word a record is: a device's own newest name, never what another one says of it."""

import json

import pytest

from pwa.app import contract
from pwa.app.record import authors, chain
from tests.helpers.notebooks import Desk
from tests.helpers.trade import CONTENT


class Writer:
    """A device that seals what it is told to, also what no screen would write."""

    def __init__(self, device):
        self.state = {"id": device, "name": "", "seq": 0, "head": "", "clock": ""}

    def write(self, kind, data, job="job", **changes):
        draft = {"job": job, "kind": kind, "data": data, "replaces": changes.pop("replaces", [])}
        (text,), self.state = chain.seal([draft], self.state, 1, "0123456789abcdef" * 2, "")
        return {**json.loads(text), **changes}

    def called(self, name, **changes):
        return self.write("person", {"name": name}, **{"job": contract.SHOP, **changes})

    def note(self, **changes):
        return self.write("note", {"text": "words"}, **changes)


@pytest.fixture
def one():
    return Writer("3f2a-one")


@pytest.fixture
def two():
    return Writer("9c41-two")


def said(record, *known):
    return authors.Authors([record, *known]).author(record)


def test_the_newest_name_of_the_device_itself_counts(one, two):
    note, first, second = one.note(), one.called("Bay 2"), one.called("Anna's phone")
    assert said(note, second, first, two.called("Desk")) == "Anna's phone"
    assert said(two.note(), first) == "device 9c41"


def test_nobody_replaces_a_name_but_its_device(one, two):
    name = one.called("Anna's phone")
    other = two.called("Mallory", replaces=[name["id"]])
    assert said(one.note(), name, other) == "Anna's phone"


def test_a_name_outside_the_shops_own_job_is_none(one):
    assert said(one.note(), one.called("Desk", job="job")) == "device 3f2a"


def test_an_older_versions_author_is_told_with_the_device_it_came_from(one):
    assert said(one.note(author="Desk")) == "Desk (device 3f2a)"
    assert said(one.note(author="Desk"), one.called("Bay 2")) == "Bay 2"
    assert said(one.note(author=" \u200b")) == said(one.note()) == "device 3f2a"


@pytest.mark.parametrize("claimed", ["Desk", "desk ", "De\u200bsk", "\u202eDesk", "D-e-s-k"])
def test_a_name_that_another_device_has_too_is_told_with_the_device(one, two, claimed):
    desk, thief = one.called("Desk"), two.called(claimed)
    assert said(two.note(), desk, thief).endswith("(device 9c41)")
    assert said(one.note(), desk, thief) == "Desk (device 3f2a)"


def test_a_name_that_looks_like_a_device_is_told_with_the_device(one):
    assert said(one.note(), one.called("Anna (device 9c41)")).endswith("(device 3f2a)")


def test_a_name_that_says_nothing_or_is_not_understood_brings_no_older_one_back(one):
    older = one.called("Anna")
    for data in ({"name": "\u200b"}, {"name": ["Anna"]}, {}):
        assert said(one.note(), older, one.write("person", data, job=contract.SHOP)) == "device 3f2a"


def test_ids_that_begin_alike_are_told_further(one):
    twin = Writer("3f2a-two")
    assert said(one.note(), twin.note()) == "device 3f2a-one"


def test_both_interpreters_show_the_same_name(twin, one, two):
    known = [one.called("Zoë's Bay"), two.called("zoë's bay")]
    assert twin("pwa.app.record.authors").clean(" Zoë \u2066 Bay\x07 ") == "Zoë  Bay"
    assert said(one.note(), *known) == "Zoë's Bay (device 3f2a)"


@pytest.fixture
def phone():
    return Desk(CONTENT)


def test_a_device_says_its_name_before_the_first_thing_it_writes_and_once(phone):
    job = phone.open_job()
    phone.post(f"{job}/note", text="soot in the outlet")
    assert [record["kind"] for record in phone.records] == ["person", "job-opened", "note"]
    assert phone.of_kind("person") == [{"name": "Bay 2 phone"}]
    assert phone.records[0]["job"] == contract.SHOP
    assert "Bay 2 phone" in phone.get(f"{job}/timeline").text


def test_no_record_carries_a_name_but_the_one_that_says_it(phone):
    phone.open_job()
    rest = [json.dumps({**record, "data": {}, "device": ""}) for record in phone.records]
    assert "Bay 2" not in "".join(rest)
    assert {record["author"] for record in phone.records} == {"device devi"}


def test_a_new_name_stands_beside_everything_the_device_wrote(phone):
    job = phone.open_job()
    phone.device["name"] = "Anna's phone"
    phone.post("/phone/name")
    assert "Anna's phone" in phone.get(f"{job}/timeline").text
    assert "Bay 2 phone" not in phone.get(f"{job}/timeline").text
    written = len(phone.records)
    phone.post("/phone/name")
    assert len(phone.records) == written


def test_a_phone_without_a_name_says_none(phone):
    phone.device["name"] = contract.NO_NAME
    phone.open_job()
    assert [record["kind"] for record in phone.records] == ["job-opened"]
    assert "device devi" in phone.get("/").text


def test_a_phones_note_never_shows_as_the_desks(phone):
    """Whatever a phone writes into the field that older versions show as its author."""
    job = phone.open_job()
    desk = Desk(CONTENT, host="desk", name="Anna")
    desk.texts = list(phone.texts)
    desk.post(f"{job}/note", text="from the desk")
    forged = {
        **json.loads(phone.texts[-1]),
        "id": "forged",
        "device": "thief",
        "seq": 1,
        "prev": "",
        "kind": "note",
    }
    phone.texts = [*desk.texts, json.dumps({**forged, "author": "Anna", "data": {"text": "planted"}})]
    lines = [line.get_text(" ", strip=True) for line in phone.get(f"{job}/timeline").select("li")]
    (planted,) = [line for line in lines if "planted" in line]
    (own,) = [line for line in lines if "from the desk" in line]
    assert "Anna (device thie)" in planted
    assert "Anna" in own and "device" not in own
