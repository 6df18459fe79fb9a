"""What a file brought in another's name gives way to that device's own, on the phone's Python too."""

import copy
from typing import Any, cast

import pytest

from pwa.app.record import chain

NOTE = cast("Any", chain.draft)
PHONE = {"id": "p", "name": "Bay 2 phone", "seq": 0, "head": "", "clock": ""}


@pytest.fixture
def brought(twin):
    return twin("pwa.app.record.brought")


def rows(device, *notes, job="j", salt="a", **flags):
    texts, after = chain.seal(
        [NOTE(job, "note", {"text": note}) for note in notes], device, 1_764_065_263_000, salt * 400, ""
    )
    return [{**chain.row(text), **flags} for text in texts], after


def told(apart):
    counting, contradicted = apart
    return [row["id"] for row in counting], [record["data"]["text"] for record in contradicted]


def test_nothing_is_set_apart_where_no_file_brought_anything(brought):
    own, _ = rows(PHONE, "1", "2")
    assert told(brought.apart(own)) == ([row["id"] for row in own], [])


def test_a_true_file_counts(brought):
    own, after = rows(PHONE, "1", "2")
    more, _ = rows(after, "3", "4", salt="b", carried=1)
    assert told(brought.apart(own + more))[1] == []


def test_what_stands_in_the_place_of_the_devices_own_goes_with_all_that_hangs_on_it(brought):
    own, after = rows(PHONE, "1", "2")
    true, _ = rows(after, "3", salt="b")
    false, _ = rows(after, "forged 3", "forged 4", "forged 5", salt="c", carried=1)
    counting, contradicted = told(brought.apart(false + own + true))
    assert counting == [row["id"] for row in own + true]
    assert sorted(contradicted) == ["forged 3", "forged 4", "forged 5"]


def test_what_does_not_follow_the_devices_own_goes(brought):
    own, after = rows(PHONE, "1", "2")
    false, _ = rows({**after, "head": "f" * 64}, "forged 3", "forged 4", salt="c", carried=1)
    assert told(brought.apart(own + false))[1] == ["forged 3", "forged 4"]


def test_what_the_shop_says_is_contradicted_goes(brought):
    own, after = rows(PHONE, "1")
    false, _ = rows(after, "forged", salt="c", contradicted=1)
    assert told(brought.apart(own + false))[1] == ["forged"]


@pytest.mark.parametrize("text", ["", "{", "[]", None, '{"prev": 7}'])
def test_a_damaged_row_breaks_nothing(brought, text):
    own, after = rows(PHONE, "1", "2")
    false, _ = rows(after, "3", "4", salt="c", carried=1)
    for damaged in range(4):
        changed = copy.deepcopy(own + false)
        changed[damaged]["text"] = text
        brought.apart(changed)


def test_the_timeline_shows_it_and_it_decides_nothing_and_damages_nothing(phone):
    path = phone.open_job()
    phone.post(f"{path}/note", text="first")
    before = dict(phone.device)
    phone.post(f"{path}/note", text="true")
    [false], _ = rows(before, "forged", job=path.split("/")[-1], salt="c")
    phone.texts.append(false["text"])
    phone.damage[len(phone.texts) - 1] = {"carried": 1}
    page = phone.get(f"{path}/timeline")
    assert "contradicted by the phone itself" in page.select_one("#contradicted h2").text
    assert "forged" in page.select_one("#contradicted").text
    assert "forged" not in page.select_one("ol.timeline").text
    assert "damaged" not in page.text
    assert "forged" not in phone.get(f"{path}/summary").text
