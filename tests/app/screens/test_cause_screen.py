"""Root cause: named, excluded or consciously left open; the job waits for it."""

import pytest

from pwa.app import progress
from pwa.app.evidence import causes
from pwa.app.record import chain, jobs
from tests.helpers.notebooks import Desk
from tests.helpers.trade import CONTENT, accept_all

CURE = next(iter(next(item for item in CONTENT["causes"] if item["key"] == "charge-leak")["put_right"]))
UPSTREAM = [
    cause["key"] for cause in CONTENT["causes"] if cause["upstream"] and "electric" in cause["drives"]
]


@pytest.fixture
def job(phone):
    return phone.open_job()


def closed_by_another(job):
    """The closing that another device wrote, as versions before this one did."""
    made = [{"job": job[5:], "kind": "job-closed", "data": {"outcome": "done", "note": ""}, "replaces": []}]
    stranger = {"id": "stranger", "name": "Stranger", "seq": 0, "head": "", "clock": ""}
    return chain.seal(made, stranger, 1_764_065_270_000, "0123456789abcdef" * 4, "")[0][0]


def folded(phone, job):
    return jobs.fold(job.split("/")[-1], phone.records)


def left(phone, job):
    return [cause["key"] for cause in causes.undecided(folded(phone, job), CONTENT)]


def lacking(phone, job):
    return " ".join(progress.missing(folded(phone, job), CONTENT))


def decide(phone, job, cause, decision="named", reason="seen"):
    return phone.post(f"{job}/cause", cause=cause, decision=decision, reason=reason)


# What makes one cause nearly certain: a chafed harness, and coolant that gets into the exhaust.
CHAFED = {"moves-with-harness": "yes", "worse-on-bumps": "yes", "harness-look": "yes", "code-circuit": "yes"}
COOLANT = {"coolant-loss": "yes", "egr-cooler-holds": "drops", "white-crust": "yes"}


def answer(phone, job, answers):
    for finding, outcome in answers.items():
        phone.post(f"{job}/isolate", finding=finding, outcome=outcome)


def test_naming_an_unlikely_cause_does_not_clear_one_that_is_nearly_certain(phone, job):
    answer(phone, job, COOLANT)
    decide(phone, job, "idling-duty", reason="41 % idle")
    assert left(phone, job) == ["egr-cooler-leak", "vanes-sooted"]  # and what the coolant has led to
    assert "EGR cooler leaks coolant" in lacking(phone, job)
    decide(phone, job, "rest", "left open", "no time")
    assert "egr-cooler-leak" in left(phone, job)  # what is likely gets a word of its own
    decide(phone, job, "egr-cooler-leak", "excluded", "held pressure for a night")
    assert left(phone, job) == ["vanes-sooted"]


def test_a_likely_cause_on_the_control_side_is_decided_too(phone, job):
    answer(phone, job, CHAFED)
    assert "harness-fault" in left(phone, job)
    first = phone.get(f"{job}/cause").select_one("section.card h2").text
    assert first == "Harness chafed or broken control side"
    decide(phone, job, "harness-fault")
    assert "harness-fault" not in left(phone, job)
    assert set(UPSTREAM) <= set(left(phone, job))  # what is upstream is asked for all the same


def test_a_named_cause_needs_a_repair_that_cures_it(phone, job):
    decide(phone, job, "charge-leak")
    assert "record what cures “Charge air leak”: “" in lacking(phone, job)
    accept_all(phone, job)
    phone.post(f"{job}/repair", repair="calibrate", note="")
    assert "record what cures" in lacking(phone, job)
    phone.post(f"{job}/repair", repair=CURE, note="")
    assert "record what cures" not in lacking(phone, job)


