"""Root cause: named, excluded or consciously left open; the job waits for it."""

import pytest

from pwa.app.evidence import causes
from pwa.app.record import jobs
from tests.helpers.notebooks import Desk
from tests.helpers.trade import CONTENT

UPSTREAM = [cause["key"] for cause in CONTENT["causes"] if cause["upstream"]]


@pytest.fixture
def job(phone):
    return phone.open_job()


def left(phone, job):
    folded = jobs.fold(job.split("/")[-1], phone.records)
    return [cause["key"] for cause in causes.undecided(folded, CONTENT)]


def test_every_upstream_cause_waits_until_one_is_named(phone, job):
    assert left(phone, job) == UPSTREAM
    phone.post(f"{job}/cause", cause="egr-cooler-leak", decision="named", reason="lost pressure cold")
    assert left(phone, job) == []
    assert phone.of_kind("cause") == [
        {"cause": "egr-cooler-leak", "decision": "named", "reason": "lost pressure cold"}
    ]


def test_excluding_one_leaves_the_others(phone, job):
    phone.post(f"{job}/cause", cause="oil-consumption", decision="excluded", reason="no top-ups in a year")
    assert left(phone, job) == [key for key in UPSTREAM if key != "oil-consumption"]


def test_the_rest_is_left_open_with_one_reason_for_each_that_is_undecided(phone, job):
    phone.post(f"{job}/cause", cause="oil-consumption", decision="excluded", reason="no top-ups in a year")
    page = phone.post(f"{job}/cause", cause="rest", decision="left open", reason="waits for the workshop")
    assert "Decided" in page.text
    decisions = [item["decision"] for item in phone.of_kind("cause")]
    assert decisions.count("left open") == len(UPSTREAM) - 1


@pytest.mark.parametrize("decision", ["named", "excluded", "left open"])
def test_no_decision_without_a_word(phone, job, decision):
    page = phone.post(f"{job}/cause", cause="idling-duty", decision=decision, reason=" ")
    assert phone.status == 422
    assert page.select_one("[role=alert]")
    assert phone.of_kind("cause") == []


@pytest.mark.parametrize(("cause", "decision"), [("idling-duty", "perhaps"), ("vanes-sticking", "named")])
def test_only_upstream_causes_and_the_three_decisions_are_taken(phone, job, cause, decision):
    phone.post(f"{job}/cause", cause=cause, decision=decision, reason="because")
    assert phone.status in (404, 422)
    assert phone.of_kind("cause") == []


def test_deciding_again_replaces_what_was_decided(phone, job):
    phone.post(f"{job}/cause", cause="idling-duty", decision="excluded", reason="long haul")
    phone.post(f"{job}/cause", cause="idling-duty", decision="named", reason="41 % idle")
    first, second = [record for record in phone.records if record["kind"] == "cause"]
    assert second["replaces"] == [first["id"]]
    assert "41 % idle" in phone.get(f"{job}/cause").text
    assert "long haul" not in phone.get(f"{job}/cause").text


def test_what_the_answers_point_to_comes_first(phone, job):
    phone.post(f"{job}/isolate", finding="coolant-loss", outcome="yes")
    phone.post(f"{job}/isolate", finding="hand-sweep", outcome="stops-short")
    cards = phone.get(f"{job}/cause").select("section.card")
    assert cards[0].h2.text == "EGR cooler leaks coolant"
    assert "By the answers so far" in cards[0].text


def test_two_phones_that_decide_differently_decide_nothing(phone, job):
    other = Desk(CONTENT, name="Second phone")
    other.texts = list(phone.texts)
    phone.post(f"{job}/cause", cause="idling-duty", decision="named", reason="41 % idle")
    other.post(f"{job}/cause", cause="idling-duty", decision="excluded", reason="long haul")
    phone.texts = list(dict.fromkeys(phone.texts + other.texts))
    assert left(phone, job) == UPSTREAM
    assert "Two different decisions" in phone.get(f"{job}/cause").text
