"""Prove: each check has a result, its number in its own unit, and stays on screen when something is wrong."""

import re

import pytest

from tests.helpers.notebooks import Desk
from tests.helpers.trade import CONTENT, accept_all


@pytest.fixture
def repaired(phone, job):
    """The job with a repair that needs calibration and sweep beside what every job needs."""
    phone.post(f"{job}/repair", repair="replace-actuator", note="")
    return job


def shown(page):
    return [card["id"] for card in page.select("section.card")]


def test_each_repair_adds_its_own_proofs(phone, job):
    assert shown(phone.get(f"{job}/prove")) == ["road-test", "codes-clear"]
    assert "No repair is recorded yet" in phone.get(f"{job}/prove").text
    phone.post(f"{job}/repair", repair="replace-actuator", note="")
    page = phone.get(f"{job}/prove")
    assert shown(page) == ["calibration", "sweep-again", "road-test", "codes-clear"]
    assert "No repair is recorded yet" not in page.text


def test_every_repair_of_the_vgt_is_proven_by_more_than_a_drive():
    """The commanded sweep, the calibration or a reading: whatever shows that this part works."""
    vgt = [cause for cause in CONTENT["causes"] if cause["system"] in ("control", "mechanism")]
    repairs = {key for cause in vgt for key in cause["put_right"]}
    assert [item["key"] for item in CONTENT["repairs"] if item["key"] in repairs and not item["proofs"]] == []


def test_every_proof_is_asked_for_by_a_repair_or_by_every_job():
    asked = {key for repair in CONTENT["repairs"] for key in repair["proofs"]}
    assert all(proof["always"] != (proof["key"] in asked) for proof in CONTENT["proofs"])


def test_a_proof_that_does_not_apply_needs_its_reason_and_then_lacks_nothing(phone, repaired):
    page = phone.post(f"{repaired}/prove", proof="calibration", result="does not apply", note="")
    assert "Write why it does not apply" in page.select_one("#calibration [role=alert]").text
    page = phone.post(f"{repaired}/prove", proof="calibration", result="does not apply", note="learns itself")
    assert phone.of_kind("proof") == [
        {"proof": "calibration", "result": "failed", "applies": False, "note": "learns itself"}
    ]
    assert "does not apply learns itself" in page.select_one("#calibration .verdict.unsure").text
    assert "3 to do" in page.text
    assert "Prove: Calibration" not in phone.get(f"{repaired}/summary").text
    assert "Calibration: does not apply (learns itself)" in phone.get(f"{repaired}/summary").text


def test_the_boost_is_held_against_what_was_before_and_what_to_expect_here(phone, repaired):
    assert "not known yet" in phone.get(f"{repaired}/prove").select_one("#road-test").text
    worked = {"known": "200", "boost": "110", "reads": "gauge", "station": "100", "limit_source": "book"}
    job = phone.open_job()
    accept_all(phone, job)
    phone.post(f"{job}/measure/expected-boost", **worked)
    phone.post(f"{job}/repair", repair="replace-actuator", note="")
    card = phone.get(f"{job}/prove").select_one("#road-test").text
    assert re.search(r"110 kPa before the repair; a healthy engine shows 19\d to 20\d kPa here", card)
    page = phone.post(f"{job}/prove", proof="road-test", result="passed", value="120", note="")
    assert "120 kPa is too little" in page.select_one("#road-test [role=alert]").text
    page = phone.post(f"{job}/prove", proof="road-test", result="passed", value="199", note="")
    assert "199 kPa (110 kPa before the repair; a healthy" in page.select_one("#road-test .verdict.good").text
    assert phone.of_kind("proof")[-1]["against"].startswith("110 kPa before the repair")
    page = phone.post(f"{job}/prove", proof="road-test", result="passed", value="120", note="half load only")
    assert "half load only" in page.select_one("#road-test .verdict.good").text


