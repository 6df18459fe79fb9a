"""Isolate: the check, its answer and what it moved, on the real content and both interpreters."""

import json
import re

import pytest

from pwa.app.evidence import answer_order
from pwa.engine.evidence.scan import NOTHING_FOUND
from tests.helpers.notebooks import Desk
from tests.helpers.trade import CONTENT, accept_all


@pytest.fixture
def job(phone):
    return phone.open_job()


def offered(page):
    return page.select_one("#check [name=finding]")["value"]


def normal(key):
    """The outcome of a check that shows with nothing wrong."""
    if key in [scan["key"] for scan in CONTENT["scans"]]:
        return NOTHING_FOUND
    return next(item for item in CONTENT["findings"] if item["key"] == key)["outcomes"][0]["key"]


def test_the_next_check_has_a_reason_its_minutes_and_one_tap_for_each_outcome(phone, job):
    page = phone.get(f"{job}/isolate")
    card = page.select_one("#check")
    finding = next(item for item in CONTENT["findings"] if item["key"] == offered(page))
    assert [button["value"] for button in card.select("button[name=outcome]")] == [
        outcome["key"] for outcome in answer_order.in_order(finding["outcomes"])
    ]
    assert "Why:" in card.text
    assert f"About {finding['minutes']:g} min" in card.text


def test_the_picture_says_in_words_what_it_shows_and_its_areas_fill_the_square(phone, job):
    picture = phone.get(f"{job}/isolate").select_one(".standing svg")
    for words in ("Control side only", "Mechanism only", "Both", "Not the VGT"):
        assert re.search(rf"{words} (\d+|under 1) %", picture["aria-label"])
    areas = [float(area["width"]) * float(area["height"]) for area in picture.select("rect.area")]
    assert sum(areas) == pytest.approx(200 * 200, rel=0.01)


def test_an_answer_shows_each_side_before_and_after_and_what_it_speaks_for(phone, job):
    page = phone.post(f"{job}/isolate", finding="hand-sweep", outcome="stops-short")
    moved = page.select_one("#moved")
    assert "Actuator lever swept by hand: Stops short" in moved.text
    row = next(item.text for item in moved.select("li") if "mechanism" in item.text)
    before, after = [int(number) for number in re.findall(r"(\d+) %", row)]
    assert after > before + 10
    assert "It speaks for: " in moved.text
    assert "Vanes stick" in moved.text


def test_a_normal_outcome_says_what_it_speaks_against(phone, job):
    page = phone.post(f"{job}/isolate", finding="supply-drop", outcome="ok")
    assert "It speaks against: Supply, fuse or relay" in page.select_one("#moved").text


def test_taking_an_answer_back_moves_nothing_and_keeps_both_records(phone, job):
    phone.post(f"{job}/isolate", finding="soot-seen", outcome="yes")
    page = phone.post(f"{job}/isolate", finding="soot-seen", outcome="not-checked")
    assert page.select_one("#moved") is None
    assert [item["outcome"] for item in phone.of_kind("finding")] == ["yes", "not-checked"]


def test_a_check_put_off_can_be_offered_again(phone, job):
    first = offered(phone.get(f"{job}/isolate"))
    page = phone.post(f"{job}/isolate/skip", finding=first, reason="later")
    assert offered(page) != first
    again = page.select_one("button[value=again]").find_parent("form")
    assert again.select_one("[name=finding]")["value"] == first
    assert offered(phone.post(f"{job}/isolate/skip", finding=first, reason="again")) == first


def test_what_cannot_be_done_here_is_offered_elsewhere(phone):
    roadside = phone.open_job(place="roadside")
    first = offered(phone.get(f"{roadside}/isolate"))
    phone.post(f"{roadside}/isolate/skip", finding=first, reason="here")
    assert phone.of_kind("skipped")[-1]["place"] == "roadside"
    assert offered(phone.get(f"{roadside}/isolate")) != first
    opened = next(record for record in phone.records if record["kind"] == "job-opened")
    moved = {**opened, "id": opened["id"] + "-b", "device": "another", "replaces": [opened["id"]]}
    moved["data"] = {**opened["data"], "place": "bay"}
    phone.texts.append(json.dumps(moved))
    assert offered(phone.get(f"{roadside}/isolate")) == first


def test_a_check_names_the_cautions_nobody_has_accepted_yet(phone, job):
    card = phone.get(f"{job}/isolate?check=hand-sweep").select_one("#check")
    assert "Not safe yet" in card.text
    assert card.select_one(f"a[href='{job}/safe']")
    accept_all(phone, job)
    assert "Hands off" not in phone.get(f"{job}/isolate?check=hand-sweep").select_one("#check").text


