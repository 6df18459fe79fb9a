"""Where the truck stands, all checks, questions for somebody far away, and the shop's prices."""

import re
from urllib.parse import unquote

import pytest

from tests.helpers.notebooks import Desk
from tests.helpers.trade import CONTENT, accept_all


@pytest.fixture
def job(phone):
    return phone.open_job(place="bay")


TOOLS = sorted({tool for finding in CONTENT["findings"] for tool in finding["tools"]})


def stand(phone, job, **changed):
    fields = {"place": "bay", "heat": "", "tool": TOOLS, "opened": []}
    return phone.post(f"{job}/here", **{**fields, **changed})


def test_every_tool_is_at_hand_until_somebody_says_otherwise(phone, job):
    page = phone.get(f"{job}/here")
    ticked = [box["value"] for box in page.select("[name=tool]") if box.has_attr("checked")]
    assert ticked == TOOLS
    page = stand(phone, job, tool=[tool for tool in TOOLS if tool != "borescope"], heat="cold")
    assert "engine cold" in page.select_one("p.facts").text
    assert "without borescope" in page.select_one("p.facts").text
    again = phone.get(f"{job}/here").select_one("[name=tool][value=borescope]")
    assert not again.has_attr("checked")


def test_saying_it_again_replaces_what_was_said(phone, job):
    stand(phone, job, heat="cold")
    stand(phone, job, heat="hot")
    assert phone.records[-1]["replaces"] == [phone.records[-2]["id"]]
    assert "engine warm" in phone.get(f"{job}/isolate").select_one("p.facts").text


def test_the_timeline_says_where_the_truck_stood_and_how_a_finding_was_seen(phone, job):
    stand(phone, job, opened=["rod", "turbine-housing"])
    phone.post(f"{job}/isolate", finding="hand-sweep", outcome="smooth")
    told = phone.get(f"{job}/timeline").text
    off = [
        "Hood open or cab tilted",
        "Actuator rod off the actuator lever",
        "Exhaust off the turbine outlet",
        "Turbine housing off",
    ]
    assert f"In a bay or yard · {' · '.join(off)} · all tools at hand" in told
    assert f"Smooth to both stops, seen with: {', '.join(off)}" in told


def test_what_is_not_on_the_form_is_not_kept(phone, job):
    stand(phone, job, place="moon", heat="tepid", state="melted", opened=["intake", "Pandora"])
    data = phone.of_kind("here")[-1]
    assert (data["place"], data["heat"], data["state"]) == ("bay", "", "assembled")
    assert data["opened"] == ["hood", "intake"]  # the duct cannot be off with the hood shut


def test_an_answer_says_in_which_state_of_assembly_it_was_seen(phone, job):
    stand(phone, job, opened=["turbine-housing"])
    page = phone.post(f"{job}/isolate", finding="hand-sweep", outcome="smooth")
    assert phone.of_kind("finding")[-1]["opened"] == ["hood", "rod", "outlet", "turbine-housing"]
    assert phone.of_kind("finding")[-1]["state"] == "turbine housing off"  # as older versions read it
    assert "Proves nothing, for it was seen with: Turbine housing off." in page.text
    before = page.select_one(".standing svg")["aria-label"]
    stand(phone, job)
    page = phone.post(f"{job}/isolate", finding="hand-sweep", outcome="smooth")
    assert len(phone.of_kind("finding")) == 2  # the same answer in another state is another record
    assert page.select_one(".standing svg")["aria-label"] != before


def test_moving_into_the_bay_asks_for_the_cautions_of_the_bay(phone):
    job = phone.open_job(place="roadside")
    accept_all(phone, job)
    stand(phone, job, place="bay")
    bay = {item["key"] for item in CONTENT["cautions"] if "bay" in item["places"]}
    road = {item["key"] for item in CONTENT["cautions"] if "roadside" in item["places"]}
    waiting = phone.get(f"{job}/safe").select("input[name=caution]")
    assert bool(waiting) == bool(bay - road)


def test_what_believers_bring_can_be_noted_and_is_said_to_prove_nothing(phone, job):
    page = phone.get(f"{job}/checks")
    link = page.select_one("a[href$='check=oil-change-better']")
    assert link
    before = phone.get(f"{job}/isolate").select_one(".standing svg")["aria-label"]
    page = phone.post(f"{job}/isolate", finding="oil-change-better", outcome="yes")
    assert page.select_one(".standing svg")["aria-label"] == before
    assert "Proves nothing" in page.text


