"""Backup and restore of a running shop, and what a check finds when something is wrong."""

import hashlib
import json
import sqlite3
import threading
import zipfile

import httpx
import pytest

from server import cli
from server.backup.archive import backup
from server.backup.restore import restore
from server.settings import Settings
from server.store.check import check
from tests.helpers.servers import Device, PlainBook, Server, say_yes, somebody
from tests.server.sync.test_uploads import create, picture, sha, upload

PASSPHRASE = "correct horse battery staple"


@pytest.fixture
def filled(server, browser, phone, another):
    """A shop with records of two phones and the desk, photos, one still missing, and an owner."""
    shown, kept = picture(), b"no picture, and evidence all the same"
    texts = phone.write("first ✓", "second")
    texts += phone.write("", kind="photo", sha256=sha(shown)) + phone.write(
        "", kind="photo", sha256=sha(kept)
    )
    phone.sync(*texts)
    upload(phone, shown)
    upload(phone, kept)
    other = another()
    other.sync(*other.write("from the roadside"), *other.write("", kind="photo", sha256="0" * 64))
    create(other, b"half sent")
    browser.post("/desk/job/1/note", data={"text": "at the desk"})
    somebody(server.shop, "owner", "Bea", PASSPHRASE)
    return server


def table(folder, sql):
    database = sqlite3.connect(folder / "layby.db")
    try:
        return database.execute(sql).fetchall()
    finally:
        database.close()


def photos(folder):
    return {
        path.name: hashlib.sha256(path.read_bytes()).hexdigest()
        for path in (folder / "photos").iterdir()
        if path.is_file()
    }


def test_what_is_restored_is_what_was_there(filled, tmp_path):
    before = filled.settings.data
    backup(before, tmp_path / "shop.zip")
    report = restore(tmp_path / "shop.zip", Settings(data=tmp_path / "new"))
    assert (report.records, report.devices, report.photos, report.problems) == (6 + 1, 3, 2, [])
    for sql in (
        "select * from records order by cursor",
        "select * from photos order by sha256",
        "select * from wanted",
        "select id, name, enrolled, revoked from devices order by id",
        "select * from people",
    ):
        assert table(tmp_path / "new", sql) == table(before, sql), sql
    assert photos(tmp_path / "new") == photos(before)


def test_nobody_comes_in_by_a_backup(filled, tmp_path, browser):
    code = filled.shop.new_code("desk")
    backup(filled.settings.data, tmp_path / "shop.zip")
    assert (tmp_path / "shop.zip").stat().st_mode & 0o077 == 0
    with zipfile.ZipFile(tmp_path / "shop.zip") as packed:
        content = packed.read("layby.db")
    for secret in (browser.cookies["layby"], code.replace("-", "")):
        assert hashlib.sha256(secret.encode()).hexdigest().encode() not in content
    restore(tmp_path / "shop.zip", Settings(data=tmp_path / "new"))
    assert table(tmp_path / "new", "select count(*) from sessions") == [(0,)]


def test_phones_go_on_with_the_restored_shop_and_send_what_it_lacks(filled, phone, tmp_path):
    known = [
        row[0]
        for row in table(
            filled.settings.data, f"select text from records where device = '{phone.state['id']}'"
        )
    ]
    backup(filled.settings.data, tmp_path / "shop.zip")
    later = phone.write("after the backup")
    phone.sync(*later)
    filled.stop()
    restore(tmp_path / "shop.zip", Settings(data=tmp_path / "new" / "data"))
    new = Server(tmp_path / "new", filled.settings.dist, PlainBook())
    try:
        old_epoch, phone.http.base_url = phone.epoch, new.url
        answer = phone.post(*known, *later)
        assert (answer.status_code, answer.json()["error"]) == (403, "waiting")
        say_yes(new.shop)
        said = phone.sync()
        assert said["epoch"] != old_epoch  # the sign for a phone to offer everything again
        assert len(said["taken"]) == 0
        assert phone.sync(*known, *later)["refused"] == []
        with httpx.Client(base_url=new.url, headers={"Sec-Fetch-Site": "same-origin"}) as desk:
            assert desk.post("/desk/enter", data={"name": "Bea", "passphrase": PASSPHRASE}).status_code == 303
            desk.post("/desk/job/1/note", data={"text": "the desk writes on"})
        written = [json.loads(text) for text in phone.sync()["records"]]
        assert [record["seq"] for record in written] == [
            1
        ]  # as a new device: nothing of its old chain is reused
        assert check(new.shop).problems == []
    finally:
        new.stop()
        filled.start()


def test_a_backup_while_phones_write_is_one_moment(server, tmp_path):
    phones, stop = [Device(server), Device(server)], threading.Event()

    def write(phone):
        while not stop.is_set():
            phone.sync(*phone.write("one", "two", "three"))

    threads = [threading.Thread(target=write, args=[phone]) for phone in phones]
    for thread in threads:
        thread.start()
    for number in range(5):
        backup(server.settings.data, tmp_path / f"{number}.zip")
    stop.set()
    for thread in threads:
        thread.join()
    for number in range(5):
        report = restore(tmp_path / f"{number}.zip", Settings(data=tmp_path / f"shop {number}"))
        assert report.records % 3 == 0


def test_a_backup_or_restore_never_overwrites(filled, tmp_path):
    file = tmp_path / "shop.zip"
    file.write_text("precious")
    with pytest.raises(ValueError, match="exists"):
        backup(filled.settings.data, file)
    backup(filled.settings.data, tmp_path / "other.zip")
    with pytest.raises(ValueError, match="not empty"):
        restore(tmp_path / "other.zip", filled.settings)
    with pytest.raises(ValueError, match="no shop"):
        backup(tmp_path / "nothing", tmp_path / "another.zip")
    assert file.read_text() == "precious"
    assert not list(tmp_path.glob(".layby-*"))


