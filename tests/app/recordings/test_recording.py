"""A recording on its page: what is in it, what is taken for what, its pictures, its verdict, what is kept."""

import hashlib
import json
import re

import pytest
from bs4 import BeautifulSoup

from pwa.app.recordings import recording, view
from tests.helpers.notebooks import Desk
from tests.helpers.recordings import HEAD, Reading, bus, drive
from tests.helpers.trade import CONTENT


@pytest.fixture(scope="module")
def reading(micropython, tmp_path_factory):
    return Reading(micropython, tmp_path_factory.mktemp("pieces"))


def html(text):
    return BeautifulSoup(text, "html.parser")


def chosen(answer):
    """Name of each column -> what it is taken for."""
    page = html(answer["found"])
    return {
        field.label.contents[0].strip(): field.select_one("option[selected]").text
        for field in page.select(".field")
    }


def choices(answer):
    page = html(answer["found"])
    found = page.select("select")
    return {select["data-field"]: select.select_one("[selected]")["value"] for select in found}


def field_of(answer, name):
    page = html(answer["found"])
    label = next(item for item in page.select("label") if item.contents[0].strip() == name)
    return page.select_one(f"#{label['for']}")["data-field"]


def choose(reading, answer, name, value):
    changed = name if name.startswith("time") else field_of(answer, name)
    form = {**choices(answer), changed: value}
    return reading.ask("choose", json.dumps({"form": form, "changed": changed}))


def judge(reading, alone=False, **typed):
    form = {name: [value] for name, value in typed.items()}
    return reading.ask("judge", json.dumps({"form": form, "alone": alone}))


def move(reading, how, share=0.0):
    return reading.ask("move", json.dumps({"how": how, "share": share}))["pictures"]


def test_what_columns_are_is_proposed_with_their_least_and_greatest_value(reading):
    answer = reading.read(drive())
    assert chosen(answer) == {
        "Engine speed (rpm)": "Engine speed",
        "Boost (kPa)": "Boost pressure",
        "VGT desired (%)": "VGT command",
        "VGT actual (%)": "VGT position",
        "Time": "Time (s)",
        "Unit of the time": "as the file says",
    }
    page = html(answer["found"])
    assert "4000 rows, 39.99 s" in page.text
    assert "Mind" not in page.text  # a column of words is nothing to mind
    assert "10 to 90 %" in page.text
    assert answer["ready"]
    titles = [item.text for item in html(answer["pictures"]["html"]).select("figcaption")]
    assert titles[0] == "VGT command, %VGT position, %"
    assert titles[-1].startswith("Position over command")


def test_a_column_taken_for_something_else_is_drawn_so_at_once(reading):
    head = HEAD.replace("VGT actual (%)", "Lever (%)")
    answer = reading.read(drive(head=head))
    assert not answer["ready"]
    assert "nothing is taken for the position" in judge(reading)["verdict"].lower()
    answer = choose(reading, answer, "Lever (%)", "vgt-position")
    assert answer["ready"]
    assert chosen(answer)["Lever (%)"] == "VGT position"
    assert judge(reading)["kept"]["log"]["signals"]["vgt-position"]["name"] == "Lever (%)"


def test_two_columns_are_never_taken_for_the_same(reading):
    answer = reading.read(drive())
    answer = choose(reading, answer, "Boost (kPa)", "vgt-position")
    assert chosen(answer)["Boost (kPa)"] == "VGT position"
    assert chosen(answer)["VGT actual (%)"] == "Not used"


def test_what_was_chosen_is_remembered_for_files_of_the_same_columns_alone(reading):
    head = HEAD.replace("VGT actual (%)", "Lever (%)")
    answer = reading.read(drive(head=head))
    told = choose(reading, answer, "Lever (%)", "vgt-position")["remember"]
    known = {told["signature"]: told["mapping"]}
    assert chosen(reading.read(drive(head=head), remembered=known))["Lever (%)"] == "VGT position"
    other = head.replace("Boost", "Rail")
    assert chosen(reading.read(drive(head=other), remembered=known))["Lever (%)"] == "Not used"


def test_a_memory_of_another_version_does_no_harm(reading):
    signature = "|".join(HEAD.strip().split(";"))
    known = {signature: {"no-such-role": "Boost (kPa)", "vgt-position": "VGT actual (%)"}}
    assert reading.read(drive(), remembered=known)["ready"]


