"""History that is rewritten with new hashes fits in itself, and no longer with what was signed."""

import json

import pytest

from pwa.app.record import chain
from server import cli
from server.store.check import check
from tests.helpers.signing import Key, Signer


@pytest.fixture
def signer(server):
    phone = Signer(server)
    for text in ("1", "2", "3"):
        phone.send(*phone.write(text))
    phone.send(*phone.write("4", "5", "6"))
    return phone


def rewrite(server, device, seq, words):
    """What an owner of the server can do: other words, and every hash from there on made anew."""
    with server.shop.store.transaction() as db:
        rows = list(db.query("select id, text from records where device = ? order by seq", [device]))
        head = ""
        for number, row in enumerate(rows, 1):
            record = json.loads(row["text"])
            record["prev"] = head
            if number == seq:
                record["data"]["text"] = words
            text = json.dumps(record)
            head = chain.digest(text)
            db.execute("update records set text = ? where id = ?", [text, row["id"]])


def execute(server, sql, *parameters):
    with server.shop.store.transaction() as db:
        assert db.execute(sql, parameters).rowcount > 0


def test_what_nobody_touched_is_whole(server, signer, browser):
    browser.post("/desk/notes", data={"text": "at the desk"})
    report = check(server.shop)
    assert (report.problems, report.notes) == ([], [])


@pytest.mark.parametrize(("seq", "first", "signed"), [(1, 1, 1), (3, 3, 3), (4, 4, 6), (6, 4, 6)])
def test_rewritten_history_is_found_with_its_device_and_from_which_record_on(
    server, signer, seq, first, signed
):
    rewrite(server, signer.state["id"], seq, "I never wrote this")
    [problem] = check(server.shop).problems
    assert problem == (
        f"device {signer.state['id']}: its history was rewritten, from record {first} on or later:"
        f" record {signed} is not what it signed"
    )


def test_the_desks_own_history_is_held_by_signatures_too(server, browser):
    for text in ("one", "two"):
        browser.post("/desk/notes", data={"text": text})
    (desk,) = server.shop.access.desks()
    rewrite(server, desk, 1, "something else")
    [problem] = check(server.shop).problems
    assert problem.startswith(f"device {desk}: its history was rewritten, from record 1 on")


def test_the_end_of_a_chain_cannot_be_cut_off(server, signer):
    execute(server, "delete from records where device = ? and seq > 3", signer.state["id"])
    assert check(server.shop).problems == [f"device {signer.state['id']}: record 6, which it signed, is gone"]


def test_what_comes_after_the_last_signature_is_told_and_no_fault(server, signer):
    signer.sync(*signer.write("7", "8"))
    report = check(server.shop)
    assert report.problems == []
    assert "not signed yet: 2 records, of 1 devices" in report.notes


@pytest.mark.parametrize("field", ["time", "received", "signature", "countersignature", "key", "shop_key"])
def test_an_altered_signature_is_found(server, signer, field):
    value = {"time": 7, "received": 7}.get(field, "A" * 86)
    execute(server, f"update heads set {field} = ? where seq = 2", value)
    [problem] = check(server.shop).problems
    assert problem.startswith(f"signed head 2 of device {signer.state['id']}: ")


@pytest.mark.parametrize("device", ["", "the phone"])
def test_an_exchanged_key_is_found(server, signer, device):
    execute(server, "update keys set spki = ? where device = ?", Key().spki, device and signer.state["id"])
    assert all("gone or was exchanged" in problem for problem in check(server.shop).problems)
    assert len(check(server.shop).problems) == 4


def test_the_command_ends_with_1(server, signer, monkeypatch, capsys):
    monkeypatch.setenv("LAYBY_DATA", str(server.settings.data))
    assert cli.main(["check"]) == 0
    rewrite(server, signer.state["id"], 5, "other words")
    assert cli.main(["check"]) == 1
    assert "its history was rewritten, from record 4 on" in capsys.readouterr().out


def test_a_printed_report_is_held_against_what_is_stored(server, signer, monkeypatch, capsys):
    monkeypatch.setenv("LAYBY_DATA", str(server.settings.data))
    device, head = signer.state["id"], signer.state["head"]
    line = ["check", "--printed", device, "6", head[:16]]
    assert cli.main(line) == 0
    rewrite(server, device, 2, "other words")
    execute(server, "delete from heads")  # whoever rewrites history can take the signatures out, too
    assert cli.main(["check"]) == 0
    assert cli.main(line) == 1
    assert f"entry 6 of device {device}, or one before it, is not what was printed" in capsys.readouterr().out
    assert cli.main(["check", "--printed", device, "60", head[:16]]) == 1
    assert cli.main(["check", "--printed", device, "six", head[:16]]) == 2
    assert cli.main(["check", "--printed", device, "6", ""]) == 2