def test_the_confirmed_fault_is_recorded_or_that_none_was_found(phone, job):
    decide(phone, job, "rest", "excluded", "new engine")
    assert "name the fault that was confirmed" in lacking(phone, job)
    assert "Repair: say what was done" in lacking(phone, job)
    decide(phone, job, "not-found", "left open", "")
    assert phone.status == 422
    page = decide(phone, job, "not-found", "left open", "drives well since the battery was off")
    assert "No fault was found: drives well" in page.text
    assert "confirmed" not in lacking(phone, job)
    assert "Repair" not in lacking(phone, job)
    assert "no fault was found (drives well" in phone.get(f"{job}/summary").text


def test_a_fault_found_after_all_takes_the_place_of_none(phone, job):
    decide(phone, job, "not-found", "left open", "nothing seen")
    decide(phone, job, "harness-fault")
    assert "nothing seen" not in phone.get(f"{job}/cause").text
    decide(phone, job, "not-found", "left open", "or was it?")
    assert phone.status == 422
    assert len(phone.of_kind("cause")) == 2


def test_any_cause_can_be_called_up_and_named(phone, job):
    page = phone.get(f"{job}/cause")
    link = next(item for item in page.select("a.step") if "Charge air leak" in item.text)
    page = phone.get(link["href"])
    assert page.select_one("section.card h2").text == "Charge air leak air path"
    page = decide(phone, job, "charge-leak", reason="split at the clamp")
    assert "Confirmed: Charge air leak" in page.select_one(".verdict.good").text


def test_a_split_hose_closes_without_a_calibration(phone, job):
    accept_all(phone, job)
    answer(phone, job, {"boost-leak-heard": "yes", "leak-down": "fast"})
    decide(phone, job, "charge-leak", reason="split at the clamp")
    decide(phone, job, "rest", "excluded", "a split hose breaks nothing else")
    phone.post(f"{job}/repair", repair=CURE, note="hose")
    for proof in ("pressure-test", "road-test", "codes-clear"):
        assert progress.missing(folded(phone, job), CONTENT)
        phone.post(f"{job}/prove", proof=proof, result="passed", value="210")
    assert progress.missing(folded(phone, job), CONTENT) == []
    phone.post(f"{job}/summary", outcome="done")
    assert phone.of_kind("job-closed")[-1]["outcome"] == "done"


def test_a_job_closed_by_an_older_version_stays_closed_and_lacks_nothing(phone, job):
    phone.texts.append(closed_by_another(job))
    assert "Still missing" not in phone.get(f"{job}/summary").text
    assert "to decide" not in phone.get(job).text


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
    assert "to decide" not in page.text
    decisions = [item["decision"] for item in phone.of_kind("cause")]
    assert decisions.count("left open") == len(UPSTREAM) - 1


@pytest.mark.parametrize("decision", ["named", "excluded", "left open"])
def test_no_decision_without_a_word(phone, job, decision):
    page = phone.post(f"{job}/cause", cause="idling-duty", decision=decision, reason=" ")
    assert phone.status == 422
    assert page.select_one("[role=alert]")
    assert phone.of_kind("cause") == []


@pytest.mark.parametrize(
    ("cause", "decision"),
    [("idling-duty", "perhaps"), ("vanes-sticking", "named"), ("not-found", "named")],
)
def test_only_causes_and_the_three_decisions_are_taken(phone, job, cause, decision):
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
    names = [card.h2.text for card in cards]
    assert names[:2] == ["Vanes loaded with soot mechanism", "EGR cooler leaks coolant EGR"]
    assert "By the answers so far" in cards[1].text


def test_two_phones_that_decide_differently_decide_nothing(phone, job):
    other = Desk(CONTENT, name="Second phone")
    other.texts = list(phone.texts)
    phone.post(f"{job}/cause", cause="idling-duty", decision="named", reason="41 % idle")
    other.post(f"{job}/cause", cause="idling-duty", decision="excluded", reason="long haul")
    phone.texts = list(dict.fromkeys(phone.texts + other.texts))
    assert left(phone, job) == UPSTREAM
    assert "Two different decisions" in phone.get(f"{job}/cause").text
