"""A file can say what it likes of a phone: the phone is never held up, and its own word decides."""

import json
import secrets
from typing import Any, cast

import pytest

from pwa.app.record import chain
from server.store.check import check
from tests.helpers.servers import Device
from tests.helpers.signing import Signer
from tests.server.files.test_files import packed, take

_draft = cast("Any", chain.draft)


@pytest.fixture
def phone(server):
    signer = Signer(server)
    signer.send(*signer.write("1", "2"))
    return signer


@pytest.fixture
def reader(another):
    return another()


def forged(phone, *notes, **changes):
    """What anybody can write who has seen the phone's records: its next ones, with all hashes right."""
    drafts = [_draft("job", "note", {"text": note}) for note in notes]
    texts, _ = chain.seal(drafts, {**phone.state, **changes}, 1_800_000_000_000, secrets.token_hex(400), "")
    return texts


def words(texts):
    return [json.loads(text)["data"]["text"] for text in texts]


def stored(server):
    return sorted(words(server.shop.ledger.texts()))


def aside(server):
    return sorted(words(row["text"] for row in server.shop.store.rows("select text from contradicted")))


def ids(texts):
    return [json.loads(text)["id"] for text in texts]


def test_a_forged_next_entry_gives_way_to_the_phones_own_and_is_kept_aside(server, phone, browser, reader):
    lie = forged(phone, "forged 3")
    assert take(browser, packed(lie))["taken"] == 1
    assert "forged 3" in words(reader.sync()["records"])
    said = phone.send(*phone.write("3"))
    assert (said["taken"], said["signed"]["seq"]) == ("all", 3)
    assert "refused" not in said
    assert (stored(server), aside(server)) == (["1", "2", "3"], ["forged 3"])
    news = reader.sync()
    assert (words(news["records"]), news["contradicted"]) == (["3"], ids(lie))
    assert check(server.shop).problems == []
    assert "the device&#39;s own counts" in browser.get("/desk/devices").text


def test_a_whole_forged_chain_goes_with_its_first_entry(server, phone, browser, reader):
    lies = forged(phone, "forged 3", "forged 4", "forged 5")
    take(browser, packed(lies))
    reader.sync()
    phone.sync(*phone.write("3"))
    assert (stored(server), aside(server)) == (["1", "2", "3"], ["forged 3", "forged 4", "forged 5"])
    assert sorted(reader.sync()["contradicted"]) == sorted(ids(lies))
    assert phone.sync(*phone.write("4"))["refused"] == []
    assert "contradicted" not in reader.sync()
    assert check(server.shop).problems == []
    assert server.shop.ledger.gaps() == []


def test_a_forged_entry_further_on_goes_when_the_phone_comes_to_the_one_before(
    server, phone, browser, reader
):
    take(browser, packed(forged(phone, "forged 4", seq=3, head="f" * 64)))
    reader.sync()
    own = phone.write("3")
    phone.sync(*own)
    assert (stored(server), aside(server)) == (["1", "2", "3"], ["forged 4"])
    assert len(reader.sync()["contradicted"]) == 1


def test_a_forged_entry_does_not_make_the_phone_take_itself_for_a_restored_copy(phone, browser):
    take(browser, packed(forged(phone, "forged 3")))
    assert "here" not in phone.sync(seq=2)


def test_a_forged_entry_under_the_id_of_one_still_on_a_phone_does_not_keep_that_out(
    server, phone, browser, reader
):
    own = phone.write("3")
    [lie] = forged(reader, "forged")
    take(browser, packed([lie.replace(json.loads(lie)["id"], json.loads(own[0])["id"])]))
    assert phone.sync(*own)["refused"] == []
    assert (stored(server), aside(server)) == (["1", "2", "3"], ["forged"])


