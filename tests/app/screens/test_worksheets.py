"""Every measure as a form: in the job at its step, and alone in the handbook, where nothing is saved."""

import copy
from typing import Any

import pytest

from tests.helpers.notebooks import Desk
from tests.helpers.trade import CONTENT, accept_all

MEASURES = {item["key"]: item for item in CONTENT["measures"]}
DRIVES = ("electric", "pneumatic", "hydraulic")
HOT = {"surface": "dull", "contact": "hold", "ambient": "20"}


def table(*rows: tuple[str, str]) -> dict[str, str]:
    """The fields of cooling readings: time and temperature."""
    cells = {}
    for at, (time, temperature) in enumerate(rows):
        cells |= {f"readings.{at}.time": time, f"readings.{at}.temperature": temperature}
    return cells


def column(page, name: str) -> list[str]:
    return [cell["value"] for cell in page.select(f".rows input[name$='.{name}']")]


@pytest.mark.parametrize("key", MEASURES)
def test_every_measure_stands_alone_with_a_label_and_a_unit_for_each_field(phone, key):
    page = phone.get(f"/worksheets/{key}")
    assert phone.status == 200
    assert page.h1.text == MEASURES[key]["title"]
    ids = [item["id"] for item in page.select("[id]")]
    assert len(set(ids)) == len(ids)
    names = [item["name"] for item in page.select("input[type=text], select")]
    assert len(set(names)) == len(names)  # what is typed is kept by these until it is sent
    assert {item["data-unit"] for item in page.select("[data-unit]")} >= {
        item["name"] for item in page.select("select")
    }
    for field in page.select("input[type=text], select"):
        assert field.get("aria-label") or page.select_one(f"label[for='{field['id']}']"), field
    for item in MEASURES[key]["inputs"]:
        for number in item["columns"] or ([] if item["choices"] else [item]):
            name = f"{item['key']}.{number['key']}" if item["columns"] else item["key"]
            chosen = page.select_one(f"select[name='unit.{name}'] option[selected]")
            assert chosen is None or chosen.text == number["unit"]
            assert (
                chosen
                or number["unit"] == "1"
                or number["unit"] in [unit.text for unit in page.select(".unit")]
            )


@pytest.mark.parametrize("key", MEASURES)
def test_an_empty_form_says_what_to_type_or_gives_a_verdict_and_saves_nothing(phone, key):
    page = phone.post(f"/worksheets/{key}")
    assert phone.status == 422
    assert page.select_one("[role=alert]").text.strip()
    assert phone.texts == []


@pytest.mark.parametrize("drive", DRIVES)
def test_every_measure_is_offered_in_the_job_at_its_step_and_opens(phone, drive):
    job = phone.open_job(drive=drive)
    accept_all(phone, job)
    for key, measure in MEASURES.items():
        step = measure["step"] if measure["step"] in ("safe", "fasteners", "prove") else "measure"
        offered = phone.get(f"{job}/{step}").select(f"a[href='{job}/measure/{key}']")
        assert len(offered) == (drive in measure["drives"]), key
        page = phone.get(f"{job}/measure/{key}")
        assert page.select_one(".back a")["href"].partition("?")[0] == f"{job}/{step}"
        assert page.select_one(f"form[action='{job}/measure/{key}']")


def test_measurements_are_listed_by_kind_with_how_many_are_done(phone, job):
    phone.post(f"{job}/measure/ground-drop", drop="0.05")
    group = phone.get(f"{job}/measure").select_one("#electrical")
    electrical = [item for item in CONTENT["measures"] if item["kind"] == "electrical"]
    assert group.summary.text.split() == ["Electrical", "1", "of", str(len(electrical))]
    assert group.select_one(".step.done").strong.text == MEASURES["ground-drop"]["title"]


def test_worksheets_are_listed_by_kind_and_linked_from_the_start(phone):
    assert phone.get("/").select_one("a[href='/worksheets']")
    listed = {link["href"] for link in phone.get("/worksheets").select("details a")}
    assert listed == {f"/worksheets/{key}" for key in MEASURES} | {"/worksheets/order"}


def test_the_desk_has_the_worksheets_too():
    desk = Desk(CONTENT, host="desk")
    assert desk.get("/worksheets").select_one("a[href='/desk/worksheets/supply-drop']")
    page = desk.post("/worksheets/supply-drop", battery="25.6", pin="24.1")
    assert "1.50 V" in page.select_one(".verdict").text
    assert page.select_one("form")["action"] == "/desk/worksheets/supply-drop"