def test_another_unit_of_the_time_reads_the_file_again(reading):
    text = drive(head=HEAD.replace("Time (s)", "Time"))
    answer = reading.read(text)
    assert "The time has no unit" in answer["found"]
    told = choose(reading, answer, "time-unit", "min")
    assert told["again"]
    answer = reading.again(text)
    assert chosen(answer)["Unit of the time"] == "min"
    assert "2399 s" in answer["found"]  # 39.99 min


def test_a_column_that_was_not_read_is_read_when_it_is_asked_for(reading):
    names = [f"c{place}" for place in range(20)]
    rows = [";".join(str(row + place) for place in range(20)) for row in range(100)]
    text = "\n".join([";".join(names), *rows]) + "\n"
    answer = reading.read(text)
    assert "not read yet" in answer["found"]
    told = choose(reading, answer, "c19", "boost")
    assert told["again"]
    assert "19 to 118" in reading.again(text)["found"]


def test_frames_give_signals_with_their_source_and_codes_in_words(reading):
    answer = reading.read(bus(), "bus.log")
    page = html(answer["found"])
    assert "SPN 641 in PGN 64931" in page.text
    assert "from memory" in page.text
    codes = html(answer["codes"]).select(".code")
    assert [code.strong.text for code in codes] == ["SPN 641 FMI 7", "SPN 102 FMI 4"]
    assert "active, from control module 0, counted once" in codes[0].text
    assert answer["coded"] == 2


def test_frames_without_codes_say_so(reading):
    answer = reading.read(bus(7), "bus.log")
    assert "No trouble codes" in answer["found"]
    assert answer["coded"] == 0


def test_damaged_lines_are_counted_and_shown_and_harm_nothing_else(reading):
    lines = drive().splitlines(keepends=True)
    lines[100] = "12,5;14\x0000;<b>\n"
    answer = reading.read("".join(lines))
    page = html(answer["found"])
    assert "Line 101" in page.text
    assert page.select_one("code b") is None
    assert "3999 rows" in page.text


@pytest.mark.parametrize("text", ["", "no numbers here\nnor here\n", "\n\n\n"])
def test_a_file_that_is_no_recording_is_refused_with_a_reason(reading, text):
    answer = reading.read(text)
    assert answer["refused"].endswith((".", "?"))


def test_more_rows_than_a_phone_holds_are_left_out_and_it_says_so(monkeypatch):
    monkeypatch.setattr(recording, "MOST_ROWS", 1000)
    data = drive(5000).encode()
    cut = recording.Recording("long.csv", len(data), {})
    for at in range(0, len(data), 4000):
        cut.take(data[at : at + 4000])
    cut.finish()
    shown = view.contents(cut, CONTENT)
    assert 1000 <= shown["rows"] < 2200  # rows are counted block by block
    assert shown["damaged"]["count"] == 0
    assert "Only the first" in shown["warnings"][-1]
    assert cut.sha256 == hashlib.sha256(data).hexdigest()


def test_buttons_and_drags_move_the_part_and_stay_inside(reading):
    reading.read(drive(8001))

    def part(pictures):
        return float(pictures["from"]), float(pictures["to"])

    assert part(move(reading, "in")) == (20, 60)
    assert part(move(reading, "back")) == (0, 40)
    assert part(move(reading, "back")) == (0, 40)
    assert part(move(reading, "on")) == (20, 60)
    assert part(move(reading, "drag", 0.25)) == (30, 70)
    assert part(move(reading, "out")) == (0, 80)
    assert part(move(reading, "in")) == (20, 60)
    assert part(move(reading, "whole")) == (0, 80)
    for _ in range(20):
        low, high = part(move(reading, "in"))
    assert 0 < high - low < 0.1


def test_the_part_can_be_typed_in_any_unit_of_time(reading):
    reading.read(drive(8001))
    moved = reading.ask("move", json.dumps({"from": "0,5 min", "to": "40"}))["pictures"]
    assert (moved["from"], moved["to"]) == ("30.000", "40.000")
    assert "no number" in reading.ask("move", json.dumps({"from": "x", "to": "40"}))["refused"]


