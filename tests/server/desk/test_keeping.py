"""What is kept, and how long: retention of closed jobs, a person's own file, a name struck out."""

import io
import json
import zipfile
from typing import Any

import pytest

from server.desk import keeping
from server.store import check, retention
from server.store.shop import now
from tests.server.sync.test_uploads import create, patch, picture, sha

OPENED = {"unit": "Truck 7", "complaint": "no power", "drive": "electric", "place": "bay", "engine": ""}
OPENED |= {"distance": "", "hours": None}  # type: ignore[dict-item]


def months_ago(server: Any, count: float) -> None:
    """Everything here was received so long ago."""
    with server.shop.store.transaction() as db:
        db.execute("update records set received = ?", [int(now() - count * retention.MONTH)])


def job_of(phone: Any, content: bytes, *, closed: bool) -> None:
    texts = phone.write("", kind="job-opened", **OPENED) + phone.write("a name")
    texts += phone.write("", kind="finding", finding="hand-sweep", outcome="free")
    texts += phone.write("", kind="photo", sha256=sha(content))
    if closed:
        texts += phone.write("", kind="job-closed", outcome="done", note="")
    phone.sync(*texts)
    patch(phone, create(phone, content).headers["Location"], content, 0)


def erase(server: Any, desk: Any) -> None:
    keeping.erase_what_is_due(desk, server.shop)


@pytest.fixture
def desk(server: Any) -> Any:
    return server.app.state.desk


@pytest.mark.parametrize(
    ("closed", "months", "ago", "goes"),
    [(True, 12, 13, True), (True, 12, 11, False), (True, 0, 999, False), (False, 12, 13, False)],
)
def test_pictures_and_words_of_a_job_go_once_it_is_closed_so_long(
    server, phone, desk, closed: bool, months: int, ago: int, goes: bool
) -> None:
    content = picture()
    job_of(phone, content, closed=closed)
    months_ago(server, ago)
    server.shop.facts.keep(str(months))
    erase(server, desk)
    kept = json.dumps(server.shop.ledger.of_kinds(["note"])[0]["data"])
    assert ("a name" not in kept) == goes
    assert (server.shop.photos.kept(sha(content)) is None) == goes
    assert server.shop.ledger.of_kinds(["finding"])[0]["data"]["outcome"] == "free"
    assert check.check(server.shop).problems == []
    before = len(list(server.shop.ledger.texts()))
    erase(server, desk)  # nothing is due twice
    assert len(list(server.shop.ledger.texts())) == before


def test_the_page_says_what_goes_next_before_it_goes(server, phone, browser) -> None:
    job_of(phone, picture(), closed=True)
    months_ago(server, 30)
    assert "erased for good" not in browser.get("/desk/keeping").text
    assert browser.post("/desk/keeping", data={"months": "24"}).status_code == 303
    assert "2 photos and notes of 1 closed job" in browser.get("/desk/keeping").text
    for wrong in ("-1", "", "many", "99999"):
        assert browser.post("/desk/keeping", data={"months": wrong}).status_code == 422
    assert server.shop.facts.keep_months == 24


def test_one_writers_own_data_is_one_file(server, phone, another, browser) -> None:
    phone.sync(*phone.write("mine"))
    other = another()
    other.sync(*other.write("theirs"))
    answer = browser.get(f"/desk/files/by/{phone.state['id']}")
    with zipfile.ZipFile(io.BytesIO(answer.content)) as file:
        lines = file.read("records.jsonl").decode()
    assert "mine" in lines and "theirs" not in lines


def test_a_name_that_is_struck_out_is_gone_and_the_entries_stay(server, phone, browser) -> None:
    name = "Kim Example"
    phone.sync(*phone.write("", kind="person", job="00000000-0000-7000-8000-000000000000", name=name))
    phone.sync(*phone.write("a note"))
    with server.shop.store.transaction() as db:
        db.execute("update devices set name = ? where id = ?", [name, phone.state["id"]])
    answer = browser.post("/desk/keeping", data={"do": "strike", "device": phone.state["id"]})
    assert answer.status_code == 303
    assert name not in browser.get("/desk/keeping").text and name not in browser.get("/desk/devices").text
    server.shop.store._db.execute("pragma wal_checkpoint(truncate)")
    assert not any(name.encode() in path.read_bytes() for path in server.settings.data.glob("layby.db*"))
    assert server.shop.ledger.of_kinds(["note"])[0]["data"] == {"text": "a note"}
    assert browser.post("/desk/keeping", data={"do": "strike", "device": "nobody"}).status_code == 422
