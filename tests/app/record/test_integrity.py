"""Damaged rows: set aside, never trusted or thrown away; their job opens, says so and takes nothing new."""

import json
from typing import Any

import pytest

from pwa.app.record import chain
from tests.helpers.trade import accept_all

DEVICE: Any = {"id": "p1", "name": "Bay 2 phone", "seq": 0, "head": "", "clock": ""}
OTHER: Any = {**DEVICE, "id": "p2"}
RANDOM = "0123456789abcdef" * 32


@pytest.fixture
def both(twin):
    return twin("pwa.app.record.integrity")


def written(count: int = 4) -> tuple[list[Any], Any]:
    drafts = [chain.draft("j", "note", {"text": f"n° {n}"}) for n in range(count)]
    texts, device = chain.seal(drafts, DEVICE, 1_764_065_263_000, RANDOM, "")
    return [chain.row(text) for text in texts], device


def changed(row: Any, **fields: Any) -> Any:
    return {**row, "text": json.dumps({**json.loads(row["text"]), **fields})}


@pytest.mark.parametrize(
    "damage",
    [
        lambda row: {**row, "text": row["text"][:-9]},
        lambda row: {**row, "text": "\ufffd" * 40},
        lambda row: {**row, "text": ""},
        lambda row: {**row, "text": None},
        lambda row: {**row, "text": "[1]"},
        lambda row: {**row, "text": "null"},
        lambda row: {**row, "text": "[" * 50_000},
        lambda row: {**row, "kind": "photo"},
        lambda row: changed(row, data=[]),
        lambda row: changed(row, seq="2"),
        lambda row: changed(row, clock="yesterday"),
        lambda row: changed(row, replaces=[{}]),
        lambda row: changed(row, data={"text": "n° 9"}),
        lambda row: {**row, "text": json.dumps({"id": row["id"]})},
    ],
)
@pytest.mark.parametrize("place", [0, 2, 3])
def test_a_damaged_row_is_set_aside_and_accuses_no_other(both, damage, place):
    rows, device = written()
    rows[place] = damage(rows[place])
    whole, damaged = both.sort_out(rows, device)
    assert [row["id"] for row in damaged] == [rows[place]["id"]]
    assert len(whole) == 3


def test_whole_rows_are_all_believed_also_with_gaps_between_them(both):
    rows, device = written()
    assert both.sort_out(rows, device) == ([json.loads(row["text"]) for row in rows], [])
    whole, damaged = both.sort_out([rows[0], rows[3], rows[0]], OTHER)
    assert (len(whole), damaged) == (2, [])


def test_only_the_true_text_mends_a_row(both):
    rows, device = written()
    true, forged = rows[1]["text"], changed(rows[1], data={"text": "forged"})["text"]
    broken = [rows[0], {**rows[1], "text": true[:50]}, *rows[2:]]
    assert both.mended(broken, [forged], device) == []
    assert both.mended(broken, [rows[0]["text"], true], device) == [true]
    assert both.mended(rows, [forged], device) == []


def test_a_damaged_job_is_read_and_not_written(phone):
    path = phone.open_job()
    accept_all(phone, path)
    phone.post(f"{path}/note", text="the first")
    phone.post(f"{path}/note", text="the second")
    phone.damage[len(phone.texts) - 2] = {"text": "\ufffd"}
    page = phone.get(f"{path}/timeline")
    assert "1 entry of this job is damaged and cannot be read" in page.get_text()
    assert "the second" in page.get_text()
    assert "the first" not in page.get_text()
    before = list(phone.texts)
    page = phone.post(f"{path}/note", text="on top of it")
    assert (phone.status, phone.texts) == (409, before)
    assert "What you typed is kept" in page.get_text()
    assert "1 entry of a job is damaged" not in phone.get("/").get_text()  # the list reads no notes
    phone.damage = {}
    phone.post(f"{path}/note", text="on top of it")
    assert len(phone.texts) == len(before) + 1


def test_a_job_whose_start_is_damaged_shows_the_rest_and_others_are_as_ever(phone):
    path, other = phone.open_job(unit="Truck 7"), phone.open_job(unit="Truck 8")
    phone.post(f"{path}/note", text="still to be read")
    phone.damage[1] = {"text": "{"}
    page = phone.get("/")
    assert page.select_one(f".damaged a[href='{path}']")
    assert "Truck 8" in page.get_text()
    page = phone.get(path)
    assert "still to be read" in page.get_text()
    assert "1 entry of this job is damaged" in page.get_text()
    phone.post(f"{other}/note", text="as ever")
    assert phone.location.startswith(other)
