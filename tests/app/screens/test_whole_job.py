"""One job through every screen with the real content, on CPython and on MicroPython at once."""

import json

import pytest

from demo import photos
from tests.helpers.notebooks import Desk
from tests.helpers.trade import CONTENT, accept_all


@pytest.fixture
def job(phone):
    return phone.open_job()


def add_photo(phone, job, moment, truth, joint="turbine-housing", sha=None):
    sha = sha or ("a" if moment == "before" else "b") * 64
    phone.post(
        f"{job}/photo", photo_sha256=sha, photo_size="1000", photo_type="image/jpeg", width="1200",
        height="900", joint=joint, moment=moment, caption="rim", then=f"{job}/joint/{joint}",
    )  # fmt: skip
    taps = {
        "rim": json.dumps([list(point) for point in truth.rim]),
        "fixed": json.dumps(list(truth.fixed)),
        "moving": json.dumps(list(truth.moving)),
        "centre": json.dumps(list(truth.centre)),
    }
    return sha, taps


def test_hands_on_steps_wait_for_their_cautions(phone, job):
    for step in ("measure", "joints", "repair", "fasteners", "prove"):
        assert "First make safe" in phone.get(f"{job}/{step}").h1.text
    page = phone.get(f"{job}/safe")
    shown = len(page.select("ul.timeline li"))
    accept_all(phone, job)
    assert "All cautions are accepted" in phone.get(f"{job}/safe").text
    assert shown == len(CONTENT["cautions"]) - 2  # neither roadside nor compressed air apply here
    assert phone.get(f"{job}/measure").h1.text == "Measure"


def test_accepting_twice_writes_once(phone, job):
    phone.post(f"{job}/safe", caution="wheels")
    phone.post(f"{job}/safe", caution="wheels")
    assert len(phone.of_kind("caution-accepted")) == 1


def test_distances_of_warning_devices_are_shown_at_the_roadside_only(phone, job):
    assert "Hong Kong" not in phone.get(f"{job}/safe").text
    roadside = phone.open_job(place="roadside")
    for _ in CONTENT["cautions"]:
        page = phone.get(f"{roadside}/safe")
        first = page.select_one("[name=caution]")
        if first is None:
            pytest.fail("the roadside caution never came first")
        if first["value"] == "roadside":
            assert "Hong Kong" in page.text
            return
        phone.post(f"{roadside}/safe", caution=first["value"])


def test_a_code_is_decoded_with_its_class_and_moves_the_evidence(phone, job):
    page = phone.post(f"{job}/codes", typed="641/7")
    assert "SPN 641 FMI 7" in page.text
    assert "mechanical" in page.text
    assert phone.of_kind("finding")[-1] == {
        "finding": "code-mechanical", "outcome": "yes", "by": "code", "state": "assembled", "opened": [],
    }  # fmt: skip


def test_an_unknown_code_is_kept_and_is_no_evidence(phone, job):
    page = phone.post(f"{job}/codes", typed="98765/3")
    assert "Unknown parameter 98765" in page.text
    assert phone.of_kind("finding") == []
    phone.post(f"{job}/codes", typed="P1234")
    assert phone.of_kind("code")[-1]["key"] == "P1234"


def test_a_code_elsewhere_says_nothing_of_the_actuators_wiring(phone, job):
    phone.post(f"{job}/codes", typed="27/3")
    assert [item["finding"] for item in phone.of_kind("finding")] == ["code-egr"]


def test_dm1_bytes_give_every_code_in_them(phone, job):
    phone.post(f"{job}/codes", typed="14 FF 81 02 07 02 66 00 12 01")
    assert [item["key"] for item in phone.of_kind("code")] == ["641/7", "102/18"]


def test_what_is_no_code_is_refused_with_what_was_typed(phone, job):
    page = phone.post(f"{job}/codes", typed="hello")
    assert phone.status == 422
    assert page.select_one("[name=typed]")["value"] == "hello"


def test_no_other_codes_answers_the_rest(phone, job):
    phone.post(f"{job}/codes", typed="641/7")
    phone.post(f"{job}/codes/done")
    outcomes = {item["finding"]: item["outcome"] for item in phone.of_kind("finding")}
    assert outcomes["code-mechanical"] == "yes"
    assert outcomes["code-circuit"] == "no"


def test_an_answer_moves_the_standing_says_why_and_can_be_taken_back(phone, job):
    before = phone.get(f"{job}/isolate").select_one(".standing svg")["aria-label"]
    page = phone.post(f"{job}/isolate", finding="moves-with-harness", outcome="yes")
    assert "Wiggle test" in page.select_one(".verdict.good").text or "Wiggle" in page.text
    after = phone.get(f"{job}/isolate").select_one(".standing svg")["aria-label"]
    assert before != after
    phone.post(f"{job}/isolate", finding="moves-with-harness", outcome="not-checked")
    assert phone.get(f"{job}/isolate").select_one(".standing svg")["aria-label"] == before
    assert len(phone.of_kind("finding")) == 2  # nothing is deleted


