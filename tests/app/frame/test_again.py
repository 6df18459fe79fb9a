"""What does not fit comes back with all that was typed, and what is saved every door takes."""

import pytest
from bs4 import BeautifulSoup
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pwa.app.kinds import check, shape
from pwa.app.record import jobs
from server.store import entries
from tests.helpers.notebooks import Desk
from tests.helpers.trade import CONTENT, accept_all

JOINT = CONTENT["joints"][0]["key"]
UPSTREAM = next(item["key"] for item in CONTENT["causes"] if item["upstream"])
PROOF = CONTENT["proofs"][0]["key"]
REPAIR = CONTENT["repairs"][0]["key"]
PLACE = CONTENT["fasteners"][0]["key"]
SHEET = {"count": "4", "kind": "cross", "torque": "25", "unit": "N·m"}
OPENING = {"unit": "Truck 7", "complaint": "no power", "place": "bay", "drive": "electric"}
# Each form of free text: where it is sent, what else is in it, the field, and how much fits.
FORMS = [
    ("/job/new", OPENING, "unit", shape.LINE),
    ("/job/new", OPENING, "complaint", shape.TEXT),
    ("/job/new", OPENING, "distance", shape.LINE),
    ("{job}/note", {}, "text", shape.TEXT),
    ("{job}/photo", {"photo_sha256": "a" * 64, "photo_type": "image/jpeg"}, "caption", shape.TEXT),
    ("{job}/cause", {"cause": UPSTREAM, "decision": "named"}, "reason", shape.TEXT),
    ("{job}/joint/" + JOINT + "/tolerance", {"degrees": "5"}, "source", shape.LINE),
    ("{job}/repair", {"repair": REPAIR}, "note", shape.TEXT),
    ("{job}/prove", {"proof": PROOF, "result": "failed"}, "note", shape.TEXT),
    ("{job}/fasteners/" + PLACE, SHEET, "source", shape.LINE),
    ("{job}/summary", {"outcome": "handed over"}, "note", shape.TEXT),
    ("/prices", {"rate": "90"}, "source", shape.LINE),
    ("/prices", {"rate": "90"}, "currency", 8),
]
each_form = pytest.mark.parametrize(
    ("path", "besides", "field", "longest"), FORMS, ids=[f"{form[0]} {form[2]}" for form in FORMS]
)


def send(desk, path, typed):
    """Post a form on CPython alone, for long texts take long; the answer, and its page."""
    request = {
        "method": "POST", "path": path, "query": {}, "now": desk.now, "zone": 0,
        "form": {name: [value] for name, value in typed.items()}, "random": "0123456789abcdef" * 256,
        "host": "phone", "base": "", "device": desk.device, "status": desk.known,
    }  # fmt: skip
    answer = desk.notebook.answer(request, desk.rows)
    return answer, BeautifulSoup(answer["body"], "html.parser")


def again(page):
    """Where the page that came back goes, and what a browser would send of it."""
    sent = {item["name"]: item.get("value", "") for item in page.form.find_all("input") if item.get("name")}
    sent |= {item["name"]: item.text for item in page.form.find_all("textarea")}
    assert sent.pop("layby-seen")
    return page.form["action"], sent


@pytest.fixture(scope="module")
def begun():
    desk = Desk(CONTENT, name="bay-2")
    job = desk.open_job()
    accept_all(desk, job)
    return desk, job


@each_form
def test_a_text_that_is_too_long_comes_back_whole_and_is_saved_once_it_is_shortened(
    begun, path, besides, field, longest
):
    desk, job = begun
    typed = {**besides, field: "x" * (longest + 7)}
    answer, page = send(desk, path.replace("{job}", job), typed)
    assert (answer["status"], answer["records"]) == (422, [])
    assert page.h1.text == "Not saved yet"
    assert f"{longest + 7} characters long, and {longest} fit. Shorten it by 7." in page.text
    wrong = page.select_one("[aria-invalid]")
    assert (wrong["name"], wrong["data-longest"]) == (field, str(longest))
    action, sent = again(page)
    assert sent == typed
    answer, _ = send(desk, action, {**sent, field: "x" * longest})
    assert answer["status"] == 303 and answer["records"]


def test_both_interpreters_say_what_does_not_fit(phone, job):
    for text in ("x" * (shape.TEXT + 1), "\U0001f527" * (shape.TEXT + 1)):
        page = phone.post(f"{job}/note", text=text)
        assert phone.status == 422
        assert page.find("textarea").text == text


def test_what_is_out_of_range_comes_back_too(begun):
    desk, job = begun
    typed = {"photo_sha256": "a" * 64, "photo_type": "image/jpeg", "caption": "The joint", "width": "100001"}
    answer, page = send(desk, f"{job}/photo", typed)
    assert answer["status"] == 422
    assert page.select_one("[aria-invalid]")["name"] == "width"
    assert again(page)[1] == typed


def test_all_of_it_together_has_a_limit_too(begun):
    """Of letters that take many bytes fewer fit than their number says."""
    desk, job = begun
    answer, page = send(desk, f"{job}/note", {"text": "\U0001f527" * shape.TEXT})
    assert answer["status"] == 422
    assert "All of it together" in page.text
    assert again(page)[1]["text"] == "\U0001f527" * shape.TEXT


TYPED = st.one_of(
    st.text(max_size=200),
    st.builds(lambda text, times: text * times, st.text(min_size=1, max_size=9), st.integers(1, 12_000)),
    st.sampled_from(["1e31", "1e300", "nan", "-5", "9" * 400, "\ud83d", "\U0001f527" * 20_001, "a\r\nb"]),
)


@settings(max_examples=60, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
@given(st.sampled_from(FORMS), TYPED, TYPED)
def test_what_the_phone_saves_every_door_takes_and_it_counts(begun, form, text, other):
    desk, job = begun
    path, besides, field, _ = form
    typed = {**besides, field: text}
    if "degrees" in typed:
        typed["degrees"] = other
    answer, page = send(desk, path.replace("{job}", job), typed)
    for made in answer["records"]:
        entry = entries.read(made)
        assert check.problems(entry.kind, entry.data) == []
        assert len(made.encode()) <= entries.verbatim.RECORD_BYTES
        assert jobs.counts({"clock": entry.clock, "kind": entry.kind, "data": entry.data})
    assert answer["records"] or answer["status"] in (200, 303, 404, 422)
    if answer["status"] == 422 and "Not saved yet" in answer["body"]:
        assert page.find(attrs={"name": field}), "what was typed comes back"
