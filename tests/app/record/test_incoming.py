"""What a phone insists on before it keeps records that came in a file, on both interpreters."""

import json

import pytest

from pwa.app.record import chain

DEVICE = {"id": "mine", "name": "Bay 2 phone", "seq": 2, "head": "", "clock": ""}
OTHER = {"id": "theirs", "name": "Roadside phone", "seq": 0, "head": "", "clock": ""}


def sealed(count, device=OTHER):
    drafts = [chain.draft("job", "note", {"text": f"note {n}"}) for n in range(count)]
    return chain.seal(drafts, device, 1_764_065_263_000, "0123456789abcdef" * 20, "")[0]


@pytest.fixture
def judge(twin):
    return twin("pwa.app.record.incoming").judge


def test_what_another_device_wrote_is_kept_in_one_go_or_in_parts(judge):
    texts = sealed(4)
    whole = judge(texts, DEVICE, {})
    assert whole["refused"] == ["", "", "", ""]
    first = judge(texts[:2], DEVICE, {})
    assert judge(texts[2:], DEVICE, first["last"])["last"] == whole["last"]
    assert whole["last"] == {"theirs": [4, chain.digest(texts[3])]}


def test_records_of_one_job_may_have_gaps_between(judge):
    texts = sealed(4)
    assert judge([texts[0], texts[2]], DEVICE, {})["refused"] == ["", ""]


def test_a_changed_record_makes_the_next_one_not_follow(judge):
    texts = sealed(3)
    texts[1] = texts[1].replace("note 1", "note 9")
    refused = judge(texts, DEVICE, {})["refused"]
    assert refused[:2] == ["", ""]
    assert "does not follow" in refused[2]


def test_what_this_phone_wrote_and_forgot_is_for_the_desk(judge):
    texts = sealed(3, {**OTHER, "id": "mine"})
    assert [bool(wrong) for wrong in judge(texts, DEVICE, {})["refused"]] == [False, False, True]


def test_a_field_that_is_missing_is_named_and_one_that_is_new_is_kept(judge):
    record = json.loads(sealed(1)[0])
    assert judge([json.dumps({**record, "colour": "red"})], DEVICE, {})["refused"] == [""]
    del record["clock"]
    assert "clock" in judge([json.dumps(record)], DEVICE, {})["refused"][0]
    assert judge(["[]", "7"], DEVICE, {})["refused"] == ["It is no entry.", "It is no entry."]