def test_a_worksheet_gives_the_verdict_with_its_numbers_and_doubts(phone):
    page = phone.post("/worksheets/station-pressure", altitude="5280", **{"unit.altitude": "ft"})
    verdict = page.select_one(".verdict.plain")
    assert "83.4 kPa" in verdict.text  # ISO 2533: 83.4 kPa at one mile
    assert "Mind:" in verdict.text
    assert verdict.select("dt")
    assert page.select_one("[name=altitude]")["value"] == "5280"
    assert page.select_one("[name='unit.altitude'] [selected]").text == "ft"


def test_a_unit_typed_behind_the_number_counts_and_is_shown_as_chosen(phone):
    page = phone.post("/worksheets/station-pressure", altitude="5280 ft", **{"unit.altitude": "m"})
    assert "83.4 kPa" in page.select_one(".verdict").text
    assert page.select_one("[name=altitude]")["value"] == "5280"
    assert page.select_one("[name='unit.altitude'] [selected]").text == "ft"


def test_an_unknown_unit_chosen_is_read_as_the_forms_own(phone):
    page = phone.post("/worksheets/station-pressure", altitude="1609.344", **{"unit.altitude": "psi"})
    assert "83.4 kPa" in page.select_one(".verdict").text


def test_a_number_that_cannot_be_read_stays_with_its_reason_beside_it(phone):
    page = phone.post("/worksheets/supply-drop", battery="12,6,1", pin="12")
    assert phone.status == 422
    field = page.select_one("[name=battery]")
    assert field["value"] == "12,6,1"
    assert "no number" in page.select_one(f"#{field['aria-describedby']}").text
    assert page.select_one("[name=pin]")["value"] == "12"
    assert not page.select_one("[name=pin]").get("aria-invalid")


def test_rows_are_read_and_stay(phone):
    rows = table(("0", "180"), ("10", "127,3"), ("20", "92"), ("", ""))
    page = phone.post("/worksheets/touch-safe", **rows, **HOT)
    assert "Measure again in" in page.select_one(".verdict").text
    assert column(page, "temperature") == ["180", "127,3", "92", ""]


def test_a_column_has_its_unit(phone):
    rows = table(("0", "180"), ("600", "127.3"))
    seconds = phone.post("/worksheets/touch-safe", **rows, **HOT, **{"unit.readings.time": "s"})
    minutes = phone.post("/worksheets/touch-safe", **table(("0", "180"), ("10", "127.3")), **HOT)
    assert seconds.select_one(".verdict").text == minutes.select_one(".verdict").text


def test_a_row_with_a_hole_is_named(phone):
    rows = table(("0", "180"), ("10", ""))
    page = phone.post("/worksheets/touch-safe", **rows, **HOT)
    assert "Row 2, Surface" in page.select_one("[role=alert]").text
    assert column(page, "time")[:2] == ["0", "10"]


@pytest.mark.parametrize("place", ["/worksheets", "job"])
def test_one_more_row_keeps_what_is_typed_and_saves_nothing(phone, job, place):
    path = f"{job}/measure" if place == "job" else place
    before = len(phone.texts)
    typed = table(("0", "180"), ("10", "x"), ("20", "92"), ("30", "70"))
    whole = phone.post(f"{path}/touch-safe", more="readings", **typed, **HOT)
    assert phone.status == 200
    assert whole.select_one("[value=dull]").has_attr("checked")
    part = phone.post(f"{path}/touch-safe/rows", more="readings", **typed, **HOT)
    assert not part.h1
    for page in (whole, part):
        assert column(page, "temperature") == ["180", "x", "92", "70", ""]
    assert len(phone.texts) == before


def test_a_table_starts_with_four_rows(phone):
    assert len(phone.get("/worksheets/touch-safe").select(".rows tbody tr")) == 4


def test_the_preview_waits_until_everything_is_typed_and_then_judges_or_says_why(phone):
    assert phone.post("/worksheets/supply-drop/preview", battery="25.6").text.strip() == ""
    assert "1.50 V" in phone.post("/worksheets/supply-drop/preview", battery="25.6", pin="24.1").text
    assert (
        "Supply pin at the actuator: "
        in phone.post("/worksheets/supply-drop/preview", battery="25.6", pin="x").text
    )


