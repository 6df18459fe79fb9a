"""Repair: a choice is recorded with what has to be done beside it."""

import pytest

from tests.helpers.trade import CONTENT


def test_every_choice_is_offered_with_a_label(phone, job):
    page = phone.get(f"{job}/repair")
    offered = {field["value"]: field.find_parent("label").text for field in page.select("[name=repair]")}
    assert offered == {
        item["key"]: item["name"] for item in CONTENT["repairs"] if "electric" in item["drives"]
    }
    assert {"clean", "repair-wiring", "calibrate", "replace-actuator", "upstream-egr"} <= set(offered)


def test_a_choice_is_kept_with_its_note_and_shows_what_goes_with_it(phone, job):
    page = phone.post(f"{job}/repair", repair="replace-actuator", note="invented batch 7")
    assert phone.of_kind("repair") == [{"repair": "replace-actuator", "note": "invented batch 7"}]
    card = page.select_one("section.card:not(#weighed)").text
    assert "invented batch 7" in card
    assert "Check that the vanes move freely first" in card
    assert "Calibrate afterwards" in card


def test_more_than_one_thing_can_be_done(phone, job):
    phone.post(f"{job}/repair", repair="upstream-egr", note="")
    page = phone.post(f"{job}/repair", repair="clean", note="")
    assert len(page.select("section.card:not(#weighed)")) == 2


def test_choosing_again_corrects_the_note_and_keeps_the_old_record(phone, job):
    phone.post(f"{job}/repair", repair="clean", note="old")
    first = phone.records[-1]["id"]
    page = phone.post(f"{job}/repair", repair="clean", note="new")
    assert phone.records[-1]["replaces"] == [first]
    assert len(phone.of_kind("repair")) == 2
    assert [card.select("p")[-1].text for card in page.select("section.card:not(#weighed)")] == ["new"]


@pytest.mark.parametrize("repair", ["", "pray"])
def test_nothing_or_something_unknown_is_refused_and_the_note_stays(phone, job, repair):
    page = phone.post(f"{job}/repair", repair=repair, note="dry soot")
    assert phone.status == 422
    assert page.select_one("[role=alert]")
    assert page.select_one("[name=note]").text == "dry soot"
    assert phone.of_kind("repair") == []
