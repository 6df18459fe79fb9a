"""A shop out of a backup: out of one file, or out of a folder that holds many days."""

import shutil
import tempfile
from pathlib import Path

from server.backup import archive, days
from server.settings import Settings
from server.store import lock
from server.store.check import Report, check
from server.store.photos import sync_folder
from server.store.shop import Shop


def restore(source: Path, settings: Settings, day: str = "", anyway: bool = False) -> Report:
    """Make the shop of a backup in the settings' data folder; what a check of it finds.

    Phones may have sent records after the backup was made. The restored store says it is another one (its
    epoch), so every phone offers all it has again; and the desk goes on as a new device, because the phones
    may know more of its old chain than the backup does.

    Args:
        source: a file, or a folder of many days.
        day: how the day begins ("2026-11-27"); the newest such is taken.
        anyway: also when the check finds something damaged, which the report then names.

    Raises:
        ValueError: the folder is not empty, or the backup is none, is damaged, or holds a damaged shop.
    """
    data = settings.data
    if data.exists() and any(path.name != lock.NAME for path in data.iterdir()):
        raise ValueError(f"{data} is not empty. Move it away, or name another folder in LAYBY_DATA.")
    data.parent.mkdir(parents=True, exist_ok=True)
    room = Path(tempfile.mkdtemp(dir=data.parent, prefix=".layby-"))
    try:
        if source.is_dir():
            days.unpack(source, room, day)
        else:
            archive.unpack(source, room)
        here = Shop(Settings(data=room))
        here.store.renew_epoch()
        here.access.retire_desk()
        report = check(here)
        here.close()
        if report.problems and not anyway:
            found = "; ".join(report.problems[:5])
            raise ValueError(f"The backup holds a damaged shop: {found}. With --anyway it is restored so.")
        sync_folder(room)
        with lock.held(room):  # a server that starts as soon as the folder is there waits its turn
            _put_in_place(room, data)
        return report
    finally:
        shutil.rmtree(room, ignore_errors=True)


def _put_in_place(room: Path, data: Path) -> None:
    try:
        if data.exists():
            (data / lock.NAME).unlink(missing_ok=True)
            data.rmdir()
        room.rename(data)
    except OSError as error:
        raise ValueError(f"{data} is in use: {error.strerror}. Stop that and restore again.") from None
    sync_folder(data.parent)
