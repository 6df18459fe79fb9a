"""Each line of the doctor, well and not well, and that looking changes nothing."""

import contextlib
import json
import os
import shutil
import sqlite3
import time
from pathlib import Path

import pytest

from server import cli
from server.backup import last
from server.backup.folder import backup
from server.doctor import data, machine, network
from server.doctor.examine import examine
from server.doctor.reading import reading
from server.settings import Settings
from tests.helpers.servers import somebody

DAY = 24 * 3600


@pytest.fixture
def shop(server, phone):
    phone.sync(*phone.write("one", "two"))
    return server


def asked(shop, look):
    with reading(shop.settings.data) as rows:
        return look(rows)


def damaged(shop, sql):
    with contextlib.closing(sqlite3.connect(shop.settings.data / "layby.db")) as database:
        database.execute(sql)
        database.commit()


def test_python_is_new_enough_or_not():
    assert machine.python().mend == ""
    assert "3.11" in machine.python((3, 10, 9)).mend


def test_the_version_is_said():
    assert machine.version().found


def test_the_build_is_there_or_not(tmp_path):
    assert "layby build" in machine.build(Settings(tmp_path, dist=tmp_path)).mend
    (tmp_path / "phone").mkdir()
    (tmp_path / "phone" / "content.json").write_text("{}")
    assert machine.build(Settings(tmp_path, dist=tmp_path)).mend == ""


@pytest.mark.parametrize(("free", "words"), [(100e9, ""), (3e9, "Make room, or"), (1e6, "Make room now")])
def test_the_disk_has_room_or_not(tmp_path, monkeypatch, free, words):
    monkeypatch.setattr(shutil, "disk_usage", lambda path: shutil._ntuple_diskusage(0, 0, int(free)))
    found = machine.disk(Settings(tmp_path))
    assert (found.mend == "") == (words == "")
    assert found.mend.startswith(words)


def test_the_clock_is_sane_and_not_behind_the_newest_record():
    now = 1_800_000_000.0
    newest = f"{int(now * 1000):015}.0000000"
    assert machine.clock(None, now).mend == machine.clock(newest, now).mend == ""
    assert "Set this machine's date" in machine.clock(None, 0).mend
    found = machine.clock(newest, now - 3 * DAY)
    assert "3 days ahead" in found.found
    assert "phone" in found.mend


@pytest.mark.parametrize(("said", "words"), [("yes", ""), ("no", "timedatectl set-ntp true"), (None, "")])
def test_the_time_service_is_on_off_or_unknown(tmp_path, monkeypatch, said, words):
    monkeypatch.setenv("PATH", str(tmp_path))
    if said:
        tool = tmp_path / "timedatectl"
        tool.write_text(f"#!/bin/sh\necho {said}\n")
        tool.chmod(0o755)
    found = machine.kept_right()
    assert words in found.mend
    assert (found.mend == "") == (words == "")
    assert said or "not known" in found.found


def test_the_data_folder_is_there_and_its_owners_alone(shop, tmp_path):
    assert shop.settings.data.stat().st_mode & 0o777 == 0o700
    assert data.folder(shop.settings.data).mend == ""
    assert "LAYBY_DATA" in data.folder(tmp_path / "nothing").mend
    shop.settings.data.chmod(0o755)
    assert "chmod o=" in data.folder(shop.settings.data).mend


def test_the_data_folder_belongs_to_somebody_else(shop, monkeypatch):
    owner = shop.settings.data.stat().st_uid
    monkeypatch.setattr(os, "geteuid", lambda: owner + 1 or 1)
    assert "as the folder's owner" in data.folder(shop.settings.data).mend


def test_a_file_in_it_belongs_to_somebody_else_or_cannot_be_written(shop, monkeypatch):
    monkeypatch.setattr(os, "access", lambda path, how: Path(path).name != "photos")
    assert "chmod -R u+rwX" in data.folder(shop.settings.data).mend
    monkeypatch.undo()
    if os.geteuid() == 0:
        os.chown(shop.settings.data / "layby.db", 12345, 12345)
        assert "chown -R" in data.folder(shop.settings.data).mend


