"""Starting a job, the job's page, notes, corrections and conflicts."""

import json

import pytest

from tests.helpers.notebooks import Desk

CONTENT = {
    "engines": [{"key": "six", "name": "Inline six"}],
    "cautions": [], "causes": [], "findings": [], "measures": [], "joints": [], "repairs": [], "proofs": [],
    "fasteners": [],
}  # fmt: skip


def merge(one: Desk, other: Desk) -> None:
    """What a sync does: both hold every record."""
    both = list(dict.fromkeys(one.texts + other.texts))
    one.texts, other.texts = list(both), list(both)


def test_a_job_starts_with_what_was_typed(phone):
    page = phone.get(phone.open_job(unit="Truck <7>", complaint="no power", hours="8123,5"))
    assert page.h1.text == "Truck <7>"
    assert phone.of_kind("job-opened")[0]["hours"] == 8123.5
    assert "Truck <7>" in phone.get("/").select_one("a.card").text


@pytest.mark.parametrize(
    ("field", "value", "says"),
    [("unit", " ", "which truck"), ("complaint", "", "complaint"), ("drive", "", "drives the vane actuator"),
     ("place", "moon", "where you are"), ("hours", "many", "a number")],
)  # fmt: skip
def test_a_wrong_entry_says_what_to_do_and_keeps_the_rest(phone, field, value, says):
    given = {
        "unit": "Truck 7",
        "complaint": "no power",
        "place": "bay",
        "drive": "electric",
        "hours": "",
        field: value,
    }
    page = phone.post("/job/new", **given)
    assert phone.status == 422
    assert says in page.select_one("[role=alert]").text
    assert phone.texts == []
    if field != "unit":
        assert page.select_one("[name=unit]")["value"] == "Truck 7"


def test_an_unknown_job_or_page_says_so(phone):
    assert "not on this device yet" in phone.get("/job/nowhere/timeline").text
    assert phone.status == 404
    assert "does not exist" in phone.get("/nothing").text


def test_a_note_is_kept_and_a_correction_keeps_the_old_text_too(phone):
    job = phone.open_job()
    phone.post(f"{job}/note", text="oil at the compresor outlet")
    first = phone.records[-1]
    page = phone.post(f"{job}/correct/{first['id']}", text="oil at the compressor outlet")
    assert phone.records[-1]["replaces"] == [first["id"]]
    lines = [item.text for item in page.select("ol.timeline li")]
    assert "compressor outlet" in lines[0]
    assert "compresor outlet" in lines[1]
    assert page.select_one("li.replaced")


def test_an_empty_note_is_refused(phone):
    job = phone.open_job()
    phone.post(f"{job}/note", text="  ")
    assert phone.status == 422
    assert phone.of_kind("note") == []


def test_two_corrections_of_one_note_are_a_conflict_until_somebody_settles_it(phone):
    job = phone.open_job()
    phone.post(f"{job}/note", text="old")
    note = phone.records[-1]["id"]
    other = Desk(CONTENT, name="Second phone")
    merge(phone, other)
    phone.post(f"{job}/correct/{note}", text="mine")
    other.post(f"{job}/correct/{note}", text="theirs")
    merge(phone, other)
    for writer in (phone, other):
        assert "1 to settle" in writer.get(job).text
        page = writer.get(f"{job}/settle")
        assert "mine" in page.text
        assert "theirs" in page.text
    keep = next(record["id"] for record in phone.records if record["data"].get("text") == "theirs")
    rivals = [record["id"] for record in phone.records if record["data"].get("text") in ("mine", "theirs")]
    phone.post(f"{job}/settle", keep=keep, replaces=rivals)
    merge(phone, other)
    for writer in (phone, other):
        assert "to settle" not in writer.get(job).text


def test_a_clock_far_behind_is_marked_and_does_not_spoil_the_order(phone):
    job = phone.open_job()
    other = Desk(CONTENT, name="Dead battery")
    merge(phone, other)
    other.now = 1_000_000_000_000
    other.post(f"{job}/note", text="written later")
    merge(phone, other)
    first = phone.get(f"{job}/timeline").select_one("ol.timeline li")
    assert "written later" in first.text
    assert "clock suspect" in first.text


def test_a_record_of_a_kind_from_the_future_is_shown_with_its_fields(phone):
    job = phone.open_job()
    later = {**phone.records[-1], "id": "later", "kind": "weather", "data": {"sky": "blue"}, "seq": 9}
    phone.texts.append(json.dumps(later))
    assert '"sky": "blue"' in phone.get(f"{job}/timeline").text


def test_a_record_that_lacks_its_fields_is_shown_and_decides_nothing(phone):
    job = phone.open_job()
    odd = {**phone.records[-1], "id": "odd", "kind": "finding", "data": {"colour": "blue"}, "seq": 9}
    phone.texts.append(json.dumps(odd))
    assert '"colour": "blue"' in phone.get(f"{job}/timeline").text
    assert phone.get(job).h1.text == "Truck 7"
    assert "Truck 7" in phone.get("/").text