def test_a_picture_has_few_points_and_keeps_a_spike(reading):
    lines = drive(20_000).splitlines(keepends=True)
    cells = lines[7000].split(";")
    cells[4] = "99,00"
    lines[7000] = ";".join(cells)
    answer = reading.read("".join(lines))
    lines_drawn = html(answer["pictures"]["html"]).select("figure:first-child polyline")
    assert [line["class"] for line in lines_drawn] == [["broad"], ["fine"]]
    for line in lines_drawn:
        points = line["points"].split()
        assert 300 < len(points) <= 2 * 302 + 2
        assert all(re.fullmatch(r"-?\d+,-?\d+", point) for point in points)
    heights = [int(point.split(",")[1]) for point in lines_drawn[1]["points"].split()]
    others = [int(point.split(",")[1]) for point in lines_drawn[0]["points"].split()]
    assert min(heights) < min(others)  # 99 % is above the highest command


def test_a_healthy_part_follows_and_a_sticking_one_sticks(reading):
    reading.read(drive(8000))
    assert judge(reading)["kept"]["verdict"]["outcome"] == "follows"
    reading.read(drive(8000, stick=60.0))
    answer = judge(reading)
    assert answer["kept"]["verdict"]["outcome"] == "sticks"
    assert html(answer["verdict"]).select_one(".verdict.bad")


def test_only_the_part_shown_is_judged(reading):
    reading.read(drive(8000, stick=60.0))
    reading.ask("move", json.dumps({"from": "11", "to": "39"}))
    kept = judge(reading)["kept"]
    assert kept["verdict"]["outcome"] == "follows"
    assert (kept["log"]["start"], kept["log"]["end"]) == (11, 39)


def test_what_is_kept_names_the_file_and_its_signals_and_is_small(reading):
    text = drive(8000)
    reading.read(text, "drive.csv")
    answer = judge(reading)
    log = answer["kept"]["log"]
    assert log["sha256"] == hashlib.sha256(text.encode()).hexdigest()
    assert (log["name"], log["size"], log["rows"]) == ("drive.csv", len(text), 8000)
    assert log["signals"]["vgt-command"]["source"] == "column 4, “VGT desired (%)”"
    assert len(json.dumps(answer["kept"])) < 10_000


def test_doubts_stand_beside_the_verdict(reading):
    text = drive(4000, head=HEAD.replace("VGT actual (%)", "VGT actual (mm)"))
    lines = text.splitlines(keepends=True)
    lines[50] = "?\n"
    reading.read("".join(lines))
    warnings = " ".join(judge(reading)["kept"]["verdict"]["warnings"])
    assert "in mm, but the limits are in %" in warnings
    assert "1 line of the log damaged" in warnings


def test_a_limit_of_the_shop_needs_its_source_where_it_is_saved(reading):
    reading.read(drive(4000))
    assert judge(reading, limit_slow="0.001")["kept"] == ""
    assert judge(reading, alone=True, limit_slow="0.001")["kept"]["verdict"]["outcome"] == "slow"
    kept = judge(reading, limit_slow="0.001", limit_source="manual, page 3")["kept"]
    assert (kept["limits"]["slow"], kept["limit_source"]) == (0.001, "manual, page 3")


def test_a_recording_without_times_or_values_is_not_judged_but_says_why(reading):
    head = "VGT command;VGT position\n"
    reading.read(head + "".join(f"{row % 90};{row % 90}\n" for row in range(500)))
    assert "no times" in judge(reading)["verdict"]
    frames = "".join(f"({row}.0) can0 18FDD500#FFFFFFFFFFFFFFFF\n" for row in range(9))
    frames += "".join(f"({row}.0) can0 18FDA300#FFFF64FFFFFFFFFF\n" for row in range(9, 99))
    reading.read(frames, "bus.log")
    assert "no values of the position" in judge(reading)["verdict"]


def test_a_judged_part_is_saved_as_a_reading_with_its_finding(reading, phone, job):
    reading.read(drive(8000, stick=60.0), "drive.csv")
    kept = judge(reading)["kept"]
    page = phone.post(f"{job}/recording", kept=json.dumps(kept))
    assert phone.location == f"{job}/measure/command-trace"
    data = phone.of_kind("reading")[-1]
    assert data["measure"] == "command-trace"
    assert data["log"]["sha256"] == kept["log"]["sha256"]
    finding = phone.of_kind("finding")[-1]
    assert (finding["finding"], finding["outcome"], finding["by"]) == ("command-trace", "sticks", "measure")
    assert page.select_one(".verdict.bad")
    assert "drive.csv" in page.text
    assert page.select_one("svg polyline")
    assert "drive.csv, 0 to" in phone.get(f"{job}/timeline").text