def test_a_measured_check_leads_to_its_measurement_and_a_code_to_the_codes(phone, job):
    measured = phone.get(f"{job}/isolate?check=supply-drop").select_one("#check")
    assert measured.select_one(f"a[href='{job}/measure/supply-drop']")
    by_code = phone.get(f"{job}/isolate?check=code-circuit").select_one("#check")
    assert by_code.select_one(f"a[href='{job}/codes']")


def test_the_complaint_itself_is_no_check(phone, job):
    page = phone.get(f"{job}/isolate")
    assert "power-lost" not in str(page)


def test_two_answers_from_two_phones_are_named_and_do_not_count(phone, job):
    other = Desk(CONTENT, name="Second phone")
    other.texts = list(phone.texts)
    before = phone.get(f"{job}/isolate").select_one(".standing svg")["aria-label"]
    phone.post(f"{job}/isolate", finding="hand-sweep", outcome="smooth")
    other.post(f"{job}/isolate", finding="hand-sweep", outcome="stops-short")
    phone.texts = list(dict.fromkeys(phone.texts + other.texts))
    page = phone.get(f"{job}/isolate")
    assert "not counted: Actuator lever swept by hand" in page.text
    assert page.select_one(".standing svg")["aria-label"] == before


@pytest.mark.parametrize(
    ("drive", "place"), [("electric", "bay"), ("pneumatic", "roadside"), ("hydraulic", "bay")]
)
def test_the_checks_offered_end_with_enough_to_decide_and_can_be_taken_on(phone, drive, place):
    """Always the normal outcome: nothing is offered twice, and it says when to stop; who wants goes on."""
    job = phone.open_job(drive=drive, place=place)
    seen = []
    page = phone.get(f"{job}/isolate")
    while not page.select_one("#enough"):
        seen.append(offered(page))
        page = phone.post(f"{job}/isolate", finding=seen[-1], outcome=normal(seen[-1]))
    assert len(seen) == len(set(seen))
    assert 5 <= len(seen) <= 40
    assert page.select_one("#check") is None
    page = phone.get(page.select("a.step[href*='isolate?check=']")[0]["href"])
    assert offered(page) not in seen
    page = phone.post(f"{job}/isolate", finding=offered(page), outcome=normal(offered(page)))
    assert page.select_one("#enough") or offered(page) not in seen


@pytest.mark.parametrize(
    ("finding", "outcome", "said"),
    [
        ("supply-drop", "perhaps", "“perhaps” is no answer to"),
        ("supply-drop", "", "is no answer to"),
        ("no-such-check", "ok", "This version knows no check called “no-such-check”."),
        ("no-such-check", "not-checked", "This version knows no check called"),
    ],
)
def test_an_answer_that_there_is_not_is_refused(phone, job, finding, outcome, said):
    page = phone.post(f"{job}/isolate", finding=finding, outcome=outcome)
    assert phone.status == 422
    assert said in page.main.text
    assert phone.of_kind("finding") == []


def test_every_check_offers_yes_before_no_and_else_the_normal_answer_first():
    for finding in CONTENT["findings"]:
        keys = [item["key"] for item in answer_order.in_order(finding["outcomes"])]
        stands = [item["key"] for item in finding["outcomes"]]
        assert sorted(keys) == sorted(stands)
        if {"yes", "no"} <= set(keys):
            assert keys[:2] == ["yes", "no"]
        else:
            assert keys == stands


@pytest.mark.parametrize("check", ["oil-use", "oil-record"])  # of one "no" is the normal answer, of one "yes"
def test_a_page_offers_yes_before_no(phone, job, check):
    page = phone.get(f"{job}/isolate?check={check}")
    assert [button["value"] for button in page.select("#check [name=outcome]")] == ["yes", "no"]


def test_reading_all_codes_is_one_check_that_leads_to_the_codes_or_says_that_there_are_none(phone, job):
    page = phone.get(f"{job}/isolate?check=scan")
    assert "About 5 min" in page.select_one("#check").text
    assert page.select_one(f"#check a[href='{job}/codes']")
    phone.post(f"{job}/isolate", finding="scan", outcome=NOTHING_FOUND)
    codes = {item["key"] for item in CONTENT["findings"] if item["way"] == "codes"}
    assert {item["finding"] for item in phone.of_kind("finding")} == codes
    assert {item["outcome"] for item in phone.of_kind("finding")} == {"no"}


def test_reading_all_codes_can_be_put_off_and_offered_again(phone, job):
    page = phone.post(f"{job}/isolate/skip", finding="scan", reason="later")
    assert not page.select("a.step[href*='check=scan']")
    assert "Read all codes" in page.text
    page = phone.post(f"{job}/isolate/skip", finding="scan", reason="again")
    assert offered(page) == "scan" or page.select("a.step[href*='check=scan']")
