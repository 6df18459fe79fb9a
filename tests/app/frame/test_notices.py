"""What stands over every page: unsent work that grows old, entries that wait, and what did not fit."""

from typing import Any

import pytest

from tests.helpers.notebooks import Desk

DAY = 86_400_000


def over(phone: Desk, path: str = "/", **status: Any) -> str:
    """The notices over a page, on a phone of which this is known."""
    phone.known = {"unsent_notes": 0, "unsent_photos": 0, **status}
    return " | ".join(" ".join(notice.text.split()) for notice in phone.get(path).select(".notices p"))


@pytest.mark.parametrize(
    ("notes", "photos", "ages", "words"),
    [
        (5, 0, [1.1, 0.2], "5 notes are not sent yet, the oldest from yesterday."),
        (1, 0, [1.9, 1.9], "1 note is not sent yet, the oldest from 2 days ago."),
        (0, 1, [1.1], "1 photo is not sent yet, the oldest from yesterday."),
        (3, 2, [8.0, 0.0], "3 notes and 2 photos are not sent yet, the oldest from 8 days ago."),
        (2, 0, [20_000, 0.0], "2 notes are not sent yet, the oldest very old by this phone's clock."),
        (2, 0, [0.5, -1.5], "2 notes are not sent yet. This phone's clock was changed, so they may be old."),
    ],
)
def test_unsent_work_older_than_a_day_is_named_with_what_to_do(
    phone: Desk, notes: int, photos: int, ages: list[float], words: str
) -> None:
    times = [phone.now - int(age * DAY) for age in ages]
    said = over(phone, unsent_notes=notes, unsent_photos=photos, unsent_times=times)
    assert said == f"{words} Send or save them"
    page = phone.get("/phone")
    assert words in page.get_text()
    assert page.select_one("a[href='/files']")


@pytest.mark.parametrize("age", [0.0, 0.9, -0.9])
def test_what_was_written_today_is_not_named(phone: Desk, age: float) -> None:
    assert over(phone, unsent_notes=1, unsent_times=[phone.now - int(age * DAY)]) == ""


def test_a_clock_that_begins_anew_each_day_does_not_hide_it(phone: Desk) -> None:
    sync = {"good": phone.now + 2000 * DAY, "message": "", "refused": [], "gaps": []}
    said = over(phone, unsent_notes=1, unsent_times=[phone.now], sync=sync)
    assert "This phone's clock was changed" in said


def test_entries_that_wait_and_damage_are_named(phone: Desk) -> None:
    assert over(phone, waiting=1).startswith("1 entry was typed and could not be worked into a job yet.")
    assert over(phone, waiting=2).startswith("2 entries were typed")
    assert "A file of the app on this phone is damaged or missing." in over(phone, damaged=True)


def test_a_photo_without_room_leads_back_to_where_it_was_taken(phone: Desk, job: str) -> None:
    before = len(phone.texts)
    for joint, place in (("", f"{job}/note"), ("turbine-housing", f"{job}/joint/turbine-housing")):
        page = phone.post(f"{job}/photo", joint=joint, no_room="ab" * 32)
        assert phone.location == f"{place}?no-room={'ab' * 32}"
        alert = page.select_one(".notices [role=alert]")
        assert alert and "this phone is full" in alert.text
        assert alert.select_one(f"a[href='/photo/{'ab' * 32}'][download]")
        assert alert.select_one("a[href='/phone']")
    assert len(phone.texts) == before
    assert not phone.get(f"{job}/note?no-room=%22evil").select("a[download]")


def test_a_phone_without_jobs_says_how_they_come_back(phone: Desk) -> None:
    over(phone)
    assert "ask the desk for a code for a new phone" in phone.get("/").text
    phone.known["enrolled"] = True
    assert "it comes back with the next signal" in phone.get("/").text
    phone.open_job()
    assert "Were there jobs on this phone?" not in phone.get("/").text


def test_this_phone_offers_to_free_only_what_the_shop_has(phone: Desk) -> None:
    over(phone)
    assert not phone.get("/phone").select("form[action='/phone/free']")
    phone.known.update(sent_photos=3, sent_size=12_340_000, photos=5, notes=1, used=20_000_000)
    page = phone.get("/phone")
    assert "Free 12.3 MB" in page.select_one("form[action='/phone/free']").text
    assert "0 jobs, 1 entry, 5 photos; Layby uses 20.0 MB" in page.text


@pytest.mark.parametrize(
    ("status", "words"),
    [
        ({}, "No shop yet"),
        ({"sync": {"good": 0, "message": "No answer"}}, "No shop yet"),
        ({"enrolled": True}, "Nothing sent yet"),
        ({"enrolled": True, "sync": {"good": 0, "message": "No answer"}}, "Nothing sent yet"),
        ({"enrolled": True, "sync": {"good": 1, "message": ""}}, "All sent"),
        ({"enrolled": True, "sync": {"good": 1, "message": ""}, "unsent_notes": 2}, "2 not sent"),
    ],
)
def test_all_is_sent_only_after_a_sync_with_a_shop(phone: Desk, status: dict[str, Any], words: str) -> None:
    phone.known = {"unsent_notes": 0, "unsent_photos": 0, **status}
    unsent = phone.get("/").select_one("#unsent")
    assert unsent
    assert unsent.get_text().strip() == words
