"""Make safe: which cautions, in which order, accepted when, and the distances of warning devices."""

import pytest

from tests.helpers.trade import CONTENT, accept_all


def shown(page) -> str:
    """The key of the caution on screen, "" when none waits."""
    field = page.select_one("form [name=caution]")
    return field["value"] if field else ""


def listed(page) -> list[str]:
    return [item.p.text for item in page.select("ul.timeline li")]


def title(key: str) -> str:
    return next(item["title"] for item in CONTENT["cautions"] if item["key"] == key)


@pytest.mark.parametrize(
    ("place", "drive", "there", "not_there"),
    [
        ("roadside", "electric", ["roadside", "battery", "lifting"], ["compressed-air"]),
        ("bay", "pneumatic", ["compressed-air", "battery"], ["roadside"]),
        ("bay", "hydraulic", ["hot-oil", "lifting"], ["roadside", "compressed-air"]),
    ],
)
def test_only_the_cautions_of_this_place_and_drive_are_asked(phone, place, drive, there, not_there):
    titles = listed(phone.get(f"{phone.open_job(place=place, drive=drive)}/safe"))
    assert {title(key) for key in there} <= set(titles)
    assert not {title(key) for key in not_there} & set(titles)


def test_traffic_comes_first_then_the_wheels_then_what_kills_or_burns(phone):
    job = phone.open_job(place="roadside")
    asked = []
    while True:
        key = shown(phone.get(f"{job}/safe"))
        if not key:
            break
        asked.append(key)
        phone.post(f"{job}/safe", caution=key)
    assert asked.index("high-voltage") < asked.index("hot-parts")
    assert asked[:3] == ["roadside", "wheels", "high-voltage"]
    assert len(asked) == len(set(asked)) == len(listed(phone.get(f"{job}/safe")))


def test_every_caution_names_its_hazard_and_can_be_pressed(phone):
    job = phone.open_job(place="roadside", drive="pneumatic")
    for caution in CONTENT["cautions"]:
        page = phone.get(f"{job}/safe")
        assert shown(page) == caution["key"]
        assert page.select_one(".caution h2").text == caution["title"]
        assert page.select_one(".caution strong").text == caution["hazard"]
        assert len(page.select("h1")) == 1
        phone.post(f"{job}/safe", caution=caution["key"])


def test_an_accepted_caution_shows_its_time(phone):
    job = phone.open_job()
    page = phone.post(f"{job}/safe", caution="wheels")
    row = next(item for item in page.select("ul.timeline li") if item.p.text == title("wheels"))
    assert "2025-11-25" in row.text  # the day of the clock of these tests
    assert "not yet" not in row.text


def test_a_caution_nobody_knows_is_refused(phone):
    job = phone.open_job()
    phone.post(f"{job}/safe", caution="dragons")
    assert phone.status == 422
    assert phone.of_kind("caution-accepted") == []


def test_the_chosen_jurisdiction_shows_its_rule_alone_with_source_and_day(phone):
    job = phone.open_job(place="roadside")
    page = phone.get(f"{job}/safe?where=us-divided")
    rule = page.select_one(".caution #rule").text
    assert "60 m (200 ft)" in rule
    assert "49 CFR 392.22" in rule
    assert "2026-11-25" in rule
    assert "Hong Kong" not in page.select_one(".caution").text
    assert page.select_one("a[href$='/safe']").text == "Another place"


@pytest.mark.parametrize("where", ["gb-motorway", "hk-expressway"])
def test_where_placing_is_forbidden_it_says_place_none(phone, where):
    """UK Highway Code rule 277; Hong Kong Road Users' Code, chapter on emergencies."""
    job = phone.open_job(place="roadside")
    rule = phone.get(f"{job}/safe?where={where}").select_one(".caution #rule.bad")
    assert rule.strong.text.startswith("Place none.")


def test_the_record_keeps_the_words_of_the_rule_that_was_shown(phone):
    job = phone.open_job(place="roadside")
    page = phone.get(f"{job}/safe?where=gb")
    form = {field["name"]: field["value"] for field in page.select(".caution form input")}
    phone.post(f"{job}/safe", **form)
    kept = phone.of_kind("caution-accepted")[0]
    assert kept["place"] == "Great Britain, not a motorway"
    assert "45 m" in kept["rule"]
    assert "Highway Code" in kept["source"]
    assert "45 m" in phone.get(f"{job}/timeline").text


def test_a_place_that_is_not_listed_is_no_obstacle(phone):
    job = phone.open_job(place="roadside")
    assert shown(phone.get(f"{job}/safe?where=atlantis")) == "roadside"
    phone.post(f"{job}/safe", caution="roadside", where="atlantis")
    assert phone.of_kind("caution-accepted") == [{"caution": "roadside"}]


@pytest.mark.parametrize("step", ["measure", "joints", "repair", "fasteners", "prove"])
def test_a_hands_on_step_waits_and_opens_once_its_own_cautions_are_accepted(phone, step):
    job = phone.open_job(place="roadside", drive="pneumatic")
    for caution in CONTENT["cautions"]:
        page = phone.get(f"{job}/{step}")
        if page.h1.text != "First make safe":
            break
        assert page.select_one("a.next")["href"] == f"{job}/safe"
        if step in caution["steps"]:
            assert caution["title"] in page.text
        phone.post(f"{job}/safe", caution=caution["key"])
    page = phone.get(f"{job}/{step}")
    assert page.h1.text != "First make safe"
    accepted = {item["caution"] for item in phone.of_kind("caution-accepted")}
    assert {item["key"] for item in CONTENT["cautions"] if step in item["steps"]} <= accepted


@pytest.mark.parametrize("step", ["codes", "timeline", "cause", "summary"])
def test_a_step_without_hands_never_waits(phone, step):
    page = phone.get(f"{phone.open_job(place='roadside')}/{step}")
    assert phone.status == 200
    assert "First make safe" not in page.text


def test_all_accepted_says_so_and_defers(phone):
    job = phone.open_job()
    accept_all(phone, job)
    text = phone.get(f"{job}/safe").text
    assert "All cautions are accepted" in text
    assert "Local codes and the maker" in text
