"""Which records decide: broken ones, newer ones, foreign clocks, and what the desk set aside."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pwa.app.record import chain, price_sheet, verbatim
from server.store import entries
from tests.helpers.notebooks import Desk
from tests.helpers.trade import CONTENT

JOINT = CONTENT["joints"][0]["key"]
NOW = 1_764_065_263_000
STRANGER = {"id": "stranger", "name": "Another phone", "seq": 0, "head": "", "clock": ""}
PROBES = [
    ("finding", {"finding": ["x"], "outcome": "yes"}),
    ("proof", {"proof": {}, "result": "passed"}),
    ("cause", {"cause": ["x"], "decision": "named", "reason": "seen"}),
    ("repair", {"repair": ["x"]}),
    ("tolerance", {"joint": JOINT, "degrees": "5", "source": "book"}),
    ("tolerance", {"joint": ["x"], "degrees": 5, "source": "book"}),
    ("written", {"joint": ["x"], "moment": "before", "text": "words"}),
    ("written", {"joint": JOINT, "moment": {}, "text": "words"}),
    ("skipped", {"finding": ["x"]}),
    ("prices", {"rate": "abc"}),
    ("prices", {"rate": 1e308, "minutes": {"a": "b"}}),
    ("here", {"place": ["bay"]}),
    ("here", {"place": "moon"}),
    ("job-closed", {"outcome": {}, "note": ""}),
    ("caution-accepted", {"caution": ["x"]}),
    ("code", {"typed": 1, "key": None, "kind": "j1939", "spn": "x", "fmi": {}}),
    ("photo", {"sha256": 7}),
    ("marks", {"photo": "a", "joint": "b", "moment": "after", "reading": {"angle": "1"}}),
    ("photo-counts", {"photo": "a", "joint": ["b"], "moment": "after", "counts": "yes"}),
    ("unphotographed", {"joints": "x", "reason": "y"}),
    ("torque", {"fastener": [], "bolt": "1", "actual": None}),
    ("fastener", {"place": "x", "count": -1, "kind": "zigzag", "torque": 0}),
    ("note", {"text": None}),
    ("set-aside", {"record": [], "aside": True, "reason": "x"}),
]
PAGES = ["", "/timeline", "/safe", "/codes", "/isolate", "/checks", "/here", "/ask", "/measure", "/joints",
         "/repair", "/fasteners", "/cause", "/prove", "/summary", "/settle",
         "/note", "/send"]  # fmt: skip


def foreign(job, kind, data, **fields):
    """What another device wrote."""
    made = [{"job": job, "kind": kind, "data": data, "replaces": fields.pop("replaces", [])}]
    text = chain.seal(made, STRANGER, NOW, "0123456789abcdef" * 4, "")[0][0]
    return json.dumps({**json.loads(text), **fields})


def words(page):
    return page.main.get_text(" ", strip=True)


def said(phone, job):
    return phone.get(f"{job}/timeline").get_text(" ", strip=True)


@pytest.mark.parametrize(("kind", "data"), PROBES, ids=[f"{kind} {data}" for kind, data in PROBES])
def test_a_broken_record_is_kept_and_shown_as_not_understood(phone, kind, data):
    job = phone.open_job()
    text = foreign(price_sheet.SHOP if kind == "prices" else job[5:], kind, data)
    entries.read(text)
    phone.texts.append(text)
    shown = phone.get("/prices" if kind == "prices" else f"{job}/timeline").get_text(" ", strip=True)
    assert "Not understood, so it decides nothing." in shown
    assert json.dumps(data) in shown


# The report says of each device that wrote in the job what it has signed.
SIGNED = "device stra stranger Not known on this phone. The report at the desk says it. "


def test_broken_records_decide_nothing_on_any_page(phone, job):
    paths = [*(job + path for path in PAGES), f"{job}/joint/{JOINT}", "/", "/prices", "/phone", "/job/new"]
    pages = {path: words(phone.get(path)) for path in paths}
    for at, (kind, data) in enumerate(PROBES):
        phone.texts.append(
            foreign(
                price_sheet.SHOP if kind == "prices" else job[5:], kind, data, id=f"p{at}", seq=2 * at + 1
            )
        )
    for path in paths:
        page = phone.get(path)
        assert phone.status == 200, path
        if path not in ("/prices", f"{job}/timeline"):
            assert words(page).replace(SIGNED, "") == pages[path], path


@pytest.mark.parametrize("v", [2, 0, -1, 1.5, "1", "2", None, True, [], {}])
def test_a_higher_version_decides_nothing_whatever_it_speaks_of(phone, job, v):
    phone.post("/prices", rate="90", currency="EUR")
    for kind, data in (("prices", {"rate": 7}), ("finding", {"finding": "soot-seen", "outcome": "yes"})):
        phone.texts.append(foreign(price_sheet.SHOP if kind == "prices" else job[5:], kind, data, v=v))
    assert phone.get("/prices").find("input", {"name": "rate"})["value"] == "90"
    assert "No answer" not in said(phone, job)
    assert phone.get(f"{job}/isolate") and phone.status == 200


def test_a_broken_record_takes_no_good_one_away(phone, job):
    phone.post(f"{job}/note", text="The belt is loose")
    note = phone.records[-1]["id"]
    phone.texts.append(foreign(job[5:], "note", {"text": 7}, replaces=[note]))
    item = phone.get(f"{job}/timeline").find(id=f"r-{note}")
    assert "Corrected later" not in item.text
    phone.post("/prices", rate="90")
    sheet = phone.records[-1]["id"]
    phone.texts.append(foreign(price_sheet.SHOP, "prices", {"rate": -1}, replaces=[sheet], id="other"))
    assert phone.get("/prices").find("input", {"name": "rate"})["value"] == "90"


@pytest.mark.parametrize(
    "clock",
    ["9" * 15 + "." + "9" * 23, "9" * 15 + ".0000000", "1" * 15 + "." + "0" * 8, "5" + "0" * 14 + ".0000000"],
)
def test_a_clock_of_nobody_moves_no_other_and_its_record_decides_nothing(phone, job, clock):
    text = foreign(job[5:], "note", {"text": "from nowhere"}, clock=clock)
    entries.read(text)
    phone.texts.append(text)
    phone.post(f"{job}/note", text="after it")
    written = phone.records[-1]
    assert written["data"]["text"] == "after it"
    assert int(written["clock"].split(".")[0]) == phone.now - 1000
    assert "Not understood" in said(phone, job)


CLOCKS = st.one_of(
    st.from_regex(r"[0-9]{15}\.[0-9]{7,24}", fullmatch=True), st.text(max_size=30), st.just(""),
    st.builds(chain.write_clock, st.integers(0, chain.LAST + 2), st.integers(0, chain.MOST_COUNTED)),
)  # fmt: skip


@given(CLOCKS, st.lists(st.integers(1 - 2**53, 2**53 - 1), min_size=1, max_size=5))
def test_no_clock_leads_to_one_that_a_door_refuses(clock, times):
    device = {"id": "d", "name": "n", "seq": 0, "head": "", "clock": clock}
    for now in times:
        texts, device = chain.seal([chain.draft("j", "note", {"text": "x"})], device, now, "0" * 20, clock)
        assert chain.is_clock(entries.read(texts[0]).clock)


def test_both_interpreters_tick_alike(twin):
    both = twin("pwa.app.record.chain")
    edge = chain.write_clock(chain.LAST, chain.MOST_COUNTED)
    for clock in ("", "9" * 39, edge, chain.write_clock(chain.LAST + 1, 0), "1.2", "²" * 15 + ".0000000"):
        for now in (-5, 0, NOW, chain.LAST, chain.LAST + 1, 2**53):
            assert chain.is_clock(both.tick(clock, now))
            both.moves(clock)


def test_what_the_desk_sets_aside_decides_nothing_until_it_is_taken_back():
    desk = Desk(CONTENT, host="desk", name="Desk")
    job = desk.open_job()
    desk.post(
        f"{job[5:]}/note".join(["/desk", ""]) if False else f"{job.removeprefix('/desk')}/note", text="Right"
    )
    job = job.removeprefix("/desk")
    desk.post(f"{job}/note", text="Wrong truck")
    wrong = desk.records[-1]["id"]
    opened = next(record["id"] for record in desk.records if record["kind"] == "job-opened")
    offered = str(desk.get(f"{job}/timeline"))
    assert f"{job}/aside/{wrong}" in offered
    assert f"{job}/aside/{opened}" not in offered, "a job keeps what opens it"
    desk.post(f"{job}/aside/{wrong}", reason="")
    assert desk.status == 422
    desk.post(f"{job}/aside/{wrong}", reason="Written into the wrong job")
    item = desk.get(f"{job}/timeline").find(id=f"r-{wrong}").get_text(" ", strip=True)
    assert "Set aside by Desk" in item and "Written into the wrong job" in item and "Correct this" not in item
    assert "Wrong truck" not in desk.get(f"{job}/summary").text
    desk.post(f"{job}/aside/{wrong}", reason="It was this one after all")
    item = desk.get(f"{job}/timeline").find(id=f"r-{wrong}").get_text(" ", strip=True)
    assert "Set aside by" not in item
    assert "Wrong truck" in desk.get(f"{job}/summary").text


def test_a_phone_obeys_and_sets_nothing_aside_itself(phone, job):
    phone.post(f"{job}/note", text="Wrong truck")
    note = phone.records[-1]["id"]
    assert "/aside/" not in str(phone.get(f"{job}/timeline"))
    phone.post(f"{job}/aside/{note}", reason="x")
    assert phone.status == 404
    phone.texts.append(foreign(job[5:], "set-aside", {"record": note, "aside": True, "reason": "Wrong job"}))
    assert "Set aside by device stra" in said(phone, job)
    assert "Wrong truck" not in phone.get(f"{job}/summary").text


def test_setting_aside_stays_within_its_job_and_leaves_each_job_its_first_record(phone):
    first, second = phone.open_job(), phone.open_job(unit="Truck 8")
    phone.post(f"{first}/note", text="Words")
    note = phone.records[-1]["id"]
    opened = next(record["id"] for record in phone.records if record["job"] == second[5:])
    phone.texts.append(foreign(second[5:], "set-aside", {"record": note, "aside": True, "reason": "x"}))
    phone.texts.append(
        foreign(second[5:], "set-aside", {"record": opened, "aside": True, "reason": "x"}, id="b")
    )
    assert "Words" in phone.get(f"{first}/summary").text
    assert "Truck 8" in phone.get("/").text
    assert phone.get(second).h1.text == "Truck 8"


def test_a_wrong_price_sheet_is_set_aside_and_the_one_before_counts_again():
    desk = Desk(CONTENT, host="desk", name="Desk")
    desk.post("/prices", rate="90")
    desk.post("/prices", rate="9000")
    wrong = desk.records[-1]["id"]
    assert f"/desk/prices/aside/{wrong}" in str(desk.get("/prices"))
    desk.post(f"/prices/aside/{wrong}", reason="A zero too many")
    assert desk.get("/prices").find("input", {"name": "rate"})["value"] == "90"
    assert "A zero too many" in desk.get("/prices").text


TEXTS = st.text(st.sampled_from('a\ud83d\udd27\U0001f527é✓\x00\ud800\udc00"\\'), max_size=8)
VALUES = st.recursive(
    TEXTS | st.integers() | st.floats(),
    lambda inner: st.lists(inner) | st.dictionaries(TEXTS, inner),
    max_leaves=6,
)


@given(VALUES)
def test_letters_are_whole_however_they_were_written(value):
    """As UTF-16 says it: pairs joined, halves alone replaced."""
    said = verbatim.joined(value)
    json.dumps(said, ensure_ascii=False).encode()
    if isinstance(value, str):
        assert said == value.encode("utf-16-le", "surrogatepass").decode("utf-16-le", "replace")


def test_both_interpreters_read_the_same_letters(twin):
    both = twin("pwa.app.record.verbatim")
    for text in (r'"\ud83d\udd27 \u00e9"', r'"\ud83d"', r'"a\udd27b"', r'["\\ud83d", {"\uD83D\uDD27": 1}]'):
        both.read(text)
