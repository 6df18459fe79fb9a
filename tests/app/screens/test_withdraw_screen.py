"""Withdrawing an entry on the phone that wrote it, at the desk, and on a phone that did not."""

import json

import pytest

from tests.helpers.notebooks import Desk
from tests.helpers.trade import CONTENT

SHA = "ab" * 32
PHOTO = {
    "photo_sha256": SHA, "photo_size": "9", "photo_type": "image/jpeg",
    "photo_width": "4", "photo_height": "3",
}  # fmt: skip


@pytest.fixture
def phone():
    desk = Desk(CONTENT)
    desk.open_job()
    return desk


def start(phone):
    """The path of the phone's job."""
    return "/job/" + next(record["job"] for record in phone.records if record["kind"] == "job-opened")


def entry(phone, kind):
    return [record["id"] for record in phone.records if record["kind"] == kind][-1]


def withdraw(phone, job, id, **form):
    return phone.post(f"{job}/withdraw/{id}", **form)


def test_a_corrected_note_goes_with_all_its_versions_and_the_reason_stays(phone):
    job = start(phone)
    phone.post(f"{job}/note", text="Kim was careless")
    phone.post(f"{job}/correct/{entry(phone, 'note')}", text="Kim was late")
    page = withdraw(phone, job, entry(phone, "note"), reason="It says something about a person")
    assert "Kim" not in json.dumps(phone.texts) and "Kim" not in page.text
    assert page.text.count("What stood here was withdrawn: It says something about a person.") == 2
    assert "Kim" not in phone.get(f"{job}/summary").text


def test_without_a_reason_nothing_goes(phone):
    job = start(phone)
    phone.post(f"{job}/note", text="Kim was careless")
    page = withdraw(phone, job, entry(phone, "note"))
    assert phone.status == 422 and "Choose a reason" in page.text
    assert "Kim" in json.dumps(phone.texts)


def test_a_withdrawn_photo_is_not_shown_anywhere(phone):
    job = start(phone)
    phone.post(f"{job}/photo", caption="the driver", **PHOTO)
    assert SHA in str(phone.get(f"{job}/timeline"))
    page = withdraw(phone, job, entry(phone, "photo"), other="his face")
    assert f"/photo/{SHA}" not in str(page) and "the driver" not in page.text and "his face" in page.text
    assert f"/photo/{SHA}" not in str(phone.get(f"{job}/summary"))


def test_what_opens_the_job_and_what_is_gone_cannot_be_withdrawn(phone):
    job = start(phone)
    for id in (entry(phone, "job-opened"), "unknown"):
        withdraw(phone, job, id, reason="x")
        assert phone.status == 404


def test_another_phone_is_told_who_can(phone):
    job = start(phone)
    phone.post(f"{job}/note", text="Kim was careless")
    other = Desk(CONTENT, name="Other phone")
    other.texts = list(phone.texts)
    page = other.get(f"{job}/withdraw/{entry(phone, 'note')}")
    assert "That phone or the desk can withdraw it" in page.text and not page.find("form", method="post")
    withdraw(other, job, entry(phone, "note"), reason="x")
    assert other.texts == phone.texts


def test_the_desk_can_withdraw_what_a_phone_wrote(phone):
    job = start(phone)
    phone.post(f"{job}/note", text="Kim was careless")
    desk = Desk(CONTENT, host="desk", name="Desk")
    desk.texts = list(phone.texts)
    withdraw(desk, job, entry(phone, "note"), reason="x")
    assert desk.of_kind("withdrawal") == [{"records": [entry(phone, "note")], "reason": "x"}]
