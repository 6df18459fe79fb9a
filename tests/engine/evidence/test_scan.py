"""Reading all codes is one check: offered once, with its minutes once, and worth what its findings save."""

import pytest

from tests.helpers.trade import CONTENT

CODES = [item["key"] for item in CONTENT["findings"] if item["way"] == "codes"]
MODEL = CONTENT["model"]


@pytest.fixture(scope="module")
def advice(twin):
    return twin("pwa.engine.evidence.advice")


def checks(advice, answers, **known):
    return advice.isolate(MODEL, answers, known)["checks"]


def test_it_is_offered_once_in_place_of_every_code_question(advice):
    offered = checks(advice, {})
    scans = [check for check in offered if check["finding"] == "scan"]
    assert len(scans) == 1
    assert not set(CODES) & {check["finding"] for check in offered}
    assert sorted(scans[0]["answers"]) == sorted(CODES)
    assert scans[0]["minutes"] == 5
    assert scans[0]["tools"] == ["a code reader"]
    assert "speaks for" in scans[0]["why"]
    worths = [check["worth"] for check in offered]
    assert worths == sorted(worths, reverse=True)


def test_it_answers_what_is_left_and_is_not_offered_when_nothing_is(advice):
    some = dict.fromkeys(CODES[:4], "no")
    scan = next(check for check in checks(advice, some) if check["finding"] == "scan")
    assert sorted(scan["answers"]) == sorted(CODES[4:])
    assert "scan" not in {check["finding"] for check in checks(advice, dict.fromkeys(CODES, "no"))}


def test_it_can_be_skipped_and_waits_for_its_tool(advice):
    assert "scan" not in {check["finding"] for check in checks(advice, {}, skipped=["scan"])}
    found = advice.isolate(MODEL, {}, {"without": ["a code reader"]})
    assert "scan" not in {check["finding"] for check in found["checks"]}
    assert {check["finding"]: check["needs"] for check in found["later"]}["scan"] == ["a code reader"]


def test_what_is_asked_takes_no_minutes(advice):
    asked = {item["key"] for item in CONTENT["findings"] if item["way"] == "asked"}
    assert {check["minutes"] for check in checks(advice, {}) if check["finding"] in asked} == {0}