def test_a_skipped_check_is_not_offered_again(phone, job):
    first = phone.get(f"{job}/isolate").select_one("#check [name=finding]")["value"]
    page = phone.post(f"{job}/isolate/skip", finding=first, reason="here")
    assert page.select_one("#check [name=finding]")["value"] != first


def test_an_unknown_answer_is_refused(phone, job):
    phone.post(f"{job}/isolate", finding="moves-with-harness", outcome="perhaps")
    assert phone.status == 422


def test_a_measured_drop_becomes_a_verdict_and_a_finding(phone, job):
    accept_all(phone, job)
    page = phone.post(f"{job}/measure/supply-drop", battery="25,6", pin="24.1 V")
    assert "1.50 V" in page.select_one(".verdict").text
    assert phone.of_kind("reading")[-1]["typed"]["battery"] == "25,6"
    assert phone.of_kind("finding")[-1]["outcome"] == "high"
    phone.post(f"{job}/measure/supply-drop", battery="25.6", pin="25.4")
    drops = [item for item in phone.records if item["data"].get("finding") == "supply-drop"]
    assert drops[-1]["replaces"] == [drops[-2]["id"]]
    assert phone.of_kind("finding")[-1]["outcome"] == "ok"


def test_a_preview_judges_while_typing_and_writes_nothing(phone, job):
    accept_all(phone, job)
    before = len(phone.texts)
    page = phone.post(f"{job}/measure/ground-drop/preview", drop="0.9")
    assert "0.90 V" in page.text
    assert len(phone.texts) == before


def test_an_impossible_reading_is_refused_and_stays_on_screen(phone, job):
    accept_all(phone, job)
    page = phone.post(f"{job}/measure/reference-voltage", reference="13")
    assert phone.status == 422
    assert page.select_one("[name=reference]")["value"] == "13"


def test_a_limit_of_the_shop_needs_its_source(phone, job):
    accept_all(phone, job)
    page = phone.post(f"{job}/measure/ground-drop", drop="0.15", limit_drop="0.1")
    assert "where the new value comes from" in page.text
    phone.post(f"{job}/measure/ground-drop", drop="0.15", limit_drop="0.1", limit_source="manual, page 3")
    assert phone.of_kind("reading")[-1]["limit_source"] == "manual, page 3"
    assert phone.of_kind("finding")[-1]["outcome"] == "high"


@pytest.mark.parametrize(
    ("job_name", "verdict"),
    [("electrical/turbine-housing", "good"), ("mechanical/compressor-housing", "bad")],
)
def test_marks_on_two_photos_give_the_known_rotation_and_a_verdict(phone, job, job_name, verdict):
    accept_all(phone, job)
    joint = job_name.split("/")[1]
    phone.post(f"{job}/joint/{joint}/tolerance", degrees="2", source="shop rule", bolts="")
    angles = {}
    for moment in ("before", "after"):
        truth = photos.truth(photos.scenes()[f"{job_name}/{moment}"])
        sha, taps = add_photo(phone, job, moment, truth, joint)
        assert "±" in phone.post(f"{job}/marks/{sha}/preview", **taps).text
        page = phone.post(f"{job}/marks/{sha}", **taps)
        angles[moment] = phone.of_kind("marks")[-1]["reading"]["angle"] - truth.angle
    assert abs(angles["before"]) < 0.2
    assert abs(angles["after"]) < 0.2
    assert page.select_one(f".verdict.{verdict}")
    still = phone.get(f"{job}/summary").text
    assert ("Clocking: " in still) == (verdict == "bad")


def test_too_few_taps_say_what_to_do_and_are_kept_on_the_page(phone, job):
    accept_all(phone, job)
    sha, _ = add_photo(
        phone, job, "before", photos.truth(photos.scenes()["electrical/turbine-housing/before"])
    )
    page = phone.post(f"{job}/marks/{sha}", rim="[[1,2],[3,4]]", fixed="", moving="", centre="")
    assert phone.status == 422
    assert page.select_one("[name=rim]")["value"] == "[[1.0, 2.0], [3.0, 4.0]]"
    phone.post(f"{job}/marks/{sha}", rim="nonsense", fixed="{}", moving="[1]", centre="null")
    assert phone.status == 422


