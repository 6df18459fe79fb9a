"""Backups in a folder: only what is new is copied, damage is named, and every day can be restored."""

import hashlib
import signal
import stat
import subprocess
import sys
import time

import pytest

from server import cli, signing
from server.app import create
from server.backup import archive, files, folder, last
from server.backup.days import databases
from server.backup.folder import backup
from server.backup.restore import restore
from server.settings import Settings
from tests.helpers.servers import PlainBook
from tests.server.backup.test_archive import filled, photos, table  # noqa: F401
from tests.server.sync.test_uploads import picture, sha, upload


@pytest.fixture
def shop(filled):  # noqa: F811
    return filled


def written(place):
    """Each file with its size and when it was changed."""
    return {
        str(path.relative_to(place)): (path.stat().st_size, path.stat().st_mtime_ns)
        for path in place.rglob("*")
        if path.is_file()
    }


def test_a_second_backup_copies_only_what_is_new(shop, phone, tmp_path):
    place = tmp_path / "backups"
    first = backup(shop.settings.data, place)
    old = written(place)
    assert (first.photos, first.new, first.problems) == (2, 2, [])
    assert first.bytes == sum(size for size, _ in old.values())
    content = picture(size=(64, 48))
    phone.sync(*phone.write("", kind="photo", sha256=sha(content)))
    upload(phone, content)
    second = backup(shop.settings.data, place)
    new = written(place)
    assert {name: new[name] for name in old} == old
    assert second.bytes == sum(new[name][0] for name in new.keys() - old.keys())
    assert second.bytes == len(content) + second.database.stat().st_size
    assert (second.photos, second.new) == (3, 1)
    third = backup(shop.settings.data, place)
    assert third.bytes == third.database.stat().st_size


def test_the_shops_key_is_restored_with_it_and_is_nobody_elses_to_read(shop, tmp_path):
    key = (shop.settings.data / signing.NAME).read_bytes()
    backup(shop.settings.data, tmp_path / "backups")
    archive.backup(shop.settings.data, tmp_path / "shop.zip")
    for number, source in enumerate((tmp_path / "backups", tmp_path / "shop.zip")):
        restore(source, Settings(data=tmp_path / str(number)))
        file = tmp_path / str(number) / signing.NAME
        assert file.read_bytes() == key
        assert stat.S_IMODE(file.stat().st_mode) == 0o600
    assert stat.S_IMODE((tmp_path / "backups" / signing.NAME).stat().st_mode) == 0o600


def test_a_backup_without_a_key_is_restored_all_the_same(shop, tmp_path):
    (shop.settings.data / signing.NAME).unlink()
    backup(shop.settings.data, tmp_path / "backups")
    assert restore(tmp_path / "backups", Settings(data=tmp_path / "new")).problems == []
    create(Settings(data=tmp_path / "new", dist=shop.settings.dist), PlainBook()).state.shop.close()
    assert (tmp_path / "new" / signing.NAME).is_file()


def test_what_is_restored_is_what_was_there(shop, phone, tmp_path):
    place, before = tmp_path / "backups", shop.settings.data
    expected = table(before, "select * from records order by cursor"), photos(before)
    backup(before, place)
    phone.sync(*phone.write("a day later"))
    backup(before, place)
    newest = restore(place, Settings(data=tmp_path / "newest"))
    assert newest.records == len(expected[0]) + 1
    first = databases(place)[0]
    day = first.name.removeprefix("layby-")[:22]
    report = restore(place, Settings(data=tmp_path / "named"), day)
    assert (report.problems, report.photos) == ([], 2)
    assert table(tmp_path / "named", "select * from records order by cursor") == expected[0]
    assert photos(tmp_path / "named") == expected[1]
    with pytest.raises(ValueError, match="no database whose name begins with layby-1999"):
        restore(place, Settings(data=tmp_path / "never"), "1999")


def test_nobody_comes_in_by_it_and_only_its_owner_reads_it(shop, browser, tmp_path):
    done = backup(shop.settings.data, tmp_path / "backups")
    hashed = hashlib.sha256(browser.cookies["layby"].encode()).hexdigest().encode()
    assert hashed not in done.database.read_bytes()
    assert all(
        path.stat().st_mode & 0o077 == 0 for path in (tmp_path / "backups").rglob("*") if path.is_file()
    )


def test_old_databases_go_and_photos_stay(shop, phone, tmp_path):
    for number in range(4):
        phone.sync(*phone.write(f"day {number}"))
        backup(shop.settings.data, tmp_path / "backups", keep=2)
    assert len(databases(tmp_path / "backups")) == 2
    report = restore(tmp_path / "backups", Settings(data=tmp_path / "new"))
    assert (report.records, report.photos) == (7 + 4, 2)


def test_damage_at_the_source_is_named_and_the_rest_is_saved(shop, tmp_path, monkeypatch, capsys):
    data, place = shop.settings.data, tmp_path / "backups"
    kept = backup(data, place).database
    one, two = sorted(photos(data))
    (place / "photos" / two).unlink()
    (data / "photos" / one).unlink()
    (data / "photos" / two).write_bytes(b"other")
    monkeypatch.setenv("LAYBY_DATA", str(data))
    assert cli.main(["backup", "--into", str(place), "--keep", "1"]) == 3
    said = capsys.readouterr().out
    assert f"photo {one}: its file is gone; this folder has it" in said
    assert f"photo {two}: its file was altered; this folder does not have it either" in said
    assert kept.exists(), "a damaged shop pushed a sound day out"
    assert last.read(data).problems == 2
    report = restore(place, Settings(data=tmp_path / "new"))
    assert (report.problems, report.photos) == ([], 1)  # and the other is wanted again from its phone
    assert table(tmp_path / "new", f"select device from wanted where sha256 = '{two}'")[0] == ("",)


