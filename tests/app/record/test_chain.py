"""Records: ids, clocks and chains, on both interpreters."""

import hashlib
import json
import uuid

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pwa.app.record import chain

PHONE = {"id": "p1", "name": "Bay 2 phone", "seq": 0, "head": "", "clock": ""}
RANDOM = "0123456789abcdef" * 32


@pytest.fixture(scope="module")
def both(twin):
    return twin("pwa.app.record.chain")


def test_uuid7_matches_the_example_of_rfc_9562_appendix_a6(both):
    # RFC 9562 appendix A.6: 0x017F22E279B0, rand_a 0xCC3, rand_b 0x18C4DC0C0C07398F
    assert both.uuid7(0x017F22E279B0, "cc398c4dc0c0c07398f0") == "017f22e2-79b0-7cc3-98c4-dc0c0c07398f"


@given(st.integers(0, 2**48 - 1), st.text("0123456789abcdef", min_size=20, max_size=20))
def test_every_id_is_a_version_7_uuid(now, random):
    made = uuid.UUID(chain.uuid7(now, random))
    assert (made.version, made.variant) == (7, uuid.RFC_4122)
    assert made.int >> 80 == now


def test_chain_links_each_record_to_the_text_before_it(both):
    drafts = [chain.draft("j", "note", {"text": f"n° {n}"}) for n in range(3)]
    texts, device = chain.seal(drafts, PHONE, 1000, RANDOM, "")
    assert [json.loads(text)["seq"] for text in texts] == [1, 2, 3]
    assert json.loads(texts[2])["prev"] == hashlib.sha256(texts[1].encode()).hexdigest()
    assert device["head"] == both.digest(texts[2])
    assert device["seq"] == 3


def test_both_interpreters_seal_the_same_record(twin, both, micropython):
    drafts = [chain.draft("j", "note", {"text": "é ✓", "n": 1.5}, ["x"])]
    here, _ = chain.seal(drafts, PHONE, 1764065263000, RANDOM, "")
    there = micropython.call(
        module="pwa.app.record.chain", name="seal", call=True,
        args=[drafts, PHONE, 1764065263000, RANDOM, ""], kwargs={},
    )["value"][0]  # fmt: skip
    assert json.loads(here[0]) == json.loads(there[0])


def test_clock_never_runs_backwards_though_the_phone_does(both):
    ahead = both.tick("", 2_000_000)
    behind = both.tick(ahead, 1_000)
    assert behind > ahead
    assert both.read_clock(behind) == (2_000_000, 1)


@given(st.lists(st.integers(0, 2**41), min_size=1, max_size=40))
def test_clock_text_sorts_in_the_order_it_was_ticked(times):
    clock, seen = "", []
    for now in times:
        clock = chain.tick(clock, now)
        seen.append(clock)
    assert seen == sorted(set(seen))


def test_order_is_the_same_for_every_arrival(both):
    texts, phone = chain.seal([chain.draft("j", "note", {}) for _ in range(3)], PHONE, 5, RANDOM, "")
    other, _ = chain.seal(
        [chain.draft("j", "note", {})], {**PHONE, "id": "p2"}, 4, RANDOM[7:], phone["clock"]
    )
    made = [json.loads(text) for text in texts + other]
    assert both.in_order(made) == both.in_order(list(reversed(made)) + made[:2]) == made


def test_a_replaced_record_is_no_head(both):
    old = {"id": "a", "job": "j", "replaces": []}
    new = {"id": "b", "job": "j", "replaces": ["a"]}
    rival = {"id": "c", "job": "j", "replaces": ["a"]}
    assert both.heads([old, new, rival]) == [new, rival]


def test_a_record_of_another_job_replaces_nothing(both):
    old = {"id": "a", "job": "j", "replaces": []}
    stranger = {"id": "b", "job": "k", "replaces": ["a"]}
    assert both.heads([old, stranger]) == [old, stranger]
