"""Records over real HTTP: taken once, in order, unaltered, and merged between phones."""

import json
import time

import httpx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pwa.app import contract
from pwa.app.record import chain
from server.store import ledger
from server.sync import bodies, sync
from tests.helpers import servers


def refusals(said):
    return [(refusal["seq"], refusal["error"]) for refusal in said["refused"]]


def test_without_a_token_nothing_is_taken(server, phone):
    texts = phone.write("a note")
    for header in ({}, {"Authorization": "Bearer wrong"}, {"Authorization": phone.token}):
        answer = httpx.post(server.url + "/sync", json={"records": texts}, headers=header)
        assert answer.status_code == 401
        assert answer.json()["error"] == "not_enrolled"
    assert server.shop.ledger.of_kinds(["note"]) == []


def test_a_code_enrols_one_phone_once(server):
    code = server.shop.new_code("phone")
    asked = {"code": code.lower().replace("-", " "), "device": "one", "name": "One"}
    assert httpx.post(server.url + "/enrol", json=asked).status_code == 200
    again = httpx.post(server.url + "/enrol", json={**asked, "device": "two"})
    assert (again.status_code, again.json()["error"]) == (403, "bad_code")


def test_an_old_code_and_a_desk_code_enrol_nobody(server):
    old = server.shop.access.new_code("phone", time.time_ns() // 1_000_000 - 3_600_001, 60)
    for code in (old, server.shop.new_code("desk"), "", "AAAA-AAAA"):
        answer = httpx.post(server.url + "/enrol", json={"code": code, "device": "one", "name": "One"})
        assert answer.status_code == 403


def test_nobody_can_enrol_as_the_desk(server, browser):
    browser.post("/desk/job/1/note", data={"text": "first"})
    (desk,) = server.shop.access.desks()
    asked = {"code": server.shop.new_code("phone"), "device": desk, "name": "Mallory"}
    assert httpx.post(server.url + "/enrol", json=asked).json()["error"] == "device_taken"


def test_no_secret_is_stored_as_it_is(server, phone, browser):
    stored = b"".join(path.read_bytes() for path in server.settings.data.glob("layby.db*"))
    assert phone.token.encode() not in stored
    assert browser.cookies["layby"].encode() not in stored
    assert phone.state["id"].encode() in stored


def test_sending_again_changes_nothing(phone, another):
    texts = phone.write("first", "second ✓ é")
    ids = [json.loads(text)["id"] for text in texts]
    assert phone.sync(*texts)["taken"] == ids
    assert phone.sync(*texts)["taken"] == ids
    assert another().sync()["records"] == texts


def test_two_phones_end_up_with_the_same_records(phone, another):
    other = another()
    mine, theirs = phone.write("mine"), other.write("theirs")
    assert phone.sync(*mine)["records"] == []
    assert other.sync(*theirs)["records"] == mine
    assert phone.sync()["records"] == theirs
    assert phone.sync()["records"] == other.sync()["records"] == []


def test_unknown_fields_and_spacing_survive(phone, another):
    text = json.dumps({**json.loads(phone.write("n")[0]), "later": {"x": [1, None]}}, indent=3)
    assert phone.sync(text)["refused"] == []
    assert another().sync()["records"] == [text]


def test_a_gap_is_refused_named_and_closed_later(phone, another, browser):
    one, two, three, four = phone.write("1", "2", "3", "4")
    said = phone.sync(one, four)
    assert refusals(said) == [(4, "gap")]
    assert "Records 2 to 3" in said["refused"][0]["message"]
    gap = {"device": phone.state["id"], "name": "Bay 2 phone", "from": 2, "to": 3}
    assert said["gaps"] == another().sync()["gaps"] == [gap]
    told = "Bay 2 phone: entries 2 to 3 are not at the shop yet. They are on that phone; send from it."
    assert told in browser.get("/desk/devices").text
    said = phone.sync(two, three, four)
    assert (said["refused"], said["gaps"]) == ([], [])
    assert "not at the shop yet" not in browser.get("/desk/devices").text


def test_an_altered_record_is_refused_and_the_first_stays(phone, another, browser):
    text = phone.write("true")[0]
    phone.sync(text)
    altered = text.replace("true", "false")
    assert refusals(phone.sync(altered)) == [(1, "altered")]
    assert another().sync()["records"] == [text]
    assert "Another record is here" in browser.get("/desk/devices").text


def test_a_record_that_follows_another_history_is_refused(phone, another):
    first, second = phone.write("first", "second")
    phone.sync(first.replace("first", "other"))
    assert refusals(phone.sync(second)) == [(2, "altered")]


def test_a_phone_cannot_speak_for_another(phone, another):
    texts = another().write("not mine")
    assert refusals(phone.sync(*texts)) == [(1, "relayed")]
    answer = phone.post(device="somebody")
    assert (answer.status_code, answer.json()["error"]) == (403, "other_device")


def test_one_bad_record_does_not_hold_up_those_before_it(phone):
    good = phone.write("good")[0]
    said = phone.sync(good, "{", '{"id": NaN}', "[" * 100_000, json.dumps("\ud800"), "null")
    assert len(said["taken"]) == 1
    assert {error for _, error in refusals(said)} == {"malformed"}


@pytest.mark.parametrize(
    "change",
    [{"seq": 0}, {"seq": True}, {"seq": 2**60}, {"prev": "x"}, {"id": "../../etc"}, {"kind": "A B"},
     {"data": []}, {"replaces": "all"}, {"clock": "soon"}, {"time": 1.5}],
)  # fmt: skip
def test_a_record_with_a_wrong_field_is_refused_by_its_name(phone, change):
    text = json.dumps({**json.loads(phone.write("n")[0]), **change})
    said = phone.sync(text)
    assert refusals(said) == [(0, "malformed")]
    assert next(iter(change)) in said["refused"][0]["message"]


def test_a_wrong_clock_is_no_reason_to_refuse(phone):
    text = json.dumps({**json.loads(phone.write("n")[0]), "time": -5, "clock": "253402300800000.0000001"})
    assert phone.sync(text)["refused"] == []


def test_many_records_come_in_pages(phone, another, monkeypatch):
    monkeypatch.setattr(ledger, "REPLY_RECORDS", 7)
    texts = phone.write(*map(str, range(20)))
    phone.sync(*texts)
    other, seen, pages = another(), [], 0
    while True:
        said = other.sync()
        seen, pages = seen + said["records"], pages + 1
        if not said["more"]:
            break
    assert (seen, pages) == (texts, 3)


def test_large_records_come_in_pages_too(phone, another, monkeypatch):
    monkeypatch.setattr(ledger, "REPLY_SIZE", 3000)
    texts = phone.write("x" * 2000, "y" * 2000)
    phone.sync(*texts)
    other = another()
    first = other.sync()
    assert (first["records"], first["more"]) == (texts[:1], True)
    assert other.sync()["records"] == texts[1:]


def test_a_cursor_of_another_epoch_starts_again(phone, another):
    texts = phone.write("n")
    phone.sync(*texts)
    other = another()
    other.sync()
    assert other.sync(epoch="the store before the restore")["records"] == texts


def test_records_outlive_the_server(server, phone, another):
    texts = phone.write("kept")
    epoch = phone.sync(*texts)["epoch"]
    server.stop()
    server.start()
    assert another().sync()["records"] == texts
    assert phone.sync()["epoch"] == epoch


def test_both_ways_may_be_packed(phone, another):
    texts = phone.write(*["the same words again and again " * 10] * 20)
    assert len(phone.sync(*texts, packed=True)["taken"]) == 20
    answer = another().post()
    assert answer.headers["Content-Encoding"] == "gzip"
    assert answer.json()["records"] == texts


def test_a_sync_with_nothing_new_is_small(phone):
    """Under 500 bytes both ways with the headers that the protocol needs; a browser sends some of its own."""
    phone.sync(*phone.write("n"))
    answer = phone.post(packed=True, short=True, seq=1)
    assert (answer.status_code, answer.content) == (204, b"")
    needed = ("host", "content-length", "content-encoding", "authorization")
    asked = [item for item in answer.request.headers.raw if item[0].decode().lower() in needed]
    assert len(asked) == len(needed)
    head = sum(len(name) + len(value) + 4 for name, value in [*asked, *answer.headers.raw])
    assert head + len("POST /sync HTTP/1.1HTTP/1.1 204 No Content....") + len(answer.request.content) < 500


def test_nothing_new_is_said_only_when_nothing_is(phone, another):
    phone.sync(*phone.write("n"))
    for news in ({"epoch": "other"}, {"cursor": 0}, {"seq": 0}, {"short": False}):
        assert phone.post(**{"short": True, "seq": 1, **news}).status_code == 200, news
    other = another()
    other.sync(*other.write("o"))
    assert phone.post(short=True, seq=1).status_code == 200


@given(st.permutations(range(8)), st.sampled_from([json.dumps, lambda record: json.dumps(record, indent=1)]))
def test_a_shortened_answer_is_the_same_records(order, write):
    """In whatever order, also with a text that only looks as if it carried another one's hash."""
    texts = []
    for device in ("a", "b"):
        state = {"id": device, "name": "", "seq": 0, "head": "", "clock": ""}
        drafts = [chain.draft("job", "note", {"text": f"\u00fc {n}"}) for n in range(3)]
        texts += chain.seal(drafts, state, 1, "0123456789abcdef" * 4, "")[0]
    forged = {**json.loads(texts[0]), "prev": "0" * 64, "data": {"prev": chain.digest(texts[1])}}
    texts += [write(forged), write(json.loads(texts[2]))]
    given_out = [texts[place] for place in order]
    short = sync.shortened(given_out)
    assert servers.whole(json.loads(json.dumps(short))) == given_out


def test_a_short_answer_leaves_out_hashes_and_what_is_empty(phone, another):
    texts = phone.write(*map(str, range(20)))
    assert phone.sync(*texts, short=True, seq=20)["taken"] == "all"
    said = another().sync(short=True, seq=0)
    assert set(said) == {"epoch", "time", "cursor", "more", "records"}
    assert [isinstance(item, str) for item in said["records"]] == [True] + [False] * 19
    assert servers.whole(said["records"]) == texts


def test_a_bomb_is_not_unpacked(phone, monkeypatch):
    monkeypatch.setattr(bodies, "RECORDS", bodies.Most(wire=10_000, unpacked=10_000))
    answer = phone.post("x" * 20_000, packed=True)
    assert (answer.status_code, answer.json()["error"]) == (413, "too_large")


def test_batches_are_bounded(phone):
    assert phone.post(*["x"] * (contract.TAKEN_RECORDS + 1)).status_code == 400
    assert phone.http.post("/sync", content=b"x" * (bodies.RECORDS.wire + 1)).json()["error"] == "too_large"


def test_another_protocol_is_refused_with_what_to_do_whatever_else_it_says(phone):
    for protocol, what in ((2, "update it"), (3, "update it"), (0, "take the update")):
        answer = phone.post(protocol=protocol, cursor={"new": "kind"})
        assert (answer.status_code, answer.json()["error"]) == (409, "protocol")
        assert what in answer.json()["message"]
        assert "stays safe on this phone" in answer.json()["message"]


def test_a_phone_of_an_older_or_newer_release_is_served(phone, another):
    """Older: none of the fields that came later, and every field of the answer that it reads. Newer: more."""
    texts = phone.write("n")
    said = phone.sync(*texts)
    asked_for = {"epoch", "time", "taken", "refused", "records", "cursor", "more", "photos_wanted", "gaps"}
    assert asked_for <= set(said)
    said = another().sync(seq=0, short=True, later={"x": 1}, hints=["y"])
    assert said["records"] == texts


@pytest.mark.parametrize("version", [2, 3])
def test_a_record_of_a_later_release_goes_through_untouched(phone, another, version):
    record = json.loads(phone.write("n", kind="from-the-future", deep={"unknown": [1, {"x": None}]})[0])
    text = json.dumps({"new": [True], **record, "v": version}, indent=1)
    assert phone.sync(text)["refused"] == []
    assert another().sync()["records"] == [text]


BODIES = [
    b"", b"{", b"[]", b"null", b"\xff\xfe", b'{"protocol": 1}', b"[" * 200_000, b'{"a": 1e999, "b": NaN}',
    b'{"protocol":1,"device":"\\ud800","epoch":"","cursor":0,"records":[]}',
    b'{"protocol":1,"device":"x","epoch":"","cursor":-1,"records":[7]}', b"9" * 10_000,
]  # fmt: skip


@pytest.mark.parametrize("path", ["/sync", "/enrol"])
@pytest.mark.parametrize("encoding", ["identity", "gzip", "br"])
def test_a_malformed_body_is_refused_in_words(phone, path, encoding):
    for body in BODIES:
        answer = phone.http.post(path, content=body, headers={"Content-Encoding": encoding})
        assert 400 <= answer.status_code < 500, body[:50]
        assert set(answer.json()) == {"error", "message"}


@pytest.mark.parametrize("sha256", ["\ud800", 7, None, "../x", ["x"]])
def test_a_photo_record_with_a_strange_hash_wants_no_photo(phone, sha256):
    said = phone.sync(*phone.write("", kind="photo", sha256=sha256))
    assert (len(said["taken"]), said["photos_wanted"]) == (1, [])


@pytest.mark.parametrize("name", ["\ud800", "", "x" * 61])
def test_a_phone_needs_a_name_that_can_be_shown(server, name):
    body = json.dumps({"code": server.shop.new_code("phone"), "device": "one", "name": name})
    assert httpx.post(server.url + "/enrol", content=body.encode()).status_code == 400


def test_half_a_surrogate_in_a_record_is_refused(phone):
    body = json.dumps(
        {"protocol": 1, "device": phone.state["id"], "epoch": "", "cursor": 0, "records": ["\ud800"]}
    )
    answer = phone.http.post("/sync", content=body.encode())
    assert refusals(answer.json()) == [(0, "malformed")]
