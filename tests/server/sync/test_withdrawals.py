"""Withdrawing over real HTTP: what was said and shown is gone from every copy, and all chains still hold."""

import json
from typing import Any

import pytest

from pwa.app.record import chain, remains
from server.store import check
from server.store.people import NOBODY
from tests.server.sync.test_uploads import create, patch, picture, sha


def withdrawing(phone: Any, *texts: str) -> list[str]:
    ids = [json.loads(text)["id"] for text in texts]
    return [phone.write("", kind="withdrawal", records=[id], reason="a face")[0] for id in ids]


def texts_of(said: Any) -> list[Any]:
    return [json.loads(text) for text in said["records"]]


def sent(phone: Any, content: bytes) -> str:
    """A photo's record and its bytes, both at the server."""
    text = phone.write("", kind="photo", sha256=sha(content))[0]
    phone.sync(text)
    patch(phone, create(phone, content).headers["Location"], content, 0)
    return str(text)


def everywhere(server: Any) -> bytes:
    server.shop.store._db.execute("pragma wal_checkpoint(truncate)")
    return b"".join(path.read_bytes() for path in server.settings.data.rglob("*") if path.is_file())


def test_a_text_goes_from_the_server_and_from_a_phone_that_has_read_it(server, phone, another) -> None:
    other = another()
    texts = phone.write("before", "the driver's name is on it", "after")
    phone.sync(*texts)
    assert b"driver's name" in everywhere(server)
    assert len(texts_of(other.sync())) == 3
    phone.sync(*withdrawing(phone, texts[1]))
    assert b"driver's name" not in everywhere(server)
    left = {record["id"]: record for record in texts_of(other.sync())}[json.loads(texts[1])["id"]]
    assert left["data"] == {} and left["withdrawn"] == chain.digest(texts[1])
    assert check.check(server.shop).problems == []
    assert phone.sync(*phone.write("the chain goes on"))["refused"] == []


def test_the_phone_itself_is_given_the_remains_of_what_the_desk_withdrew(server, phone) -> None:
    text = phone.write("a name")[0]
    phone.sync(text)
    desk = server.shop.ledger.device(server.shop.access.desk(NOBODY, True), "Desk")
    drafts: Any = [
        {"job": "job", "kind": "withdrawal", "data": {"records": [json.loads(text)["id"]]}, "replaces": []}
    ]
    server.shop.ledger.take(desk["id"], chain.seal(drafts, desk, 1, "ab" * 20, "")[0], 1)
    assert any(record.get("withdrawn") == chain.digest(text) for record in texts_of(phone.sync()))
    # It may offer the text again, after a restored backup of its own say: it stays withdrawn.
    assert phone.sync(text)["taken"] == [json.loads(text)["id"]]
    assert b"a name" not in everywhere(server)


def test_another_phone_can_ask_and_nothing_goes(server, phone, another) -> None:
    text, other = phone.write("stays")[0], another()
    phone.sync(text)
    assert other.sync(*withdrawing(other, text))["refused"] == []
    assert server.shop.ledger.of_kinds(["note"])[0]["data"] == {"text": "stays"}


def test_a_withdrawal_that_comes_first_meets_what_it_names(server, phone, another) -> None:
    text = phone.write("a name")[0]
    later = withdrawing(phone, text)
    server.shop.ledger.carry(later, 1)
    phone.sync(text, *later)
    assert b"a name" not in everywhere(server)


def test_a_phone_may_send_the_remains_of_what_it_never_sent(server, phone) -> None:
    texts = phone.write("a name", "more")
    assert phone.sync(remains.of(texts[0]), texts[1])["refused"] == []
    assert check.check(server.shop).problems == []


def test_remains_in_a_file_take_nothing_away(server, phone) -> None:
    texts = phone.write("evidence", "more")
    phone.sync(texts[0])
    server.shop.ledger.carry([remains.of(text) for text in texts], 1)
    assert server.shop.ledger.of_kinds(["note"])[0]["data"] == {"text": "evidence"}
    assert phone.sync(texts[1])["refused"] == []
    assert server.shop.ledger.of_kinds(["note"])[1]["data"] == {"text": "more"}
    assert check.check(server.shop).problems == []


def test_a_photo_goes_and_does_not_come_back(server, phone, another, browser) -> None:
    content, other = picture(), another()
    text = sent(phone, content)
    other.sync()
    said = phone.sync(*withdrawing(phone, text))
    assert content not in everywhere(server)
    assert browser.get(f"/desk/photo/{sha(content)}", follow_redirects=False).status_code == 307
    assert sha(content) in said["gone"] and other.sync()["gone"] == [sha(content)]
    assert create(phone, content).status_code == 410
    phone.sync(*phone.write("", kind="photo", sha256=sha(content)))
    assert phone.sync()["photos_wanted"] == []
    assert check.check(server.shop).problems == []


def test_a_photo_that_another_phone_names_too_stays(server, phone, another) -> None:
    content, thief = picture(), another()
    sent(phone, content)
    own = thief.write("", kind="photo", sha256=sha(content))[0]
    thief.sync(own, *withdrawing(thief, own))
    assert server.shop.photos.kept(sha(content)).path.read_bytes() == content


def test_a_photo_half_sent_goes_too(server, phone) -> None:
    content = picture()
    text = phone.write("", kind="photo", sha256=sha(content))[0]
    phone.sync(text)
    place = create(phone, content).headers["Location"]
    patch(phone, place, content[:500], 0)
    phone.sync(*withdrawing(phone, text))
    assert content[:500] not in everywhere(server)
    assert patch(phone, place, content[500:], 500).status_code in (404, 410)


@pytest.mark.parametrize("records", [None, 7, ["x"], [["x"], 7], "", [None], {"a": 1}])
def test_a_withdrawal_of_nothing_is_kept_and_harms_nothing(server, phone, records: Any) -> None:
    assert phone.sync(*phone.write("", kind="withdrawal", records=records))["refused"] == []