def test_a_later_part_replaces_the_reading_and_its_finding(reading, phone, job):
    for stick, outcome in ((60.0, "sticks"), (0.0, "follows")):
        reading.read(drive(8000, stick=stick))
        phone.post(f"{job}/recording", kept=json.dumps(judge(reading)["kept"]))
        assert phone.of_kind("finding")[-1]["outcome"] == outcome
    assert phone.records[-1]["replaces"]
    assert "1 to settle" not in phone.get(job).text


@pytest.mark.parametrize("kept", ["", "x", "{}", "[]", '{"verdict": {}, "limits": {}}', "null"])
def test_nothing_judged_is_nothing_saved(phone, job, kept):
    page = phone.post(f"{job}/recording", kept=kept)
    assert phone.status == 422
    assert "Judge a part" in page.select_one("[role=alert]").text
    assert phone.of_kind("reading") == []


def test_a_code_of_the_recording_comes_into_the_job_once_with_its_finding(reading, phone, job):
    answer = reading.read(bus(), "bus.log")
    for button in html(answer["codes"]).select("button"):
        for _ in range(2):
            page = phone.post(f"{job}/recording/codes", code=button["value"], file="bus.log")
    assert "SPN 641 FMI 7, SPN 102 FMI 4" in page.text
    codes = phone.of_kind("code")
    assert [(code["key"], code["message"], code["source"]) for code in codes] == [
        ("641/7", "DM1", 0),
        ("102/4", "DM1", 33),
    ]
    assert codes[1]["occurrences"] == 5
    assert phone.of_kind("finding")[0]["by"] == "code"
    assert "SPN 641 FMI 7" in phone.get(f"{job}/codes").text


def test_a_code_is_taken_once_though_its_page_stays_open(reading, phone, job):
    answer = reading.read(bus(), "bus.log")
    seen = phone.get(f"{job}/recording").select_one("[name=layby-seen]")["value"]
    for button in html(answer["codes"]).select("button"):
        for _ in range(2):
            taken = phone.post(f"{job}/recording/codes", code=button["value"], **{"layby-seen": seen})
            seen = taken.select_one("[name=layby-seen]")["value"]
    assert len(phone.of_kind("code")) == 2
    phone.post(f"{job}/recording/codes", code="nonsense", **{"layby-seen": seen})
    assert "to settle" not in phone.get(job).text


@pytest.mark.parametrize("code", ["", "641/7", "a/b|DM1|0|||", "641/7|DM1|x|||"])
def test_what_is_no_code_is_not_taken(phone, job, code):
    page = phone.post(f"{job}/recording/codes", code=code)
    assert phone.status == 422
    assert page.select_one("[role=alert]")
    assert phone.of_kind("code") == []


def test_the_page_is_linked_and_stands_alone_and_at_the_desk(phone, job):
    for path in (f"{job}/measure", f"{job}/measure/command-trace"):
        assert phone.get(path).select_one(f"a[href='{job}/recording']"), path
    for path in ("/worksheets", "/worksheets/command-trace"):
        assert phone.get(path).select_one("a[href='/worksheets/recording']"), path
    page = phone.get(f"{job}/recording")
    assert page.select_one("input[type=file]").get("name") is None  # it must never be sent
    assert page.select_one(f"form[action='{job}/recording'] [name=kept]")
    alone = phone.get("/worksheets/recording")
    assert phone.status == 200
    assert alone.select_one("[name=kept]") is None
    desk = Desk(CONTENT, host="desk")
    assert desk.get("/worksheets/recording").select_one("layby-recording")


def test_cautions_come_first(phone):
    job = phone.open_job()
    assert phone.get(f"{job}/recording").h1.text == "First make safe"


def test_a_verdict_that_its_finding_does_not_know_is_refused(reading, phone, job):
    reading.read(drive(8000))
    kept = judge(reading)["kept"]
    kept["verdict"]["outcome"] = "flies"
    page = phone.post(f"{job}/recording", kept=json.dumps(kept))
    assert phone.status == 422
    assert "“flies” is no answer to" in page.select_one("[role=alert]").text
    assert phone.of_kind("reading") == []