@pytest.mark.parametrize("drive", ["electric", "pneumatic", "hydraulic"])
def test_all_checks_lists_every_check_of_this_drive_once(phone, drive):
    job = phone.open_job(drive=drive)
    links = [link["href"] for link in phone.get(f"{job}/checks").select("a.step")]
    assert links.pop(links.index(f"{job}/codes"))  # one reading answers all codes
    expected = [item["key"] for item in CONTENT["findings"] if drive in item["drives"]]
    expected.remove("power-lost")  # the job's own complaint
    assert sorted(link.partition("check=")[2] for link in links) == sorted(expected)


def test_three_questions_fit_one_text_message(phone, job):
    phone.post(f"{job}/codes", typed="641/7")
    page = phone.get(f"{job}/ask")
    text = page.select_one("pre.message").text
    assert len(text) <= 160
    assert text.isascii()
    assert len(re.findall(r"^\d\)", text, re.MULTILINE)) == len(page.select("ol.steps li")) == 3
    assert unquote(page.select_one("a[href^='sms:']")["href"]) == "sms:?body=" + text


def test_a_long_name_is_cut_before_a_question_is(phone):
    job = phone.open_job(unit="Übergroßer “Sattelzug” " * 8)
    text = phone.get(f"{job}/ask").select_one("pre.message").text
    assert len(text) <= 160
    assert text.isascii()
    assert "1) " in text


def test_the_chain_leads_from_the_suspects_down_to_the_complaint(phone, job):
    phone.post(f"{job}/isolate", finding="soot-seen", outcome="yes")
    phone.post(f"{job}/isolate", finding="idle-share", outcome="yes")
    page = phone.get(f"{job}/isolate")
    picture = page.select_one("svg.chain")
    names = [text.text for text in picture.select("text.side, text.via")]
    assert names[-1] == "Power lost"
    order = ["Long idling and short trips", "Vanes loaded with soot", "Vanes stick"]
    assert [name for name in names if name in order] == order
    assert "Vanes loaded with soot leads to Vanes stick" in picture["aria-label"]
    heights = [[float(n) for n in re.findall(r"[\d.]+", arc["d"])] for arc in picture.select("path.arc")]
    assert heights
    assert all(points[1] < points[-1] for points in heights)


def prices(phone, **typed):
    fields = {"currency": "EUR", "rate": "", "come_back": "", "source": ""}
    return phone.post("/prices", **{**fields, **typed})


def test_the_shops_prices_count_in_every_job_and_are_money(phone, job):
    other = phone.open_job()
    prices(phone, rate="120", parts_clean="90,50", minutes_clean="400", source="list of 2026-01")
    for path in (job, other):
        accept_all(phone, path)
        for finding, outcome in (("soot-seen", "yes"), ("fuel-pressure", "low"), ("code-fuel", "yes")):
            phone.post(f"{path}/isolate", finding=finding, outcome=outcome)
        assert "EUR" in phone.get(f"{path}/isolate").select_one("#plan").text
        row = next(
            item
            for item in phone.get(f"{path}/repair").select("#weighed details li")
            if "clean the vanes" in item.text
        )
        assert "951 EUR" in row.text  # 400 min and 30 of the proof at 120 an hour, and 90.50
    assert phone.get("/prices").select_one("[name=rate]")["value"] == "120"


def test_new_prices_replace_the_old_and_both_records_stay(phone):
    prices(phone, rate="100")
    prices(phone, rate="110")
    assert [data["rate"] for data in phone.of_kind("prices")] == [100, 110]
    assert phone.records[-1]["replaces"] == [phone.records[-2]["id"]]
    assert phone.get("/prices").select_one("[name=rate]")["value"] == "110"


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ({"rate": "cheap"}, "Labour rate"),
        ({"rate": "-5"}, "is not an amount"),
        ({"rate": "95 EUR"}, "without a unit"),
        ({"rate": "1,250"}, "can mean"),
        ({"parts_clean": "90"}, "need the labour rate"),
        ({"rate": "95", "minutes_clean": "x"}, "Open, clean the vanes"),
    ],
)
def test_a_bad_price_is_said_and_nothing_typed_is_lost(phone, typed, says):
    page = prices(phone, source="list", **typed)
    assert phone.status == 422
    assert says in page.select_one("[role=alert]").text
    assert page.select_one("[name=source]")["value"] == "list"
    assert phone.of_kind("prices") == []


