"""Databases of older versions open in this one; one of a newer version is left alone."""

import pytest

from server.settings import Settings
from server.store import database
from server.store.check import check
from server.store.database import Store, migrations
from server.store.shop import Shop

NAMES = [migration.name for migration in migrations._migrations]


def left_by(path, version):
    """A database as the version left it whose last migration this was, with a record of one phone."""
    text = (
        '{"v": 1, "id": "r1", "job": "j", "device": "p", "author": "A", "seq": 1, "prev": "", "clock":'
        ' "000000000000001.0000000", "time": 1, "kind": "note", "replaces": [], "data": {"text": "old"}}'
    )
    later = NAMES[NAMES.index(version) + 1 :]
    db = database.sqlite_utils.Database(path)
    migrations.apply(db, stop_before=later)
    db.table("records").insert(
        {"id": "r1", "job": "j", "device": "p", "seq": 1, "kind": "note", "clock": "000000000000001.0000000",
         "received": 1, "text": text}
    )  # fmt: skip
    token = database.secrets.token_hex(16)
    db.table("devices").insert({"id": "p", "name": "A", "token": token, "enrolled": 1, "seen": 1})
    db.close()


@pytest.mark.parametrize("version", NAMES)
def test_a_database_of_any_version_so_far_opens_whole(tmp_path, version):
    left_by(tmp_path / "layby.db", version)
    here = Shop(Settings(data=tmp_path))
    assert [record["data"] for record in here.ledger.of_job("j")] == [{"text": "old"}]
    assert [phone["name"] for phone in here.access.phones()] == ["A"]
    assert here.ledger.gaps() == []
    assert here.access.fork("p", "copy", "0" * 64, 2) == "A (restored copy)"
    assert check(here).problems == []
    here.close()


def test_a_database_of_a_newer_version_is_left_alone(tmp_path):
    path = tmp_path / "layby.db"
    Store(path).close()
    db = database.sqlite_utils.Database(path)
    row = {"migration_set": "layby", "name": "of-next-year", "applied_at": "2030-01-01"}
    db.table("_sqlite_migrations").insert(row)
    db.close()
    before = path.read_bytes()
    with pytest.raises(ValueError, match=r"newer version of Layby. Nothing was touched"):
        Store(path)
    assert path.read_bytes() == before
