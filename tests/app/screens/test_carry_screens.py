"""A job as a case code and back: on the same job, as a new job, on another phone, at the desk."""

import re
from urllib.parse import unquote

import pytest

from pwa.app.carry import text_message
from pwa.engine.case_code import codec
from tests.helpers.notebooks import Desk
from tests.helpers.trade import CONTENT

ANSWERS = {"supply-drop": "high", "hand-sweep": "smooth", "soot-seen": "yes"}


@pytest.fixture
def other():
    return Desk(CONTENT, host="desk", name="Desk")


@pytest.fixture
def job(phone):
    path = phone.open_job(place="roadside", drive="pneumatic")
    for finding, outcome in ANSWERS.items():
        phone.post(f"{path}/isolate", finding=finding, outcome=outcome)
    return path


def code_of(phone, job):
    return phone.get(f"{job}/send").select_one("[data-qr]")["data-qr"]


def findings(writer):
    return {data["finding"]: data["outcome"] for data in writer.of_kind("finding")}


def test_a_job_becomes_a_code_for_a_message_the_voice_and_a_picture(phone, job):
    page = phone.get(f"{job}/send")
    code = page.select_one("[data-qr]")["data-qr"]
    groups = [item.text for item in page.select(".spelled strong")]
    assert "".join(groups) == code
    assert len(code) <= 20
    message = unquote(page.select_one("a[href^='sms:']")["href"].partition("body=")[2])
    assert message == f"Truck 7, case code: {' '.join(groups)}"
    assert page.select_one(".spelled span").text == text_message.spoken(groups[0])
    assert "3 findings" in page.text
    assert codec.decode(message, CONTENT["case_code"])["place"] == "roadside"


def test_an_answer_taken_back_is_not_in_the_code(phone, job):
    phone.post(f"{job}/isolate", finding="soot-seen", outcome="not-checked")
    assert "2 findings" in phone.get(f"{job}/send").text


def test_a_message_turns_into_a_new_job_with_the_same_findings(phone, job, other):
    message = unquote(phone.get(f"{job}/send").select_one("a[href^='sms:']")["href"].partition("body=")[2])
    page = other.post("/case", code=message.lower())
    assert other.texts == []
    assert "pneumatic actuator · roadside" in page.text
    assert len(page.select(".timeline li")) == 3
    code = page.select_one("[name=code]")["value"]
    page = other.post("/case/new", code=code, unit="Truck 7")
    assert page.select_one("h1").text == "Truck 7"
    opened = other.of_kind("job-opened")[0]
    assert (opened["drive"], opened["place"]) == ("pneumatic", "roadside")
    assert findings(other) == ANSWERS
    assert {data["by"] for data in other.of_kind("finding")} == {"case code"}
    assert code_of(other, other.location[len("/desk") :]) == code
    isolated = [writer.get(f"{path}/isolate") for writer, path in ((phone, job), (other, other.location[5:]))]
    assert isolated[0].select_one(".standing svg") == isolated[1].select_one(".standing svg")


def test_onto_a_job_only_what_it_does_not_say_is_added_and_a_difference_is_settled_by_a_person(
    phone, job, other
):
    mine = other.open_job(drive="pneumatic")[len("/desk") :]
    other.post(f"{mine}/isolate", finding="supply-drop", outcome="high")
    other.post(f"{mine}/isolate", finding="hand-sweep", outcome="rough")
    before = len(other.of_kind("finding"))
    page = other.post("/case", code=code_of(phone, job))
    assert page.select_one(f"form[action='/desk{mine}/case'] button").text == "Truck 7: no power uphill"
    page = other.post(f"{mine}/case", code=code_of(phone, job))
    assert len(other.of_kind("finding")) == before + 2
    assert "1 to settle" in page.text
    other.post(f"{mine}/case", code=code_of(phone, job))
    assert len(other.of_kind("finding")) == before + 2
    page = other.get(f"{mine}/send")
    assert "2 findings" in page.text
    assert "until somebody chooses" in page.select_one(".unsure").text


