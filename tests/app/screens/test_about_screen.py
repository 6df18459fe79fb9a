"""What a job is about: said when it starts, put right later, and carried in its case code."""

import pytest

from pwa.app.carry import complaint
from pwa.engine.case_code import codec
from tests.helpers.trade import CONTENT


def opened(phone):
    return phone.of_kind("job-opened")[-1]


def test_a_job_starts_with_lost_power_ticked(phone):
    ticked = phone.get("/job/new").select("input[name=complaints][checked]")
    assert [box["value"] for box in ticked] == ["power-lost"]


def test_a_job_that_says_nothing_is_about_lost_power(phone, job):
    assert "complaints" not in opened(phone)
    ticked = phone.get(f"{job}/about").select("input[name=complaints][checked]")
    assert [box["value"] for box in ticked] == ["power-lost"]


def test_several_complaints_are_kept_and_shown(phone):
    job = phone.open_job(complaints=["hot-derate", "engine-brake-weak"], drive="not known")
    assert opened(phone)["complaints"] == ["engine-brake-weak", "hot-derate"]
    facts = phone.get(job).select_one(".facts").text
    assert "Engine brake weak, Power goes on hot days" in facts
    assert "actuator type not known" in facts


def test_the_type_can_be_said_once_it_is_known(phone):
    job = phone.open_job(drive="not known")
    assert "Actuator type not known" in phone.get(f"{job}/isolate").text
    phone.post(f"{job}/about", drive="pneumatic", complaints=["power-lost"])
    assert opened(phone)["drive"] == "pneumatic"
    assert "Actuator type not known" not in phone.get(f"{job}/isolate").text
    assert len(phone.get("/").select("a[href^='/job/0']")) <= 1


@pytest.mark.parametrize("typed", [{"drive": "steam", "complaints": ["power-lost"]}, {"drive": "electric"}])
def test_what_is_no_answer_changes_nothing(phone, job, typed):
    before = len(phone.texts)
    phone.post(f"{job}/about", **typed)
    assert phone.status == 422
    assert len(phone.texts) == before


@pytest.mark.parametrize(
    "complaints", [["power-lost"], ["engine-brake-weak"], ["power-lost", "overboost"], ["hot-derate"]]
)
def test_a_case_code_carries_the_complaint(complaints):
    table = CONTENT["case_code"]
    answer = {"finding": "supply-drop", "outcome": "ok", "state": "assembled", "weights": {}}
    said = [*complaint.carried(complaints, CONTENT, "assembled"), answer]
    case = codec.decode(codec.encode("not known", "bay", said, table), table)
    assert case["drive"] == "not known"
    read, left = complaint.read(case, CONTENT)
    assert sorted(read) == sorted(complaints)
    assert left == [answer]


def test_a_code_without_a_complaint_keeps_its_answers():
    """As older versions wrote them: a weak engine brake was an answer, and the complaint lost power."""
    table = CONTENT["case_code"]
    answer = {"finding": "engine-brake-weak", "outcome": "yes", "state": "assembled", "weights": {}}
    case = codec.decode(codec.encode("electric", "bay", [answer], table), table)
    assert complaint.read(case, CONTENT) == (["power-lost"], [answer])


def test_a_part_that_is_not_there_is_said_with_one_tap(phone, job):
    page = phone.get(f"{job}/isolate?check=wastegate-moves")
    assert "Does not have that" in [button.text for button in page.select("button[name=outcome]")]
    phone.post(f"{job}/isolate", finding="wastegate-moves", outcome="not-fitted")
    assert "Does not have that" in phone.get(f"{job}/isolate").text
