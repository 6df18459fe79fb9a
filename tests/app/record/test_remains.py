"""What remains of a withdrawn record: the chain holds, and nothing of what it said is left."""

import hashlib
import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pwa.app.record import chain, envelope, incoming, integrity, jobs, remains

PHONE: Any = {"id": "p1", "name": "Bay 2 phone", "seq": 0, "head": "", "clock": ""}
RANDOM = hashlib.shake_256(b"").hexdigest(400)
SHA = "ab" * 32


def sealed(*data: Any, kind: Any = "note") -> tuple[list[str], Any]:
    drafts: Any = [{"job": "j", "kind": kind, "data": item, "replaces": []} for item in data]
    return chain.seal(drafts, PHONE, 1_764_065_263_000, RANDOM, "")


@given(st.lists(st.text(min_size=1), min_size=1, max_size=6), st.data())
def test_any_records_of_a_chain_can_go_and_the_chain_still_holds(notes: list[str], data: Any) -> None:
    texts, device = sealed(*({"text": note} for note in notes))
    going = data.draw(st.sets(st.integers(0, len(texts) - 1)))
    left = [remains.of(text) if n in going else text for n, text in enumerate(texts)]
    whole, damaged = integrity.sort_out([chain.row(text) for text in left], device)
    assert damaged == [] and len(whole) == len(texts)
    assert not any(incoming.judge(left, {**PHONE, "id": "p2"}, {})["refused"])
    assert [chain.link(text) for text in left] == [chain.digest(text) for text in texts]
    assert {record["id"] for record in jobs.fold("j", whole)["heads"]} == {
        record["id"] for n, record in enumerate(whole) if n not in going
    }


def test_both_interpreters_leave_the_envelope_and_the_hash_alone(twin, micropython) -> None:
    texts, _ = sealed({"text": 'Seen by Ä. "withdrawn": "no"'})
    left = json.loads(remains.of(texts[0]))
    there = micropython.call(
        module="pwa.app.record.remains", name="of", call=True, args=texts, kwargs={}
    )["value"]  # fmt: skip
    assert json.loads(there) == left and remains.is_of(there, remains.of(texts[0]))
    assert left["data"] == {} and left["author"] == "" and "Seen" not in json.dumps(left)
    assert left["withdrawn"] == chain.digest(texts[0]) == twin("pwa.app.record.chain").link(json.dumps(left))
    assert envelope.wrong(left) == ""


def test_a_note_that_speaks_of_withdrawn_things_is_no_remains(twin) -> None:
    texts, _ = sealed({"text": '"withdrawn"', "withdrawn": "x"})
    assert twin("pwa.app.record.chain").link(texts[0]) == chain.digest(texts[0])


def test_a_photo_leaves_its_hash_and_what_remains_is_its_own_remains() -> None:
    texts, _ = sealed({"sha256": SHA, "caption": "The driver"}, kind="photo")
    left = remains.of(texts[0])
    assert json.loads(left)["data"] == {"sha256": SHA}
    assert remains.of(left) == left and remains.is_of(left, texts[0]) and remains.is_of(texts[0], left)


@pytest.mark.parametrize(
    "change",
    [
        {"withdrawn": "not a hash"},
        {"withdrawn": ["a"]},
        {"data": {"text": "still here"}},
        {"data": {"sha256": SHA, "caption": "still here"}},
        {"data": {"caption": SHA}},
    ],
)
def test_what_says_it_is_withdrawn_and_holds_something_is_no_entry(change: Any, twin) -> None:
    texts, _ = sealed({"sha256": SHA, "caption": "The driver"}, kind="photo")
    changed = {**json.loads(remains.of(texts[0])), **change}
    assert twin("pwa.app.record.envelope").wrong(changed)


def test_photos_go_with_the_last_record_that_names_them() -> None:
    texts, _ = sealed({"sha256": SHA}, {"sha256": SHA}, {"sha256": "cd" * 32}, kind="photo")
    rows = [chain.row(text) for text in texts]
    ids = [row["id"] for row in rows]
    assert remains.left_of(rows, ids[:1])[1] == []
    assert set(remains.left_of(rows, ids[:2])[1]) == {SHA}
