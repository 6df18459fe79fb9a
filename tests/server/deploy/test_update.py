"""Update and rollback: nothing is lost, whatever goes wrong in between."""

import json
import sqlite3
import time

import httpx
import pytest

from server.backup.days import databases
from tests.server.deploy.conftest import DEPLOY
from tests.server.deploy.test_walk import Wire

pytestmark = pytest.mark.slow

MIGRATION = b"""

@migrations()
def later(db: Database) -> None:
    db.create_table("later", {"x": int})

"""


def migrates(name, content):
    """A version that changes the database."""
    return (
        content.replace(b"\n\nTRIED = ", MIGRATION + b"\nTRIED = ")
        if name.endswith("database.py")
        else content
    )


def fails(name, content):
    """A version that does not start."""
    return b"raise SystemExit('broken')" if name == "server/serve.py" else content


@pytest.fixture
def installed(machine, wheels):
    machine.set_up()
    machine.run("sh", DEPLOY / "install", wheels("1.0"), "https://layby.example")
    return machine


@pytest.fixture
def phone(installed):
    phone = Wire(installed.url, json.loads(installed.layby("code", "phone", "--json"))["code"])
    phone.sync(*phone.write("before"))
    return phone


def is_well(machine):
    """A server that was started a moment ago has its time."""
    deadline = time.monotonic() + 60
    while time.monotonic() < deadline:
        try:
            return httpx.get(machine.url + "/health").status_code == 200
        except httpx.TransportError:
            time.sleep(0.1)
    return False


def releases(machine):
    return sorted(path.name for path in (machine.home / "releases").iterdir())


def test_a_version_that_does_not_start_gives_way_to_the_one_before(installed, wheels, phone):
    installed._environment["LAYBY_WAIT"] = "2"
    said = installed.update(wheels("2.0+broken", fails), status=1)
    assert "does not start, so the one before comes back" in said
    assert (installed.version, is_well(installed)) == ("layby 1.0", True)
    assert phone.sync(*phone.write("after"))["refused"] == []


def test_a_wheel_that_cannot_be_installed_changes_nothing(installed, tmp_path):
    before = releases(installed)
    bad = tmp_path / "layby-9.9-py3-none-any.whl"
    bad.write_bytes(b"no wheel")
    installed.update(bad, status=1)
    assert (installed.version, is_well(installed), releases(installed)) == ("layby 1.0", True, before)
    assert "give the wheel" in installed.update(tmp_path / "nothing.whl", status=1)
    assert "no version before" in installed.rollback(status=1)
    assert "no backup was made before an update" in installed.rollback("--data", status=1)
    assert is_well(installed)


def test_a_damaged_shop_is_not_updated_and_goes_on(installed, wheels, phone):
    (installed.data / "photos" / ("0" * 64)).write_bytes(b"another hash")
    before = releases(installed)
    assert "nothing was changed" in installed.update(wheels("1.1"), status=1)
    assert (installed.version, releases(installed)) == ("layby 1.0", before)
    assert is_well(installed)


def test_a_changed_database_goes_back_only_when_asked_and_nothing_is_thrown_away(installed, wheels, phone):
    installed.update(wheels("3.0", migrates))
    assert installed.version == "layby 3.0"
    phone.sync(*phone.write("after the update"))
    installed._environment["LAYBY_WAIT"] = "2"
    said = installed.rollback(status=1)
    assert "only forward" in said
    assert "layby-rollback --data" in said
    assert installed.version == "layby 1.0"
    with sqlite3.connect(installed.data / "layby.db") as database:
        assert database.execute("select count(*) from records").fetchone() == (2,)  # untouched
    installed._environment["LAYBY_WAIT"] = "60"
    assert "data is that of the backup" in installed.rollback("--data")
    assert is_well(installed)
    (aside,) = installed.data.parent.glob("layby.aside-*")
    with sqlite3.connect(aside / "layby.db") as database:
        assert database.execute("select count(*) from records").fetchone() == (2,)
    assert phone.post().json()["error"] == "waiting"
    assert "1 records of 1 devices" in installed.layby("check")


def test_forward_again_after_going_back(installed, wheels, phone):
    installed.update(wheels("1.1"))
    installed.rollback()
    assert installed.version == "layby 1.0"
    installed.rollback()
    assert (installed.version, is_well(installed)) == ("layby 1.1", True)


def test_two_versions_are_kept_and_there_is_a_backup_of_each_update(installed, wheels, phone):
    for version in ("1.1", "1.2"):
        installed.update(wheels(version))
    assert len(releases(installed)) == 2
    assert len(databases(installed.backups)) == 2
    installed.rollback()
    assert installed.version == "layby 1.1"


def test_a_backup_that_is_gone_leaves_the_data_where_it_was(installed, wheels, phone):
    installed.update(wheels("1.1"))
    for path in databases(installed.backups):
        path.unlink()
    assert "nothing was changed" in installed.rollback("--data", status=1)
    assert "1 records" in installed.layby("check")


def test_install_writes_settings_units_and_proxy_once(machine, tmp_path):
    """The wheel is none, so it ends after what is looked at here."""
    bad = tmp_path / "layby-9.9-py3-none-any.whl"
    bad.write_bytes(b"no wheel")
    machine.run("sh", DEPLOY / "install", bad, "https://shop.example", status=1)
    assert "LAYBY_URL=https://shop.example\n" in machine.env.read_text()
    assert "\nshop.example {" in (machine.root / "etc/caddy/Caddyfile").read_text()
    units = {path.name for path in (machine.root / "etc/systemd/system").iterdir()}
    assert units == {"layby.service", "layby-backup.service", "layby-backup.timer"}
    machine.set_up(LAYBY_URL="https://mine.example")
    mine = machine.env.read_text()
    machine.run("sh", DEPLOY / "install", bad, "https://shop.example", status=1)
    assert machine.env.read_text() == mine
    assert "give the wheel and the shop's address" in machine.run(
        "sh", DEPLOY / "install", bad, "http://shop.example", status=1
    )


def test_any_day_is_restored_in_one_command(installed, wheels, phone):
    installed.layby("backup", "--into", str(installed.backups))
    phone.sync(*phone.write("after the backup"))
    command = installed.root / "usr/local/sbin/layby-restore"
    assert "nothing was changed" in installed.run("sh", command, "1999-01-01", status=1)
    assert "2 records" in installed.layby("check")
    assert "in " + str(installed.data) in installed.run("sh", command)
    assert is_well(installed)
    assert "1 records" in installed.layby("check")
