"""How much one phone may write, and what a small file of jobs may unpack to."""

import io
import zipfile

import pytest

from server.errors import Refused
from server.files import take_in
from server.store import entries, quota
from server.store.quota import AT_ONCE, Quota
from tests.helpers.servers import Device
from tests.server.conftest import phone, server  # noqa: F401

DAY = 24 * 3600 * 1000


def test_a_year_of_notes_comes_at_once_and_a_flood_does_not():
    bucket = Quota()
    for _ in range(AT_ONCE // 200):
        bucket.insist("one", 0)
        bucket.count("one", 200, 450, 0)
    with pytest.raises(Refused) as refused:
        bucket.insist("one", 0)
    assert (refused.value.status, refused.value.headers) == (429, {"Retry-After": "1"})
    bucket.insist("another", 0)
    bucket.insist("one", 1000)


def test_a_phone_that_writes_a_note_a_second_never_meets_it():
    bucket = Quota()
    bucket.count("one", AT_ONCE - 1, 450, 0)
    for second in range(1, 10_000):
        bucket.insist("one", 1000 * second)
        bucket.count("one", 1, 450, 1000 * second)


def test_large_records_count_for_more():
    bucket = Quota()
    bucket.count("one", 2500, 256 * 1024, 0)
    with pytest.raises(Refused):
        bucket.insist("one", 0)


def test_a_clock_that_is_set_back_gives_nothing_and_takes_nothing():
    bucket = Quota()
    bucket.count("one", AT_ONCE, 1, DAY)
    with pytest.raises(Refused, match="in 1 minutes"):
        bucket.insist("one", 0)


def test_a_phone_that_floods_is_asked_to_wait_and_others_are_not(server, phone, monkeypatch):  # noqa: F811
    monkeypatch.setattr(quota, "AT_ONCE", 100)
    monkeypatch.setattr(quota, "EACH_SECOND", 0.01)
    texts = phone.write(*map(str, range(110)))
    phone.sync(*texts[:60])
    phone.sync(*texts)
    answer = phone.post(*phone.write("one more"))
    assert (answer.status_code, answer.json()["error"]) == (429, "too_much")
    assert 0 < int(answer.headers["Retry-After"]) <= 1100
    assert "Everything stays safe on this phone" in answer.json()["message"]
    assert phone.sync()["records"] == []  # what others wrote it still gets
    other = Device(server)
    assert len(other.sync(*other.write("meanwhile"))["taken"]) == 1


def test_what_is_here_already_costs_nothing(phone, monkeypatch):  # noqa: F811
    """After a restore every phone offers all it has again."""
    monkeypatch.setattr(quota, "AT_ONCE", 100)
    texts = phone.write(*map(str, range(90)))
    for _ in range(5):
        assert len(phone.sync(*texts)["taken"]) == 90


def packed(lines):
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as into:
        into.writestr("records.jsonl", lines)
    file.seek(0)
    return file


def test_a_small_file_of_empty_lines_is_put_down_soon(server, monkeypatch):  # noqa: F811
    read, lines = entries.read, 0

    def counted(text):
        nonlocal lines
        lines += 1
        return read(text)

    monkeypatch.setattr(entries, "read", counted)
    file = packed(b"{}\n" * (16 * 2**20 // 3))
    assert len(file.getbuffer()) < 20_000
    with pytest.raises(Refused, match="no file that Layby made"):
        take_in.take(server.shop, file)
    assert lines == take_in.MOST_WRONG + 1


def test_entries_between_lines_that_are_none_are_taken_and_few_of_those_named(server, phone):  # noqa: F811
    texts = phone.write(*map(str, range(50)))
    told = take_in.take(server.shop, packed("{}\n" * 900 + "".join(f"{text}\n" for text in texts)))
    assert (told["taken"], told["refused"], len(told["named"])) == (50, 900, 20)