def changed(source, target, **files):
    """A copy of a zip in which some files have another content, or are not there (None)."""
    with zipfile.ZipFile(source) as old, zipfile.ZipFile(target, "w") as new:
        for name in old.namelist():
            content = files.pop(name, old.read(name))
            if content is not None:
                new.writestr(name, content)
        for name, content in files.items():
            new.writestr(name, content)


@pytest.mark.parametrize(
    "wrong",
    [
        {"layby.db": b"other"},
        {"layby.db": None},
        {"manifest.json": b"{}"},
        {"manifest.json": b"[]"},
        {"manifest.json": None},
        {"../outside": b"x"},
        {"photos/../../outside": b"x"},
        {"photos/" + sha(picture()): b"x"},
    ],
)
def test_a_damaged_backup_restores_nothing(filled, tmp_path, wrong):
    backup(filled.settings.data, tmp_path / "shop.zip")
    changed(tmp_path / "shop.zip", tmp_path / "bad.zip", **wrong)
    with pytest.raises(ValueError, match=r"bad\.zip"):
        restore(tmp_path / "bad.zip", Settings(data=tmp_path / "new"))
    (tmp_path / "cut.zip").write_bytes((tmp_path / "shop.zip").read_bytes()[:-100])
    with pytest.raises(ValueError, match=r"cut\.zip"):
        restore(tmp_path / "cut.zip", Settings(data=tmp_path / "new"))
    assert not (tmp_path / "new").exists()
    assert not (tmp_path / "outside").exists()


def test_the_commands_do_the_same(filled, tmp_path, monkeypatch, capsys):
    monkeypatch.setenv("LAYBY_DATA", str(filled.settings.data))
    assert cli.main(["check"]) == 0
    assert "7 records of 3 devices, 2 photos: all whole" in capsys.readouterr().out
    assert cli.main(["backup", str(tmp_path / "shop.zip")]) == 0
    monkeypatch.setenv("LAYBY_DATA", str(tmp_path / "new"))
    assert cli.main(["restore", str(tmp_path / "shop.zip")]) == 0
    capsys.readouterr()
    assert cli.main(["check", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["problems"] == []
    assert cli.main(["restore", str(tmp_path / "shop.zip")]) == 2
    monkeypatch.setenv("LAYBY_DATA", str(tmp_path / "empty"))
    assert cli.main(["check"]) == 2
    assert not (tmp_path / "empty").exists()


RECORDS = "update records set"
DAMAGES = {
    "a text": (f"{RECORDS} text = replace(text, 'first', 'worst')", "altered"),
    "the last text": (f"{RECORDS} text = text || ' ' where seq = 3", "altered"),
    "no record": (f"{RECORDS} text = 'x' where kind = 'photo'", "JSON"),
    "a column": (f"{RECORDS} job = 'other' where seq = 1", "another job"),
    "a lost record": ("delete from records where seq = 2", "is gone"),
    "a lost start": ("delete from records where seq = 1", "is gone"),
    "a forgotten photo": ("delete from wanted", "nobody is asked"),
    "a photo's type": ("update photos set type = 'image/png'", "is stored as"),
}


@pytest.mark.parametrize("damage", DAMAGES)
def test_the_check_finds_what_was_changed(filled, damage):
    sql, words = DAMAGES[damage]
    with filled.shop.store.transaction() as db:
        db.execute(sql)
    problems = check(filled.shop).problems
    assert any(words in problem for problem in problems), problems


def test_the_check_finds_lost_and_altered_photos_and_damaged_pages(filled, monkeypatch, capsys):
    one, two = sorted(photos(filled.settings.data))
    folder = filled.settings.data / "photos"
    (folder / one).unlink()
    (folder / two).write_bytes(b"other")
    (folder / ("f" * 64)).write_bytes(b"loose")
    report = check(filled.shop)
    assert [problem.split(": ")[1] for problem in report.problems] == [
        "its file is gone",
        "its file was altered",
    ]
    assert any("belongs to nothing" in note for note in report.notes)
    assert any("is still on device" in note for note in report.notes)
    monkeypatch.setenv("LAYBY_DATA", str(filled.settings.data))
    assert cli.main(["check"]) == 1
    assert "2 problems" in capsys.readouterr().out
    file = filled.settings.data.parent / "shop.zip"
    assert cli.main(["backup", str(file)]) == 3
    said = capsys.readouterr().out
    assert f"photo {one}: its file is gone" in said and f"photo {two}: its file was altered" in said
    report = restore(file, Settings(data=filled.settings.data.parent / "new"))
    assert (report.records, report.photos, len(report.problems)) == (7, 0, 2)
    asked = table(filled.settings.data.parent / "new", "select sha256 from wanted where device = ''")
    assert {sha256 for (sha256,) in asked} == {one, two}


def test_a_database_with_a_damaged_page_is_said_to_be_damaged(filled, monkeypatch, capsys):
    filled.stop()
    path = filled.settings.data / "layby.db"
    content = bytearray(path.read_bytes())
    content[4096 * 2 : 4096 * 12] = b"\xff" * 4096 * 10
    path.write_bytes(content)
    monkeypatch.setenv("LAYBY_DATA", str(filled.settings.data))
    assert cli.main(["check"]) in (1, 2)
    assert "database" in "".join(capsys.readouterr())
    filled.start = filled.stop = lambda: None
