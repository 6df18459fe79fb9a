"""What a form's page had seen: a record replaces nothing else, whoever writes beside it."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pwa.app.record import chain, jobs, price_sheet, seen
from tests.helpers.notebooks import Desk
from tests.helpers.trade import CONTENT

FORMS = 3  # pages that a writer has open beside each other
NOTE, PRICES, WRITTEN = "note", "prices", "written"


def record(device: str, seq: int, kind: str = "note", job: str = "j") -> dict:
    return {"id": f"{device}-{seq}", "job": job, "device": device, "seq": seq, "kind": kind}


@pytest.fixture(scope="module")
def both(twin):
    return twin("pwa.app.record.seen")


def test_a_page_has_seen_what_it_was_made_from_and_nothing_later(both):
    here = [record("one-device", 1, "job-opened"), record("one-device", 4), record("other-device", 2)]
    field = both.as_text("j", here)
    later = [record("one-device", 5), record("other-device", 3), record("third-device", 1)]
    assert both.of(field, "j", here + later) == {"text": field, "records": here, "surely": here}


def test_a_record_that_comes_late_from_below_is_not_taken_for_seen(both):
    here = [record("one-device", 1, "job-opened"), record("other-device", 7)]
    field = both.as_text("j", here)
    had = both.of(field, "j", [*here, record("other-device", 3)])
    assert had["surely"] == here[:1]  # which of the other device's two was there cannot be told
    assert here[1] in had["records"]  # so it may have been shown, and is not replaced


@pytest.mark.parametrize("field", ["", "another:1:1", "k,one-device:9:9"])
def test_a_form_that_does_not_say_it_of_this_job_has_seen_all(both, field):
    here = [record("one-device", 1)]
    had = both.of(field, "j", here)
    assert had["records"] == had["surely"] == here


@pytest.mark.parametrize("field", ["j", "j,", "j,:::", "j,e-device:x:y", "j,e-device:9", "j," + "," * 999])
def test_nonsense_has_seen_nothing_but_what_the_job_is_about(both, field):
    opened = record("one-device", 1, "job-opened")
    had = both.of(field, "j", [opened, record("one-device", 2)])
    assert (had["records"], had["surely"]) == ([opened], [])


def test_a_draft_replaces_what_was_seen_of_its_own_job_and_nothing_else(both):
    known = [record("one-device", 1), record("one-device", 2, job="k")]
    draft = {"job": "j", "kind": "note", "data": {}, "replaces": ["one-device-1", "one-device-2", "x-1"]}
    assert both.allowed([draft], known)[0]["replaces"] == ["one-device-1"]


class Writer(Desk):
    """A desk or phone with several pages open, each of which may be sent at any time later."""

    def __init__(self, name: str) -> None:
        super().__init__(CONTENT, host="phone" if "phone" in name else "desk", name=name)
        self.open: dict[int, tuple[str, set[str]]] = {}  # a form's field and what was here, by its place
        self.had: dict[str, set[str]] = {}  # what the page of each record of this writer was made from

    def look(self, place: int, path: str) -> None:
        field = self.get(path).select_one("[name=layby-seen]")
        self.open[place] = (field["value"], {item["id"] for item in self.records})

    def send(self, place: int, path: str, **form: str) -> None:
        field, had = self.open[place]
        before = len(self.texts)
        self.post(path, **{**form, seen.FIELD: field})
        self.had |= {item["id"]: had for item in self.records[before:]}

    def get(self, path: str):  # what follows a form is not looked at
        return super().get(path) if "?" not in path and path.endswith(("/note", "/prices")) else None

    @staticmethod
    def _compare(here, there) -> None:
        """One interpreter is enough here; test_stale_pages.py asks both."""


PATHS = {NOTE: "{job}/note", WRITTEN: "{job}/note", PRICES: "/prices"}
OPS = st.one_of(
    st.tuples(st.just("look"), st.integers(0, 1), st.integers(0, FORMS - 1), st.sampled_from(sorted(PATHS))),
    st.tuples(st.just("send"), st.integers(0, 1), st.integers(0, FORMS - 1), st.integers(0, 2)),
    st.tuples(st.just("sync"), st.integers(0, 1), st.integers(1, 100), st.just("")),
)


@given(st.lists(OPS, min_size=4, max_size=30))
@pytest.mark.slow
def test_no_writer_ever_replaces_what_it_had_not_seen(ops):
    writers = [Writer("Desk"), Writer("Road phone")]
    job = writers[1].open_job()
    writers[1].post(f"{job}/note", text="as it was")
    writers[0].texts = list(writers[1].texts)
    note = writers[1].records[-1]["id"]
    kinds: dict[tuple[int, int], str] = {}
    for op, who, number, value in ops:
        writer, other = writers[who], writers[1 - who]
        if op == "look":
            kinds[who, number] = value
            writer.look(number, PATHS[value].format(job=job))
        elif op == "send" and (who, number) in kinds:
            kind, text = kinds[who, number], str(value)
            path, form = {
                NOTE: (f"{job}/correct/{note}", {"text": text}),
                WRITTEN: (f"{job}/joint/pipes/written/before", {"text": text}),
                PRICES: ("/prices", {"rate": str(90 + value)}),
            }[kind]
            writer.send(number, path, **form)
        elif op == "sync":  # the last ones first, as a file of a job may bring them
            missing = [text for text in other.texts if text not in writer.texts]
            writer.texts += missing[-number:]
    every = {item["id"]: item for writer in writers for item in writer.records}
    for writer in writers:
        for id, had in writer.had.items():
            assert set(every[id]["replaces"]) <= had
            assert {every[old]["job"] for old in every[id]["replaces"]} <= {every[id]["job"]}
    assert_all_visible(list(every.values()), [item for writer in writers for item in writer.had.items()])


def assert_all_visible(records, had) -> None:
    """Whatever is replaced was seen by who replaced it; what is not, and disagrees, is a conflict."""
    for about in {item["job"] for item in records}:
        job = jobs.fold(about, chain.in_order([item for item in records if item["job"] == about]))
        said: dict = {}
        for head in job["heads"]:
            said.setdefault(json.dumps(jobs.subject(head)), []).append(head["data"])
        for subject, data in said.items():
            if subject == "null":
                continue
            disagree = any(item != data[0] for item in data)
            assert disagree == any(item["records"][0]["data"] in data for item in job["conflicts"])
        sheet = price_sheet.sheet(records)
        rates = {item["data"]["rate"] for item in sheet["standing"]}
        assert sheet["prices"]["rate"] in (rates if len(rates) == 1 else {0.0})
    seen_by = dict(had)
    for item in records:
        for old in item["replaces"]:
            assert old in seen_by.get(item["id"], {old})
