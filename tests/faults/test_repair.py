"""A damaged shop: backed up as far as it is sound, restored and repaired, and whole again with its phones."""

import json
import sqlite3
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from server import cli
from server.backup import archive, folder
from server.backup.repair import repair
from server.backup.restore import restore
from server.settings import Settings
from server.store.check import check
from server.store.shop import Shop
from tests.faults.phones import picture
from tests.faults.test_put_back import Phone
from tests.faults.test_start import no_database, overwritten, truncated
from tests.helpers.servers import Device, PlainBook, Server
from tests.server.sync.test_uploads import sha, upload

NOTES = 400  # so that the database has more pages than are damaged


class Opened(Server):
    def opened(self) -> Shop:
        """What is stored, seen from beside the server."""
        return Shop(self.settings)


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Opened]:
    running = Opened(tmp_path, tmp_path, PlainBook())
    yield running
    running.stop()


@pytest.fixture
def phones(shop: Opened) -> list[Phone]:
    """Two phones; what each wrote is at the shop and with the other."""
    phones = [Phone(Device(shop, "Bay 1"), shop), Phone(Device(shop, "Bay 2"), shop)]
    for phone in phones:
        phone.write(*[f"note {n}" for n in range(NOTES)])
    for phone in phones * 2:
        assert phone.exchange() == []
    return phones


def everything_comes_back(shop: Server, phones: list[Phone]) -> None:
    shop.start()
    for phone in phones * 2:
        assert phone.exchange() == []
    assert phones[-1].gaps == []
    assert check(shop.shop).problems == []
    texts = set(shop.shop.ledger.texts())
    for phone in phones:
        assert set(phone.own) <= texts


@pytest.mark.parametrize("damage", [truncated, overwritten])
def test_repair_saves_what_can_be_read_and_the_phones_bring_the_rest(
    shop: Server, phones: list[Phone], damage: Callable[[Path], None]
) -> None:
    shop.stop()
    path = shop.settings.data / "layby.db"
    damage(path)
    damaged = path.read_bytes()
    try:
        done, report = repair(shop.settings)
    except ValueError as error:  # what is left may be too little to know a phone by
        assert "restore" in str(error)
        assert path.read_bytes() == damaged
        pytest.skip("nothing can be read")
    assert any("what could be read was saved" in sentence for sentence in done)
    (kept,) = shop.settings.data.glob("layby.db.damaged-*")
    assert kept.read_bytes() == damaged
    assert report.records < 2 * NOTES
    everything_comes_back(shop, phones)


def test_where_nothing_can_be_read_repair_says_so_and_changes_nothing(
    shop: Server, phones: list[Phone], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    shop.stop()
    no_database(shop.settings.data / "layby.db")
    before = {path.name for path in shop.settings.data.iterdir()}
    monkeypatch.setenv("LAYBY_DATA", str(shop.settings.data))
    assert cli.main(["check", "--repair"]) == 2
    assert "layby restore" in capsys.readouterr().err
    assert {path.name for path in shop.settings.data.iterdir()} <= before | {"layby.lock"}
    shop.start = shop.stop = lambda: None  # type: ignore[method-assign]


RECORDS = "update records set text ="
ALTERED = {
    "in the middle": f"{RECORDS} replace(text, 'note 5', 'note 6') where seq = 6",
    "its link": f'{RECORDS} replace(text, \'"prev": "\', \'"prev": "0\') where seq = 7',
    "no record": f"{RECORDS} 'x' where seq = 9",
    "its column": "update records set job = 'other' where seq = 10",
    "gone": "delete from records where seq = 11",
}


@pytest.mark.parametrize("what", ALTERED)
@pytest.mark.parametrize("way", ["repair", "folder", "file"])
def test_altered_records_are_set_aside_and_come_again(
    shop: Server, phones: list[Phone], tmp_path: Path, what: str, way: str
) -> None:
    shop.stop()
    with sqlite3.connect(shop.settings.data / "layby.db") as db:
        changed = db.execute(ALTERED[what]).rowcount
    assert changed == len(phones)
    if way == "repair":
        done, report = repair(shop.settings)
        assert len(done) == (0 if what == "gone" else changed)
    else:
        if way == "folder":
            assert folder.backup(shop.settings.data, tmp_path / "backup").problems
        else:
            assert archive.backup(shop.settings.data, tmp_path / "backup")["problems"]
        shop.settings.data.rename(tmp_path / "old")
        report = restore(tmp_path / "backup", shop.settings)
        assert len(report.problems) >= (0 if what == "gone" else changed)
    everything_comes_back(shop, phones)


@pytest.mark.parametrize("way", ["folder", "file"])
def test_a_damaged_database_is_saved_and_restored_as_far_as_it_can_be_read(
    shop: Server, phones: list[Phone], tmp_path: Path, way: str
) -> None:
    shop.stop()
    path = shop.settings.data / "layby.db"
    content = bytearray(path.read_bytes())
    content[-4096 * 20 : -4096 * 10] = b"\xff" * 4096 * 10
    path.write_bytes(content)
    if way == "folder":
        assert folder.backup(shop.settings.data, tmp_path / "backup").problems
    else:
        assert archive.backup(shop.settings.data, tmp_path / "backup")["problems"]
    shop.settings.data.rename(tmp_path / "old")
    report = restore(tmp_path / "backup", shop.settings)
    assert any("damaged when it was saved" in problem for problem in report.problems)
    assert NOTES / 2 < report.records <= 2 * NOTES
    everything_comes_back(shop, phones)


def test_repair_takes_photos_from_the_last_backup_or_asks_for_them(
    shop: Server, phones: list[Phone], tmp_path: Path
) -> None:
    device = phones[0].device
    saved, later, unknown = (picture(width, 60) for width in (80, 90, 100))
    texts = [device.write("", kind="photo", sha256=sha(each)) for each in (saved, later, unknown)]
    device.sync(*[text for each in texts for text in each])
    upload(device, saved)
    folder.backup(shop.settings.data, tmp_path / "backup")
    upload(device, later)
    upload(device, unknown)
    with shop.shop.store.transaction() as db:
        db.execute("delete from photos where sha256 = ?", [sha(unknown)])
    shop.stop()
    for each in (saved, later):
        (shop.settings.data / "photos" / sha(each)).write_bytes(b"rot")
    done, report = repair(shop.settings)
    assert sorted(sentence.split(": ")[1].split(";")[0] for sentence in done) == [
        "it was damaged", "it was damaged", "its file was here, and counts again",
    ]  # fmt: skip
    assert (report.problems, report.photos) == ([], 2)
    here = Shop(shop.settings)
    assert here.photos.find(sha(saved)).path.read_bytes() == saved
    assert here.ledger.asked_back("") == [sha(later)]
    assert len(list(here.photos.aside.iterdir())) == 2
    here.close()
    shop.start()


def test_repair_waits_for_the_server_to_stop(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from server.store import lock

    Shop(Settings(data=tmp_path / "data")).close()
    monkeypatch.setenv("LAYBY_DATA", str(tmp_path / "data"))
    with lock.held(tmp_path / "data"):
        assert cli.main(["check", "--repair"]) == 2
        assert "Stop it first" in capsys.readouterr().err
    assert cli.main(["check", "--repair", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["repaired"] == []
