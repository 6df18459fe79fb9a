"""A shop out of a backup: out of one file, or out of a folder that holds many days."""

import shutil
import tempfile
from pathlib import Path

from server.backup import archive, days
from server.settings import Settings
from server.store import lock, mend
from server.store.check import Report, check
from server.store.photos import sync_folder
from server.store.shop import Shop, now


def restore(source: Path, settings: Settings, day: str = "") -> Report:
    """Make the shop of a backup in the settings' data folder; what a check of it finds, and what was damaged.

    Damaged records are set aside, so that the phones' own can come in their place.

    Phones may have sent records after the backup was made. The restored store says it is another one (its
    epoch), so every phone offers all it has again; and the desk goes on as a new device, because the phones
    may know more of its old chain than the backup does.

    Args:
        source: a file, or a folder of many days.
        day: how the day begins ("2026-11-27"); the newest such is taken.

    Raises:
        ValueError: the folder is not empty, or the backup is none, or was damaged after it was made.
    """
    data = settings.data
    if data.exists() and any(path.name != lock.NAME for path in data.iterdir()):
        raise ValueError(f"{data} is not empty. Move it away, or name another folder in LAYBY_DATA.")
    data.parent.mkdir(parents=True, exist_ok=True)
    room = Path(tempfile.mkdtemp(dir=data.parent, prefix=".layby-"))
    try:
        problems = days.unpack(source, room, day) if source.is_dir() else archive.unpack(source, room)
        here = Shop(Settings(data=room))
        problems += mend.set_aside(here.store, now())
        here.store.renew_epoch()
        here.access.retire_desk()
        report = check(here)
        here.close()
        sync_folder(room)
        with lock.held(room):  # a server that starts as soon as the folder is there waits its turn
            _put_in_place(room, data)
        return report._replace(problems=[*problems, *report.problems])
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