def test_a_limit_is_read_in_its_own_unit_and_in_any_other(phone):
    for typed, unit, mark in (("4.9", "kPa", "bad"), ("5.1", "kPa", "good"), ("20.3", "inH2O", "good")):
        page = phone.post(
            "/worksheets/filter-restriction", drop="5", limit_most=typed, **{"unit.limit_most": unit}
        )
        assert page.select_one(f".verdict.{mark}"), typed  # 20.3 inH2O is 5.06 kPa (NIST SP 811)
        assert page.select_one("details[open] [name=limit_most]")["value"] == typed


def test_a_reading_keeps_what_was_typed_with_the_units_chosen(phone, job):
    phone.post(f"{job}/measure/station-pressure", altitude="5280", **{"unit.altitude": "ft"})
    reading = phone.of_kind("reading")[-1]
    assert reading["typed"]["altitude"] == "5280"
    assert reading["units"]["altitude"] == "ft"
    assert reading["values"]["altitude"] == pytest.approx(1609.344)  # a foot is 0.3048 m (NIST SP 811)
    assert phone.of_kind("finding") == []
    page = phone.get(f"{job}/measure/station-pressure")
    assert page.select_one("[name='unit.altitude'] [selected]").text == "ft"
    assert "Altitude 5280 ft" in phone.get(f"{job}/timeline").text


def test_a_table_and_a_choice_are_told_in_words(phone, job):
    rows = table(("0", "180"), ("10", "127"))
    page = phone.post(f"{job}/measure/touch-safe", **rows, **HOT)
    assert column(page, "time") == ["0", "10", "", ""]
    told = phone.get(f"{job}/timeline").text
    assert "Readings 0 min, 180 °C; 10 min, 127 °C" in told
    assert "Read with Infrared, on dull or painted metal" in told


def test_an_impossible_reading_can_be_kept_as_typed_without_a_verdict(phone, job):
    page = phone.post(f"{job}/measure/reference-voltage", reference="13")
    assert phone.of_kind("reading") == []
    assert "13 V cannot come" in page.select_one("[role=alert]").text
    page = phone.post(
        f"{job}/measure/reference-voltage", reference="13", **{page.select_one("[name=keep]")["name"]: "yes"}
    )
    reading = phone.of_kind("reading")[-1]
    assert (reading["typed"]["reference"], reading["verdict"]) == ("13", None)
    assert phone.of_kind("finding") == []
    assert "without a verdict" in page.text
    assert "Kept as typed" in phone.get(f"{job}/measure").text
    assert "Reference 13 V" in phone.get(f"{job}/summary").text


def test_nothing_typed_is_nothing_to_keep(phone, job):
    page = phone.post(f"{job}/measure/reference-voltage", keep="yes")
    assert phone.status == 422
    assert not page.select("[name=keep]")
    assert phone.of_kind("reading") == []


def test_a_reading_taken_back_takes_back_what_it_answered(phone, job):
    phone.post(f"{job}/measure/reference-voltage", reference="4.0")
    assert phone.of_kind("finding")[-1]["outcome"] == "low"
    phone.post(f"{job}/measure/reference-voltage", reference="13", keep="yes")
    assert phone.of_kind("finding")[-1]["outcome"] == "not-checked"


def test_a_reading_takes_back_nobody_elses_answer(phone, job):
    phone.post(f"{job}/measure/reference-voltage", reference="4.0")
    phone.post(f"{job}/isolate", finding="reference-voltage", outcome="ok")
    phone.post(f"{job}/measure/reference-voltage", reference="13", keep="yes")
    assert phone.of_kind("finding")[-1]["outcome"] == "ok"


def test_a_saved_limit_stays_when_the_reading_is_opened_again(phone, job):
    phone.post(f"{job}/measure/ground-drop", drop="0.15", limit_drop="0.1", limit_source="manual, page 3")
    page = phone.get(f"{job}/measure/ground-drop")
    assert page.select_one("[name=limit_drop]")["value"] == "0.1"
    assert page.select_one("[name=limit_source]")["value"] == "manual, page 3"
    assert "Source: manual, page 3" in phone.get(f"{job}/timeline").text


@pytest.mark.parametrize(
    "path", ["/worksheets/weather", "/worksheets/weather/preview", "/worksheets/touch-safe/rows"]
)
def test_what_does_not_exist_says_so(phone, path):
    phone.post(path)
    assert phone.status == 404
    phone.get("/worksheets/weather")
    assert phone.status == 404


