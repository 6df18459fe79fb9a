"""A restored phone's own records, written again by a new device: the same on both interpreters."""

import json

import pytest

from pwa.app import contract
from pwa.app.record import chain, forked

OLD = {"id": "old", "name": "Bay 2 phone", "seq": 7, "head": "a" * 64, "clock": "001764065263000.0000000"}
RANDOM = "0123456789abcdef" * 20
FRESH = "f0e1d2c3b4a5968778" * 20


@pytest.fixture(scope="module")
def both(twin):
    return twin("pwa.app.record.forked")


@pytest.fixture
def texts():
    """A torque sheet, a bolt that names it by its id, and the bolt's correction with a later field."""
    sheet = chain.draft("job", "fastener", {"place": "turbine"})
    made, state = chain.seal([sheet], OLD, 1_764_065_264_000, RANDOM, "")
    data = {"fastener": json.loads(made[0])["id"], "bolt": 1, "deep": [{"x": []}]}
    bolt = chain.draft("job", "torque", data)
    more, state = chain.seal([bolt], state, 1_764_065_265_000, RANDOM[3:], "")
    made += more
    again = chain.draft("job", "torque", {"bolt": 1}, [json.loads(made[1])["id"], "somebody-elses"])
    made += chain.seal([again], state, 1_764_065_266_000, RANDOM[5:], "")[0]
    return [*made[:2], json.dumps({**json.loads(made[2]), "later": {"n": None}, "v": 3})]


def test_the_copy_says_the_same_in_a_chain_of_its_own(both, texts):
    made = forked.fork(texts, OLD, "new", FRESH)
    old, (*new, name) = [[json.loads(text) for text in some] for some in (texts, made["records"])]
    ids = {record["id"]: copy["id"] for record, copy in zip(old, new, strict=True)}
    assert len(set(ids.values()) | set(ids)) == 6
    assert [(copy["device"], copy["seq"]) for copy in new] == [("new", 1), ("new", 2), ("new", 3)]
    head = ""
    for text, copy in zip(made["records"], (*new, name), strict=True):
        assert copy["prev"] == head
        head = chain.digest(text)
    clock = "001764065263000.0000001"
    assert made["device"] == {**OLD, "id": "new", "seq": 4, "head": head, "clock": clock}
    assert (name["kind"], name["data"], name["job"]) == ("person", {"name": OLD["name"]}, contract.SHOP)
    assert {copy["author"] for copy in (*new, name)} == {"device new"}
    for record, copy in zip(old, new, strict=True):
        for field in ("job", "clock", "time", "kind", "v"):
            assert copy[field] == record[field]
        assert copy["replaces"] == [*(ids.get(item, item) for item in record["replaces"]), record["id"]]
    assert new[1]["data"] == {"fastener": new[0]["id"], "bolt": 1, "deep": [{"x": []}]}
    assert new[2]["later"] == {"n": None}
    assert both.fork([], {**OLD, "name": contract.NO_NAME}, "new", "")["device"]["seq"] == 0


def test_the_copy_of_what_an_older_version_wrote_still_claims_its_author(texts):
    older = [json.dumps({**json.loads(text), "author": "Bay 2"}) for text in texts]
    copies = [json.loads(text) for text in forked.fork(older, OLD, "new", FRESH)["records"]]
    assert [copy["author"] for copy in copies] == ["Bay 2"] * 3 + ["device new"]


def test_both_interpreters_write_the_same(micropython, texts):
    args = [texts, OLD, "new", FRESH]
    there = micropython.call(module="pwa.app.record.forked", name="fork", call=True, args=args, kwargs={})[
        "value"
    ]
    # Key order may differ between the interpreters, so texts and their hashes do.
    here, there = (
        [{**json.loads(text), "prev": ""} for text in side["records"]] for side in (forked.fork(*args), there)
    )
    assert here == there


def test_only_a_chain_that_lacks_the_servers_end_is_an_old_copy(both, texts):
    here = {"seq": 8, "head": chain.digest(texts[0])}
    assert both.is_restored(here, texts[0]) is False  # the phone goes on from there: no copy
    assert both.is_restored(here, texts[1]) is True
    assert both.is_restored(here, "") is True