def test_a_damaged_database_is_saved_as_such_and_never_taken_for_a_day(shop, tmp_path):
    data, place = shop.settings.data, tmp_path / "backups"
    backup(data, place)
    shop.stop()
    path = data / "layby.db"
    content = bytearray(path.read_bytes())
    content[4096 * 2 : 4096 * 12] = b"\xff" * 4096 * 10
    path.write_bytes(content)
    done = backup(data, place)
    assert "database" in done.problems[0]
    assert done.database.name.endswith("-damaged.db")
    assert restore(place, Settings(data=tmp_path / "new")).records == 7
    path.write_bytes(b"no database at all" * 1000)
    assert "database" in backup(data, place).problems[0]
    shop.start = shop.stop = lambda: None


@pytest.mark.parametrize("what", ["database", "photo"])
def test_damage_in_the_backup_is_found_when_it_is_restored(shop, tmp_path, what):
    place = tmp_path / "backups"
    done = backup(shop.settings.data, place)
    if what == "database":
        content = bytearray(done.database.read_bytes())
        content[-1] ^= 1
        done.database.write_bytes(content)
        with pytest.raises(ValueError, match=r"is damaged\. Name another day"):
            restore(place, Settings(data=tmp_path / "new"))
        assert not (tmp_path / "new").exists()
    else:
        next((place / "photos").iterdir()).write_bytes(b"x")
        report = restore(place, Settings(data=tmp_path / "new"))
        assert (report.photos, report.problems) == (1, [])
        assert backup(shop.settings.data, place).new == 1  # the next night mends it


@pytest.mark.parametrize("where", [["--into"], []])
def test_a_damaged_record_is_named_and_set_aside_when_it_is_restored(
    shop, tmp_path, monkeypatch, capsys, where
):
    with shop.shop.store.transaction() as db:
        db.execute("update records set text = replace(text, 'first', 'worst')")
    monkeypatch.setenv("LAYBY_DATA", str(shop.settings.data))
    assert cli.main(["backup", *where, str(tmp_path / "backup")]) == 3
    assert "was altered" in capsys.readouterr().out
    monkeypatch.setenv("LAYBY_DATA", str(tmp_path / "new"))
    assert cli.main(["restore", str(tmp_path / "backup")]) == 3
    assert "was damaged and is set aside" in capsys.readouterr().out
    assert table(tmp_path / "new", "select count(*) from records") == [(6,)]
    assert "worst" in table(tmp_path / "new", "select text from damaged")[0][0]
    assert cli.main(["check"]) == 0  # its phone has it, and sends it again


CUT = """
import os, signal, sys
from pathlib import Path
from server.backup import files, folder
def cut(path): os.kill(os.getpid(), signal.SIGKILL)
files.to_disk = cut
folder.backup(Path(sys.argv[1]), Path(sys.argv[2]))
"""


def test_one_that_is_killed_leaves_nothing_that_looks_whole(shop, tmp_path):
    place = tmp_path / "backups"
    killed = subprocess.run([sys.executable, "-c", CUT, str(shop.settings.data), str(place)])
    assert killed.returncode == -signal.SIGKILL
    assert databases(place) == []
    assert not any(folder.HASH.fullmatch(path.name) for path in (place / "photos").iterdir())
    backup(shop.settings.data, place)
    assert not [path for path in place.rglob("*") if path.name.startswith(files.PART)]
    assert restore(place, Settings(data=tmp_path / "new")).problems == []


def test_a_second_one_at_the_same_time_waits_for_nothing_and_says_so(shop, tmp_path):
    place = tmp_path / "backups"
    backup(shop.settings.data, place)
    with folder._alone(place), pytest.raises(ValueError, match="under way"):
        backup(shop.settings.data, place)
    assert backup(shop.settings.data, place).problems == []


def test_wrong_places_are_said_so(shop, tmp_path):
    data = shop.settings.data
    with pytest.raises(ValueError, match="inside the shop's own folder"):
        backup(data, data / "backups")
    with pytest.raises(ValueError, match="no shop"):
        backup(tmp_path / "nothing", tmp_path / "backups")
    (tmp_path / "file").write_text("x")
    with pytest.raises(ValueError, match="does not take the backup"):
        backup(data, tmp_path / "file" / "backups")
    assert last.read(data) is None


def test_when_the_last_one_was_made_is_noted_in_the_data_folder(shop, tmp_path):
    before = time.time()
    backup(shop.settings.data, tmp_path / "backups")
    noted = last.read(shop.settings.data)
    assert before <= noted.made <= time.time()
    assert (noted.where, noted.problems) == (str(tmp_path / "backups"), 0)
    (shop.settings.data / last.NAME).write_text("{}")
    assert last.read(shop.settings.data) is None