def test_a_value_only_the_maker_knows_is_saved_with_its_source_alone(phone, job):
    typed = {"reading": "12", "allowed": "10"}
    assert phone.post("/worksheets/back-pressure", **typed).select_one(".verdict.bad")
    page = phone.post(f"{job}/measure/back-pressure", **typed)
    assert "where the new value comes from" in page.select_one("#e-limit_source").text
    phone.post(f"{job}/measure/back-pressure", **typed, limit_source="manual, page 9")
    assert phone.of_kind("reading")[-1]["limit_source"] == "manual, page 9"


@pytest.mark.parametrize("key", MEASURES)
@pytest.mark.parametrize("typed", ["0", "1", "-3", "7,5", "250", "999999999", "abc"])
def test_whatever_is_typed_gets_a_verdict_or_a_reason(phone, key, typed):
    fields = {}
    for item in MEASURES[key]["inputs"]:
        for row in range(2 if item["columns"] else 0):
            fields |= {f"{item['key']}.{row}.{column['key']}": typed for column in item["columns"]}
        if item["choices"]:
            fields[item["key"]] = item["choices"][-1]["key"]
        elif not item["columns"]:
            fields[item["key"]] = typed
    page = phone.post(f"/worksheets/{key}", **fields)
    judged, refused = page.select_one("main > .verdict strong"), page.select_one("[role=alert] li")
    assert (judged or refused).text.strip()[-1] in ".?"
    assert phone.status == (200 if judged else 422)


def test_what_the_rest_needs_is_asked_beside_its_field(phone):
    typed = {"command": "50", "reference": "5", "signal": "2.5", "signal_before": "2.5"}
    page = phone.post("/worksheets/position-feedback", **typed)
    assert "This value is needed too" in page.select_one("#e-command_before").text


def test_a_job_asks_in_the_unit_that_was_chosen_last(phone, job):
    def unit(key, name):
        return phone.get(f"{job}/measure/{key}").select_one(f"[name='unit.{name}'] [selected]").text

    assert unit("filter-restriction", "drop") == "kPa"
    phone.post(f"{job}/measure/boost-engine-off", boost="0", reads="gauge", **{"unit.boost": "psi"})
    assert unit("filter-restriction", "drop") == "psi"
    assert unit("back-pressure", "reading") == "kPa gauge"
    assert unit("station-pressure", "altitude") == "m"


def test_a_source_alone_is_asked_for_and_nothing_to_keep_instead(phone, job):
    page = phone.post(f"{job}/measure/ground-drop", drop="0.15", limit_drop="0.1")
    assert not page.select("[name=keep]")
    phone.post(f"{job}/measure/ground-drop", drop="0.15", limit_drop="0.1", keep="yes")
    assert phone.of_kind("reading") == []


def test_the_way_back_opens_the_kind_one_came_from(phone, job):
    back = phone.get(f"{job}/measure/filter-restriction").select_one(".back a")["href"]
    assert [group["id"] for group in phone.get(back).select("details[open]")] == ["air"]
    back = phone.get("/worksheets/touch-safe").select_one(".back a")["href"]
    assert [group["id"] for group in phone.get(back).select("details[open]")] == ["heat"]


def without(finding: str, outcome: str) -> dict[str, Any]:
    """Content as it would be if a finding lost an outcome that its measure still gives."""
    changed = copy.deepcopy(CONTENT)
    for item in changed["findings"]:
        if item["key"] == finding:
            item["outcomes"] = [choice for choice in item["outcomes"] if choice["key"] != outcome]
    return changed


def test_an_outcome_that_the_finding_does_not_have_is_refused_and_the_reading_can_be_kept():
    phone = Desk(without("ground-drop", "ok"))
    job = phone.open_job()
    accept_all(phone, job)
    page = phone.post(f"{job}/measure/ground-drop", drop="0.05")
    assert phone.status == 422
    said = page.select_one("[role=alert]").text
    assert "“ok” is no answer to" in said
    assert page.select_one("input[name=drop]")["value"] == "0.05"
    assert phone.of_kind("reading") == []
    phone.post(f"{job}/measure/ground-drop", drop="0.05", keep="yes")
    assert phone.of_kind("reading")[-1]["typed"]["drop"] == "0.05"
    assert phone.of_kind("reading")[-1]["verdict"] is None
    assert phone.of_kind("finding") == []