@pytest.mark.parametrize(
    "damage",
    [
        "update records set text = replace(text, 'one', 'won')",
        "delete from records where seq = 1",
        "drop table records",
    ],
)
def test_the_database_is_whole_or_not(shop, damage):
    found = asked(shop, data.database)
    assert (found.found, found.mend) == ("2 records, all whole", "")
    damaged(shop, damage)
    assert "layby check" in asked(shop, data.database).mend


def test_the_backup_is_new_old_gone_or_was_of_a_damaged_shop(shop, tmp_path):
    here, place = shop.settings.data, tmp_path / "backups"
    assert "layby backup --into" in data.backup(here).mend
    backup(here, place)
    found = data.backup(here)
    assert found.mend == ""
    assert str(place) in found.found
    assert "the disk that the shop is on" in found.found
    assert "layby backup --into" in data.backup(here, time.time() + 2 * DAY).mend
    last.note(here, place, problems=2)
    assert "layby check" in data.backup(here).mend
    last.note(here, tmp_path / "gone", problems=0)
    assert "Attach that disk" in data.backup(here).mend


def test_an_owner_can_sign_in_or_not(shop):
    assert "layby code setup" in asked(shop, data.owner).mend
    somebody(shop.shop, "desk")
    assert "layby code setup" in asked(shop, data.owner).mend
    somebody(shop.shop, "owner")
    assert asked(shop, data.owner).mend == ""


def test_a_phone_is_let_in_or_not(shop, phone):
    assert asked(shop, data.phones).mend == ""
    shop.shop.access.revoke(phone.state["id"], 1)
    assert "layby code phone" in asked(shop, data.phones).mend


@pytest.mark.parametrize(
    ("url", "is_well"),
    [
        ("", False),
        ("https://127.0.0.1", False),
        ("http://layby.example", False),
        ("https://layby.example", True),
    ],
)
def test_the_address_is_one_that_a_phone_can_use_or_not(url, is_well):
    found = network.phone_address(url)
    assert (found.mend == "") == is_well
    assert is_well or "LAYBY_URL" in found.mend


def everything(folder):
    return {path: (path.stat().st_mtime_ns, path.stat().st_size) for path in folder.rglob("*")}


@pytest.mark.parametrize("is_running", [True, False])
def test_looking_changes_nothing(shop, is_running):
    if not is_running:
        shop.stop()
    before = everything(shop.settings.data)
    findings = examine(shop.settings)
    assert {each.about for each in findings} >= {"database", "clock", "backup", "address"}
    after = everything(shop.settings.data)
    # A shared file of SQLite's notes who reads; it is no part of the shop.
    assert {path: seen for path, seen in after.items() if path.suffix != ".db-shm"} == {
        path: seen for path, seen in before.items() if path.suffix != ".db-shm"
    }
    assert after.keys() == before.keys()
    if not is_running:
        shop.stop = lambda: None


def test_where_there_is_no_shop_none_is_made(tmp_path):
    assert any(each.about == "data" and each.mend for each in examine(Settings(tmp_path / "nothing")))
    assert not (tmp_path / "nothing").exists()


def test_a_file_that_is_no_database_is_said_so(tmp_path):
    (tmp_path / "layby.db").write_bytes(b"nothing of the kind" * 500)
    found = {each.about: each for each in examine(Settings(tmp_path))}
    assert "layby check" in found["database"].mend


def test_the_command_ends_with_1_until_all_is_well(shop, monkeypatch, capsys, tmp_path):
    monkeypatch.setenv("LAYBY_DATA", str(shop.settings.data))
    assert cli.main(["doctor"]) == 1
    said = capsys.readouterr().out.splitlines()
    assert all(line.startswith(("ok    ", "mend  ")) for line in said)
    assert any(line.startswith("mend  address") for line in said)
    monkeypatch.setattr("server.doctor.examine.examine", lambda settings: [machine.version()])
    assert cli.main(["doctor", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)[0]["ok"] is True
