"""A shop out of a backup: out of one file, or out of a folder that holds many days."""

import shutil
import tempfile
from pathlib import Path

from server.backup import archive, days
from server.settings import Settings
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
    if data.exists() and any(data.iterdir()):
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
        if data.exists():
            data.rmdir()
        sync_folder(room)
        room.rename(data)
        sync_folder(data.parent)
        return report
    finally:
        shutil.rmtree(room, ignore_errors=True)
