"""The days that a folder of backups holds, and the shop of one of them."""

import contextlib
import hashlib
import re
import sqlite3
from pathlib import Path

from server import signing
from server.backup import files, snapshot
from server.store.photos import sync_folder

NAME = re.compile(r"layby-(\d{4}-\d\d-\d\dT\d{6}\.\d{3}Z)-([0-9a-f]{32})\.db")


def databases(folder: Path) -> list[Path]:
    """The sound ones, oldest first."""
    return sorted(path for path in folder.iterdir() if NAME.fullmatch(path.name))


def unpack(folder: Path, room: Path, day: str = "") -> None:
    """Put one day's shop into `room`. A photo that is not sound here is wanted again from its phone.

    Raises:
        ValueError: there is no such day, or its database is damaged.
    """
    chosen = [path for path in databases(folder) if path.name.startswith(f"layby-{day}")]
    if not chosen:
        said = f" whose name begins with layby-{day}" if day else ""
        raise ValueError(f"{folder} holds no database{said}.")
    found = NAME.fullmatch(chosen[-1].name)
    content = chosen[-1].read_bytes()
    if not found or files.digest(content) != found[2]:
        raise ValueError(f"{chosen[-1]} is damaged. Name another day: `layby restore {folder} --date DATE`.")
    (room / "photos").mkdir()
    files.write(room / "layby.db", content)
    if (folder / signing.NAME).is_file():
        files.write(room / signing.NAME, (folder / signing.NAME).read_bytes())
    with contextlib.closing(sqlite3.connect(room / "layby.db")) as database:
        for sha256 in snapshot.photos(database):
            if not _bring(folder / "photos" / sha256, room / "photos" / sha256):
                _want(database, sha256)
        database.commit()
    sync_folder(room / "photos")


def _bring(source: Path, target: Path) -> bool:
    """Whether the photo is here and sound; then it is copied."""
    try:
        content = source.read_bytes()
    except OSError:
        return False
    if hashlib.sha256(content).hexdigest() != target.name:
        return False
    files.write(target, content)
    return True


def _want(database: sqlite3.Connection, sha256: str) -> None:
    database.execute("delete from photos where sha256 = ?", [sha256])
    database.execute(
        "insert or ignore into wanted (sha256, device) select ?, device from records"
        " where kind = 'photo' and text like ?",
        [sha256, f'%"{sha256}"%'],
    )