def test_an_answer_taken_back_here_is_answered_again_by_the_code(phone, job, other):
    mine = other.open_job(drive="pneumatic")[len("/desk") :]
    other.post(f"{mine}/isolate", finding="soot-seen", outcome="no")
    other.post(f"{mine}/isolate", finding="soot-seen", outcome="not-checked")
    page = other.post(f"{mine}/case", code=code_of(phone, job))
    assert "to settle" not in page.text
    assert findings(other)["soot-seen"] == "yes"


def test_a_code_of_a_truck_with_another_drive_is_not_put_onto_the_job(phone, job, other):
    mine = other.open_job(drive="electric")[len("/desk") :]
    assert not other.post("/case", code=code_of(phone, job)).select(f"form[action='/desk{mine}/case']")
    other.post(f"{mine}/case", code=code_of(phone, job))
    assert other.status == 422
    assert other.of_kind("finding") == []


def test_a_wrong_character_is_shown_where_a_person_looks_for_it_and_kept_as_a_note(phone, job, other):
    code = code_of(phone, job)
    wrong = "Z" if code[5] != "Z" else "Y"
    page = other.post("/case", code=code[:5] + wrong + code[6:])
    says = f"Group 2, character 2: not {wrong}, but {code[5]}."
    assert says in page.select_one(".unsure").text
    other.post("/case/new", code=code[:5] + wrong + code[6:], unit="Truck 7")
    assert says in other.of_kind("note")[0]["text"]


@pytest.mark.parametrize("path", ["/case", "/case/new"])
def test_what_is_no_code_stays_in_the_form(phone, path):
    page = phone.post(path, code="K3F9 22AB 0000", unit="Truck 7")
    assert phone.status == 422
    assert page.select_one("textarea").text == "K3F9 22AB 0000"
    assert "Not read." in page.select_one("[role=alert]").text
    assert phone.texts == []


def test_a_new_job_needs_its_truck(phone, job, other):
    page = other.post("/case/new", code=code_of(phone, job), complaint="no power")
    assert other.status == 422
    assert "which truck" in page.select_one("[role=alert]").text
    assert page.select_one("[name=complaint]")["value"] == "no power"


def test_every_finding_there_is_fits_a_code_and_comes_back_at_once(phone, other):
    table = CONTENT["case_code"]
    findings_of_all = [
        {"finding": item["key"], "outcome": item["outcomes"][-1], "state": "assembled", "weights": {}}
        for item in table["findings"]
    ]
    code = codec.encode("electric", "turbo off", findings_of_all, table)
    phone.post("/case/new", code=code, unit="Truck 9")
    complaints = phone.of_kind("job-opened")[-1]["complaints"]
    assert len(phone.of_kind("finding")) + len(complaints) == len(table["findings"])
    assert len({record["id"] for record in phone.records}) == len(phone.records)
    assert phone.of_kind("job-opened")[0]["place"] == "bay"


def test_findings_of_a_newer_version_are_counted(phone):
    table = CONTENT["case_code"]
    newer = {**table, "findings": [*table["findings"], {"key": "new", "outcomes": ["no", "yes"]}]}
    said = [{"finding": "new", "outcome": "yes", "state": "assembled", "weights": {}}]
    page = phone.post("/case", code=codec.encode("electric", "bay", said, newer))
    assert "1 more that only a newer version" in page.text


def test_files_and_codes_are_found_from_the_list_of_jobs(phone):
    page = phone.get("/")
    assert {"/case", "/files"} <= {link["href"] for link in page.select("a")}
    assert phone.get("/files").select_one("input[type=file]")["data-take"] == "/files"


def test_letters_are_said_as_on_a_bad_line(twin):
    message = twin("pwa.app.carry.text_message")
    assert message.spoken("A1Z0") == "Alfa one Zulu zero"
    assert message.plain("Truck “7”\t½") == 'Truck "7"??'
    assert re.fullmatch(r"sms:\?body=[\w.~%-]*", message.link("Truck 7, case code: 3K"))