def test_what_the_shop_does_not_make_is_offered_in_no_job(phone, job):
    accept_all(phone, job)
    phone.post(f"{job}/isolate", finding="soot-seen", outcome="yes")
    assert phone.get(f"{job}/repair").select("[name=repair][value=clean]")
    assert "clean the vanes" in phone.get(f"{job}/repair").select_one("#weighed").text
    prices(phone, off_clean="off")
    assert phone.of_kind("prices")[-1]["off"] == ["clean"]
    page = phone.get(f"{job}/repair")
    assert not page.select("[name=repair][value=clean]")
    assert "clean the vanes" not in page.select_one("#weighed").text
    assert phone.get("/prices").select("[name=off_clean][value=off][checked]")
    prices(phone, off_clean="made")
    assert phone.get(f"{job}/repair").select("[name=repair][value=clean]")


def test_while_little_is_known_no_repair_is_advised_but_what_to_check(phone, job):
    plan = phone.get(f"{job}/isolate").select_one("#plan").text
    assert "Not enough is known yet" in plan
    assert "Check first: " in plan


def test_prices_are_no_job_in_the_list(phone):
    prices(phone, rate="100")
    assert not phone.get("/").select("a.card")


def test_a_reading_near_its_limit_says_that_it_counts_partly(phone, job):
    accept_all(phone, job)
    phone.post(f"{job}/measure/supply-drop", battery="12.60", pin="12.05")
    finding = phone.of_kind("finding")[-1]
    assert finding["outcome"] == "high"
    assert 0.5 < finding["weights"]["high"] < 1
    page = phone.get(f"{job}/isolate")
    assert "Near its limit, so it counts" in page.text
    phone.post(f"{job}/measure/supply-drop", battery="12.60", pin="10.0")
    assert "weights" not in phone.of_kind("finding")[-1]


def test_the_desk_computes_the_same_repairs_from_the_records(phone, job):
    phone.post(f"{job}/isolate", finding="soot-seen", outcome="yes")
    prices(phone, rate="120")
    accept_all(phone, job)
    desk = Desk(CONTENT, host="desk", name="Desk")
    desk.texts = list(phone.texts)
    ours, theirs = (host.get(f"{job}/repair").select_one("#weighed").text for host in (phone, desk))
    assert ours == theirs


def test_an_unsure_spn_of_an_old_layout_is_shown_and_is_no_evidence(phone, job):
    phone.post(f"{job}/codes", typed="44 FF 66 00 04 85 FF FF")
    assert len(phone.of_kind("code")) == 1
    assert len(phone.of_kind("code")[0]["candidates"]) > 1
    assert phone.of_kind("finding") == []


def test_an_answer_behind_an_opening_says_that_it_is_open_now(phone, job):
    phone.post(f"{job}/isolate", finding="hand-sweep", outcome="smooth")
    assert phone.of_kind("here")[-1]["opened"] == ["hood", "rod"]
    assert "Actuator rod off the actuator lever" in phone.get(f"{job}/isolate").select_one("p.facts").text
    page = phone.post(f"{job}/isolate", finding="position-feedback", outcome="follows")
    (name,) = [item["name"] for item in CONTENT["findings"] if item["key"] == "position-feedback"]
    row = next(item for item in page.select("ul.timeline li") if name in item.text)
    assert "Proves nothing, for it was seen with: Actuator rod off the actuator lever." in row.text
    before = len(phone.of_kind("here"))
    stand(phone, job)
    phone.post(f"{job}/isolate", finding="hand-sweep", outcome="rough")
    assert phone.of_kind("finding")[-1]["opened"] == ["hood", "rod"]
    assert len(phone.of_kind("here")) == before + 1  # to correct an answer takes nothing off again


def test_a_page_of_an_older_version_still_says_its_state_of_assembly(phone, job):
    stand(phone, job, state="turbine housing off")
    assert "turbine-housing" in phone.of_kind("here")[-1]["opened"]
