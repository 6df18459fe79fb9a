"""Stop rules: they stand above every page that plans, until somebody says how they were put right."""

import pytest

from tests.helpers.trade import CONTENT, accept_all


@pytest.fixture
def job(phone):
    path = phone.open_job(place="bay")
    accept_all(phone, path)
    return path


def raised(page):
    return [stop.text for stop in page.select("section.stop")]


@pytest.mark.parametrize("page", ["isolate", "repair", "summary", "safe"])
def test_a_stop_stands_above_everything_with_its_reason_and_its_end(phone, job, page):
    assert raised(phone.get(f"{job}/{page}")) == []
    phone.post(f"{job}/isolate", finding="oil-milky", outcome="yes")
    shown = phone.get(f"{job}/{page}")
    (text,) = raised(shown)
    assert "Do not start." in text
    assert "Coolant in the oil" in text
    assert "hydraulic lock" in text
    assert "Ends when:" in text
    main = shown.select_one("main").decode()
    assert main.index("section") > main.index("h1")
    plan = shown.select_one("#plan, #weighed")
    if plan:
        assert main.index("Ends when") < main.index(f'id="{plan["id"]}"')


def test_a_stop_ends_when_somebody_says_how_and_comes_back_with_the_same_answer(phone, job):
    phone.post(f"{job}/isolate", finding="oil-milky", outcome="yes")
    page = phone.post(f"{job}/stop", stop="coolant-in-oil")
    assert phone.status == 422
    assert "Write how it was put right" in page.select_one("[role=alert]").text
    phone.post(f"{job}/stop", stop="coolant-in-oil", how="Cooler changed, oil changed, turned over by hand")
    assert raised(phone.get(f"{job}/isolate")) == []
    assert phone.of_kind("finding")[-1]["outcome"] == "yes"  # what was found stays evidence
    told = phone.get(f"{job}/summary").text
    assert "Coolant in the oil: Cooler changed, oil changed, turned over by hand" in told
    phone.post(f"{job}/isolate", finding="oil-milky", outcome="no")
    phone.post(f"{job}/isolate", finding="oil-milky", outcome="yes")
    assert raised(phone.get(f"{job}/isolate"))


def test_the_other_answer_ends_it_too(phone, job):
    phone.post(f"{job}/isolate", finding="oil-milky", outcome="yes")
    phone.post(f"{job}/isolate", finding="oil-milky", outcome="no")
    assert raised(phone.get(f"{job}/isolate")) == []
    phone.post(f"{job}/isolate", finding="fuel-leak", outcome="yes")
    phone.post(f"{job}/isolate", finding="fuel-leak", outcome="not-checked")
    assert raised(phone.get(f"{job}/isolate")) == []


def test_what_is_off_is_said_in_one_line_that_opens(phone, job):
    phone.post(f"{job}/here", place="bay", heat="", tool=[], opened=["intake"])
    page = phone.get(f"{job}/isolate")
    assert raised(page) == []
    (line,) = page.select("details.stop")
    assert "Do not start." in line.summary.text
    assert "Intake duct off the compressor" in line.summary.text


def test_the_looks_that_can_stop_the_work_come_first(phone, job):
    raising = {key for rule in CONTENT["stops"] for key in rule["raised_by"]}
    looks = [item["key"] for item in CONTENT["findings"] if item["key"] in raising and not item["shown_by"]]
    links = [link["href"].partition("check=")[2] for link in phone.get(f"{job}/safe").select("a.step")]
    assert [key for key in links if key] == looks
    assert f"{len(looks)} reasons to stop are not ruled out" in phone.get(f"{job}/isolate").text
    for key in looks:
        phone.post(f"{job}/isolate", finding=key, outcome="no")
    assert "reasons to stop" not in phone.get(f"{job}/isolate").text


def test_no_such_rule_is_said(phone, job):
    phone.get(f"{job}/stop?stop=moon")
    assert phone.status == 422
    phone.post(f"{job}/stop", stop="moon", how="x")
    assert phone.status == 422


def test_a_check_that_a_stop_forbids_says_so_on_its_card(phone, job):
    phone.post(f"{job}/isolate", finding="shaft-play", outcome="yes")
    card = phone.get(f"{job}/isolate?check=boost-shortfall").select_one("#check").text
    assert "Do not start: A turbo wheel touches its housing" in card
    assert "On the road, warm" in card


def test_no_plan_is_shown_while_nothing_may_be_touched(phone, job):
    assert phone.get(f"{job}/isolate").select_one("#plan")
    assert phone.get(f"{job}/repair").select_one("#weighed")
    phone.post(f"{job}/isolate", finding="high-voltage", outcome="yes")
    assert phone.get(f"{job}/isolate").select_one("#plan") is None
    assert phone.get(f"{job}/repair").select_one("#weighed") is None
