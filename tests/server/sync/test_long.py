"""A record longer than any phone is sent, as an older version could write it, holds up none after it."""

import json

from pwa.app import contract
from pwa.app.notebook import Notebook
from pwa.app.record import chain
from server.desk.notebook import Pages
from server.store import entries
from tests.helpers.notebooks import Desk
from tests.helpers.servers import Device, Server
from tests.helpers.trade import CONTENT


def test_a_record_that_is_too_long_is_taken_and_sent_to_nobody(tmp_path):
    server = Server(tmp_path, book=Notebook(CONTENT, Pages().render))
    try:
        phone, other = Device(server), Device(server, "Another phone")
        long, after = phone.write("words " * 60_000)[0], phone.write("after it")[0]
        assert contract.RECORD_BYTES < len(long) < contract.RECORD_MOST
        said = phone.sync(long, after)
        assert (len(said["taken"]), said["refused"], said["gaps"]) == (2, [], [])
        assert other.sync()["records"] == [after]
        assert list(server.shop.ledger.texts()) == [long, after], "the shop has all of it"
    finally:
        server.stop()


def test_it_decides_nothing_and_shows_its_beginning():
    desk = Desk(CONTENT, name="writer")
    job = desk.open_job()
    stranger = {"id": "stranger", "name": "Old phone", "seq": 0, "head": "", "clock": ""}
    made = [
        {"job": job[5:], "kind": "note", "data": {"text": "short", "more": "words " * 60_000}, "replaces": []}
    ]
    text = chain.seal(made, stranger, desk.now, "0" * 20, "")[0][0]
    entries.read(text)
    desk.texts.append(text)
    request = {
        "method": "GET", "path": f"{job}/timeline", "query": {}, "form": {}, "now": desk.now, "zone": 0,
        "random": "0" * 4096, "host": "phone", "base": "", "device": desk.device, "status": desk.known,
    }  # fmt: skip
    body = desk.notebook.answer(request, desk.rows)["body"]
    assert "Too long, so it decides nothing and is sent to no other phone." in body
    assert len(body) < 60_000
    assert json.loads(text)["id"] in body


def test_what_no_request_could_carry_is_no_record():
    text = json.dumps({"data": {"text": "x" * contract.RECORD_MOST}})
    assert entries.verbatim.judge(text) == (
        None,
        f"The record is larger than {contract.RECORD_MOST // 1024} KB.",
    )
