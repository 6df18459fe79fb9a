"""What a power cut may take: only what nobody was told is safe. The order of writes is what counts.

POSIX: a file is on the disk after its fsync, and its name after the fsync of the folder that holds it.
SQLite: in WAL mode with synchronous=FULL the log is synced at each commit (its documentation of PRAGMA
synchronous).
"""

import os
from collections.abc import Iterator
from pathlib import Path

import pytest

from server.backup.archive import backup
from server.backup.restore import restore
from server.settings import Settings
from server.store.photos import Photos
from tests.faults.phones import Phone, picture
from tests.helpers.servers import Device, PlainBook, Server


@pytest.fixture
def done(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Each fsync and each rename, in order, by the names of what they touch."""
    done: list[str] = []
    fsync, replace, rename = os.fsync, Path.replace, Path.rename

    def synced(handle: int) -> None:
        fsync(handle)
        done.append(f"sync {Path(f'/proc/self/fd/{handle}').readlink().name}")

    def replaced(path: Path, target: Path) -> Path:
        done.append(f"name {target.name}")
        return replace(path, target)

    def renamed(path: Path, target: Path) -> Path:
        done.append(f"name {target.name}")
        return rename(path, target)

    monkeypatch.setattr(os, "fsync", synced)
    monkeypatch.setattr(Path, "replace", replaced)
    monkeypatch.setattr(Path, "rename", renamed)
    return done


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Server]:
    running = Server(tmp_path, tmp_path, PlainBook())
    yield running
    running.stop()


def test_the_log_of_the_database_is_synced_at_each_commit(server: Server) -> None:
    with server.shop.store.transaction() as db:
        assert list(db.query("pragma synchronous")) == [{"synchronous": 2}]
    assert server.shop.store.rows("pragma journal_mode") == [{"journal_mode": "wal"}]


def test_a_photo_and_its_name_are_on_the_disk_before_the_database_and_the_phone_know(
    server: Server, done: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    phone = Phone(Device(server))
    phone.photograph(picture())
    photo = phone.photos_waiting[0]
    transaction = server.shop.store.transaction

    def noted():  # type: ignore[no-untyped-def]
        done.append("commit")
        return transaction()

    phone.begin_photo(photo)
    monkeypatch.setattr(server.shop.store, "transaction", noted)
    phone.send_photo(photo, 100_000)
    assert done == [f"sync {phone.id}.{photo}", f"name {photo}", "sync photos", "commit"]


def test_a_new_shops_folders_are_on_the_disk_before_anything_is_in_them(
    tmp_path: Path, done: list[str]
) -> None:
    server = Server(tmp_path / "shop", tmp_path, PlainBook())
    server.stop()
    assert done[:3] == ["sync photos", "sync data", "sync shop"]


def test_a_restored_shop_gets_its_name_when_all_of_it_is_on_the_disk(
    tmp_path: Path, server: Server, done: list[str]
) -> None:
    phone = Phone(Device(server))
    phone.photograph(picture())
    phone.send_all()
    backup(server.settings.data, tmp_path / "backup")
    done.clear()
    restore(tmp_path / "backup", Settings(data=tmp_path / "new"))
    photo = next(iter(phone.photos_acknowledged))
    assert done.index(f"sync {photo}") < done.index("sync photos") < done.index("name new")
    assert done[-1] == f"sync {tmp_path.name}"


def test_photos_of_the_desk_are_as_safe(server: Server, done: list[str]) -> None:
    kept = Photos(server.shop.store, server.settings.data / "photos").keep_new(picture(), 1)
    name = f"name {kept['photo_sha256']}"
    assert done.index(f"sync desk.{kept['photo_sha256']}") < done.index(name)
    assert done[-1] == "sync photos"
