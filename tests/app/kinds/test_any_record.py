"""Whatever a record of any kind holds: no page of phone or desk fails, and the record stands in its story.

Each data is a good one with one part, however deep, put in wrong in some way. Keys are real where content has
them, for most of what a page does with a record hangs on them.
"""

import copy
import json

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from pwa.app.contract import SHOP
from pwa.app.kinds.table import KINDS
from pwa.app.record import chain
from server.store import entries
from tests.app.kinds.test_pages import SHA256, filled, pages
from tests.helpers.notebooks import PHONE, Desk
from tests.helpers.samples import sample
from tests.helpers.trade import CONTENT, accept_all
from tests.helpers.twin import crossing

STRANGER = {"id": "stranger", "name": "Another phone", "seq": 0, "head": "", "clock": ""}
LETTERS = ["x" * 30_000, "\ud83d", "\U0001f527", "__class__", "-1", "nan"]
NUMBERS = [10**40, -(10**40), 1e29, -1e29, 5e-324, 2**53, 0, -1]
SHAPES = [["x"], [], {}, {"a": {"b": []}}, [[]]]
WRONG = st.one_of(
    st.none(), st.booleans(), st.integers(), st.integers(-3, 200), st.text(max_size=12),
    st.floats(allow_nan=False, allow_infinity=False), st.sampled_from([*LETTERS, *NUMBERS, *SHAPES]),
)  # fmt: skip
CLOCKS = st.sampled_from(["", "", "9" * 15 + ".0000000", "5" * 15 + "." + "1" * 20])
V = st.one_of(st.just(1), st.just(1), st.just(1), st.sampled_from([2, 0, "1", None, True, 1.5, [], 10**30]))


@pytest.fixture(scope="module")
def begun():
    """A job on a phone and at the desk, its cautions accepted, with a photo and marks on each joint."""
    found = []
    for host in ("phone", "desk"):
        writer = Desk(CONTENT, host=host, name="writer")
        job = writer.open_job().removeprefix("/desk")
        accept_all(writer, job)
        found.append((writer, job))
    return found


def places(value, path=()):
    """Every part of a value, however deep, by its path."""
    found = [path]
    inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, item in inner:
        found += places(item, (*path, key))
    return found


def put(data, path, wrong):
    """A copy of the data with one part of it replaced; the very part itself cannot be."""
    made = copy.deepcopy(data)
    at = made
    for key in path[:-1]:
        at = at[key]
    if wrong == "gone" and isinstance(at, dict):
        del at[path[-1]]
    else:
        at[path[-1]] = wrong
    return made


@st.composite
def records(draw):
    kind = draw(st.sampled_from(list(KINDS.values())))
    data = filled(kind, draw(st.sampled_from(["least", "most"])), draw(st.integers(0, 8)))
    paths = places(data)[1:]
    for _ in range(draw(st.integers(0, 2)) if paths else 0):
        path = draw(st.sampled_from(paths))
        try:
            data = put(data, path, draw(st.just("gone") | WRONG))
        except (KeyError, TypeError, IndexError):
            continue  # the first wrong part took this one along
    return (
        kind,
        data,
        draw(V),
        draw(st.sampled_from(["", "", "9" * 15 + ".0000000", "5" * 15 + "." + "1" * 20])),
    )


def written(job, kind, data, v, clock):
    """The record as a stranger wrote it, and beside marks the photo that they are on."""
    where = SHOP if kind.section == "on the shop's page" else job[5:]
    drafts = [{"job": where, "kind": kind.name, "data": data, "replaces": []}]
    if kind.name == "marks":
        photo = {**sample(KINDS["photo"].fields, True), "sha256": SHA256, "width": 900}
        photo.update({name: data[name] for name in ("joint", "moment") if isinstance(data.get(name), str)})
        drafts.insert(0, {"job": where, "kind": "photo", "data": photo, "replaces": []})
    texts, _ = chain.seal(drafts, STRANGER, 1_764_065_263_000, "0123456789abcdef" * 8, "")
    record = json.loads(texts[-1])
    return [*texts[:-1], json.dumps({**record, "v": v, **({"clock": clock} if clock else {})})]


def ask(desk, path, texts):
    request = {
        "method": "GET", "path": path, "query": {}, "form": {}, "now": desk.now, "zone": 0,
        "random": "0" * 4096, "host": desk.host, "base": desk.base, "device": desk.device,
        "status": desk.known,
    }  # fmt: skip
    rows = [chain.row(text) for text in texts]
    needs = desk.notebook.needs(request)
    return request, [row for row in rows if row["job"] == needs["job"] or row["kind"] in needs["kinds"]]


FOUND = (Phase.explicit, Phase.reuse, Phase.generate)  # to shrink one takes minutes
SLOW = (HealthCheck.too_slow, HealthCheck.data_too_large)


@settings(max_examples=30, phases=FOUND, suppress_health_check=SLOW)
@given(records())
def test_no_page_fails_over_any_record_and_none_is_lost(begun, record):
    for desk, job in begun:
        texts = written(job, *record)
        entries.read(texts[-1])
        id = json.loads(texts[-1])["id"]
        for path in pages(job):
            request, rows = ask(desk, path, desk.texts + texts)
            answer = desk.notebook.answer(request, rows)
            assert answer["status"] < 500, path
            # Who writes under which name stands beside what they wrote, and in no story of its own.
            if path == {"prices": "/prices", "person": ""}.get(record[0].name, f"{job}/timeline"):
                assert f'id="r-{id}"' in answer["body"]


@settings(max_examples=8, phases=FOUND, suppress_health_check=SLOW)
@given(records(), st.data())
def test_the_phone_says_the_same_of_it(begun, record, data):
    desk, job = begun[0]
    texts = written(job, *record)
    for path in (f"{job}/timeline", data.draw(st.sampled_from(pages(job)))):
        request, rows = ask(desk, path, desk.texts + texts)
        here = desk.notebook.answer(request, rows)
        there = PHONE.answer(desk.content, crossing(request), crossing(rows))
        assert (there["status"], there["body"]) == (here["status"], here["body"]), path