def test_each_proof_has_its_fields_labelled_and_its_unit_beside_the_number(phone, repaired):
    page = phone.get(f"{repaired}/prove")
    for field in page.select("input:not([type=hidden]):not([type=radio])"):
        assert page.select_one(f"label[for='{field['id']}']"), field
    assert page.select_one("#road-test .unit").text == "kPa"
    assert not page.select("#calibration [name=value]")


@pytest.mark.parametrize(
    ("typed", "value"),
    [
        ("210", "210"),
        ("29 psi", "199.95"),  # 29 · 6.894757 kPa, NIST SP 811 appendix B
        ("2,1 bar", "210"),
    ],
)
def test_a_number_is_kept_in_the_proofs_own_unit(phone, repaired, typed, value):
    page = phone.post(f"{repaired}/prove", proof="road-test", result="passed", value=typed, note="warm")
    assert phone.of_kind("proof") == [
        {"proof": "road-test", "result": "passed", "value": value, "unit": "kPa", "note": "warm"}
    ]
    assert f"passed {value} kPa warm" in page.select_one("#road-test .verdict.good").text
    assert "3 to do" in page.text


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"proof": "road-test", "result": "", "value": "210"}, "Choose passed or failed"),
        ({"proof": "road-test", "result": "passed", "value": ""}, "Type the value in kPa"),
        ({"proof": "road-test", "result": "passed", "value": "lots"}, "is no number"),
        ({"proof": "road-test", "result": "passed", "value": "210 V"}, "no unit of pressure"),
        ({"proof": "sweep-again", "result": "failed", "value": ""}, "Write what happened"),
        ({"proof": "codes-clear", "result": "failed", "value": ""}, "Write what happened"),
        ({"proof": "calibration", "result": "failed"}, "Write what happened"),
    ],
)
def test_what_is_missing_is_said_at_its_own_place_and_nothing_is_written(phone, job, fields, says):
    page = phone.post(f"{job}/prove", **fields)
    assert phone.status == 422
    assert says in page.select_one(f"#{fields['proof']} [role=alert]").text
    assert len(page.select("[role=alert]")) == 1
    assert phone.of_kind("proof") == []


def test_what_was_typed_stays_beside_the_error(phone, repaired):
    page = phone.post(
        f"{repaired}/prove", proof="road-test", result="failed", value="much", note="smoke at 1,400"
    )
    assert page.select_one("#road-test details[open]")
    assert page.select_one("#road-test [name=value]")["value"] == "much"
    assert page.select_one("#road-test [name=note]")["value"] == "smoke at 1,400"
    assert page.select_one("#road-test [name=result][checked]")["value"] == "failed"
    assert page.select_one("#sweep-again [name=note]")["value"] == ""


def test_no_codes_back_is_kept_as_none(phone, job):
    phone.post(f"{job}/prove", proof="codes-clear", result="passed", value="")
    assert phone.of_kind("proof")[-1]["value"] == "none"


def test_a_failed_proof_says_not_proven_until_it_is_done_again(phone, repaired):
    job = repaired
    for proof in CONTENT["proofs"]:
        result = "failed" if proof["key"] == "codes-clear" else "passed"
        page = phone.post(f"{job}/prove", proof=proof["key"], result=result, value="3")
    assert "Failed: Codes stay away" in page.select_one("main > .verdict.bad").text
    failed = phone.records[-1]["id"]
    page = phone.post(f"{job}/prove", proof="codes-clear", result="passed", value="none")
    assert phone.records[-1]["replaces"] == [failed]
    assert "Every proof is in" in page.select_one("main > .verdict.good").text


def test_an_unknown_proof_is_not_found(phone, job):
    phone.post(f"{job}/prove", proof="prayer", result="passed")
    assert phone.status == 404


def test_two_phones_that_disagree_leave_the_proof_to_do(phone, repaired):
    job = repaired
    other = Desk(CONTENT, name="Second phone")
    other.texts = list(phone.texts)
    phone.post(f"{job}/prove", proof="calibration", result="passed")
    other.post(f"{job}/prove", proof="calibration", result="failed", note="ends not found")
    phone.texts = list(dict.fromkeys(phone.texts + other.texts))
    assert "4 to do" in phone.get(f"{job}/prove").text