def test_a_torque_sheet_corrects_for_the_extension_and_ticks_every_bolt(phone, job):
    accept_all(phone, job)
    sheet = {"count": "4", "torque": "50", "unit": "N·m", "source": "manual, page 12", "kind": "cross"}
    page = phone.post(
        f"{job}/fasteners/turbine-housing-bolts", **sheet, wrench="400", extension="50", angle="0"
    )
    assert "44.4 N·m" in page.text  # 50 · 400 / 450
    assert "36.9 lb·ft" in page.text
    for turn in range(4):
        bolt = page.select_one("[name=bolt]")["value"]
        assert bolt == str([1, 3, 2, 4][turn])
        page = phone.post(f"{job}/fasteners/turbine-housing-bolts/tick", bolt=bolt, actual="50")
    assert "All 4 torqued" in page.text


@pytest.mark.parametrize(
    ("field", "value", "says"),
    [("source", "", "where the torque comes from"), ("count", "0", "whole number"),
     ("torque", "much", "number"), ("unit", "", "unit"), ("kind", "", "order")],
)  # fmt: skip
def test_a_torque_without_what_it_needs_is_refused(phone, job, field, value, says):
    accept_all(phone, job)
    sheet = {"count": "4", "torque": "50", "unit": "N·m", "source": "manual", "kind": "cross", field: value}
    assert says in phone.post(f"{job}/fasteners/v-band-clamp", **sheet).select_one("[role=alert]").text
    assert phone.of_kind("fastener") == []


def test_the_job_closes_as_done_only_when_nothing_is_missing(phone, job):
    accept_all(phone, job)
    assert "still missing" in phone.post(f"{job}/summary", outcome="done").text
    phone.post(f"{job}/repair", repair="clean", note="soot, dry")
    phone.post(f"{job}/cause", cause="vanes-sooted", decision="named", reason="soot, dry")
    phone.post(f"{job}/cause", cause="rest", decision="left open", reason="the owner was told of the idling")
    for proof in CONTENT["proofs"]:
        phone.post(f"{job}/prove", proof=proof["key"], result="passed", value="3", note="")
    phone.post(f"{job}/summary", outcome="done", note="")
    (closed,) = phone.of_kind("job-closed")
    assert (closed["outcome"], closed["note"]) == ("done", "")
    assert "closed" in phone.get("/").select_one("a.card").text


def test_a_failed_proof_keeps_the_job_open(phone, job):
    accept_all(phone, job)
    phone.post(f"{job}/repair", repair="clean", note="")
    phone.post(f"{job}/cause", cause="vanes-sooted", decision="named", reason="soot, dry")
    phone.post(f"{job}/cause", cause="rest", decision="left open", reason="sold tomorrow")
    for proof in CONTENT["proofs"]:
        result = "failed" if proof["key"] == "road-test" else "passed"
        phone.post(f"{job}/prove", proof=proof["key"], result=result, value="3", note="")
    page = phone.post(f"{job}/summary", outcome="done")
    assert phone.status == 422
    assert "Road test" in page.text


def test_a_job_can_be_handed_over_unfinished_with_a_word(phone, job):
    assert "Write what the next person" in phone.post(f"{job}/summary", outcome="handed over").text
    phone.post(f"{job}/summary", outcome="handed over", note="waits for parts")
    assert phone.of_kind("job-closed")[-1]["outcome"] == "handed over"


def test_leaving_causes_open_needs_a_reason(phone, job):
    phone.post(f"{job}/cause", cause="rest", decision="left open", reason="")
    assert phone.status == 422
    phone.post(f"{job}/cause", cause="rest", decision="left open", reason="engine comes out next week")
    assert "Not confirmed or not repaired yet" in phone.get(job).text
    phone.post(f"{job}/cause", cause="vanes-sooted", decision="named", reason="soot, dry")
    phone.post(f"{job}/repair", repair="clean", note="")
    assert "Decided" in phone.get(job).text


def test_two_phones_that_found_different_things_are_shown_and_not_counted(phone, job):
    other = Desk(CONTENT, name="Second phone")
    other.texts = list(phone.texts)
    phone.post(f"{job}/isolate", finding="soot-seen", outcome="yes")
    other.post(f"{job}/isolate", finding="soot-seen", outcome="no")
    both = list(dict.fromkeys(phone.texts + other.texts))
    phone.texts = list(both)
    page = phone.get(f"{job}/isolate")
    assert "not counted: Soot on the vanes" in page.text
    assert "Soot on the vanes" in phone.get(f"{job}/settle").text


def test_the_desk_shows_the_same_job_from_the_same_records(phone, job):
    phone.post(f"{job}/codes", typed="641/7")
    desk = Desk(CONTENT, host="desk", name="Desk")
    desk.texts = list(phone.texts)
    page = desk.get(f"{job}/isolate")
    ours = phone.get(f"{job}/isolate").select_one(".standing svg")["aria-label"]
    assert page.select_one(".standing svg")["aria-label"] == ours
    assert page.select_one("p.back a")["href"].startswith("/desk/job/")