def test_what_a_file_brought_truly_is_the_phones_own_word_once_it_says_the_same(
    server, phone, browser, reader
):
    own = phone.write("3", "4")
    take(browser, packed(own))
    assert words(reader.sync()["records"])[-2:] == ["3", "4"]
    assert phone.send(*own)["taken"] == "all"
    news = reader.sync()
    assert (news["records"], "contradicted" in news, aside(server)) == ([], False, [])


def test_the_phone_goes_on_beyond_what_a_file_brought_of_it(server, phone, browser, another):
    """A true file first, then a forged one on top of it."""
    own = phone.write("3", "4")
    take(browser, packed(own))
    take(browser, packed(forged(phone, "forged 5")))
    phone.sync(*own)
    assert phone.sync(*phone.write("5"))["refused"] == []
    assert (stored(server), aside(server)) == (["1", "2", "3", "4", "5"], ["forged 5"])


def test_a_photo_that_only_a_forged_entry_names_is_not_asked_of_the_phone_for_ever(server, phone, browser):
    texts, _ = chain.seal(
        [_draft("job", "photo", {"sha256": "a" * 64})], phone.state, 1, secrets.token_hex(20), ""
    )
    take(browser, packed(texts))
    assert server.shop.ledger.wanted(phone.state["id"]) == ["a" * 64]
    phone.sync(*phone.write("3"))
    assert server.shop.ledger.wanted(phone.state["id"]) == []
    assert check(server.shop).notes == ["not signed yet: 1 records, of 1 devices"]


def test_a_phone_that_has_no_key_yet_is_no_easier_to_forge(server, browser):
    phone = Device(server)
    phone.sync(*phone.write("1"))
    take(browser, packed(forged(phone, "forged 2")))
    assert phone.sync(*phone.write("2"))["refused"] == []
    assert (stored(server), aside(server)) == (["1", "2"], ["forged 2"])


@pytest.mark.parametrize("true", [[], ["3"]], ids=["all forged", "the first one true"])
def test_a_reader_that_had_the_forged_entries_does_not_take_the_store_for_put_back(
    server, phone, browser, reader, true
):
    own = phone.write(*true)
    take(browser, packed(own + forged(phone, "forged")))
    before = reader.sync(mark="", acked=0)
    assert before["mark"]
    said = phone.sync(*(own or phone.write("3")), *phone.write("4"))
    assert said["refused"] == []
    after = reader.sync(mark=before["mark"], acked=0)
    assert (after["behind"], after["epoch"]) == (False, before["epoch"])
    assert len(after["contradicted"]) == 1
    for _ in range(2):
        after = reader.sync(mark=after["mark"], acked=0)
        assert not after["behind"]


def test_the_desk_is_shown_what_was_contradicted_and_it_is_marked(server, phone, browser):
    take(browser, packed(forged(phone, "forged 3")))
    phone.sync(*phone.write("3"))
    rows = server.shop.ledger.rows({"job": "job", "kinds": []})
    assert [json.loads(row["text"])["data"]["text"] for row in rows if row.get("contradicted")] == [
        "forged 3"
    ]
    assert len(rows) == 4


def test_a_withdrawal_that_a_file_puts_into_a_phones_mouth_takes_nothing_away(server, phone, browser):
    texts = list(server.shop.ledger.texts())
    said = [_draft("job", "withdrawal", {"records": ids(texts), "reason": "forged"})]
    lie, _ = chain.seal(said, phone.state, 1_800_000_000_000, secrets.token_hex(20), "")
    assert take(browser, packed(lie))["taken"] == 1
    assert stored_notes(server) == ["1", "2"]
    phone.sync(*phone.write("3"))
    assert stored_notes(server) == ["1", "2", "3"]
    true, phone.state = chain.seal(said, phone.state, 1_800_000_000_000, secrets.token_hex(20), "")
    take(browser, packed(true))
    assert stored_notes(server) == ["1", "2", "3"]
    phone.sync(*true)
    assert stored_notes(server) == ["3"]


def stored_notes(server):
    records = [json.loads(text) for text in server.shop.ledger.texts()]
    return sorted(record["data"]["text"] for record in records if record["data"].get("text"))
