"""The days that a folder of backups holds, and the shop of one of them."""

import contextlib
import hashlib
import re
import sqlite3
from pathlib import Path

from server import signing
from server.backup import files, snapshot
from server.store.photos import sync_folder
from server.store.salvage import salvage

NAME = re.compile(r"layby-(\d{4}-\d\d-\d\dT\d{6}\.\d{3}Z)-([0-9a-f]{32})\.db")
DAMAGED = re.compile(NAME.pattern.replace(r"\.db", r"-damaged\.db"))


def databases(folder: Path) -> list[Path]:
    """The sound ones, oldest first."""
    return sorted(path for path in folder.iterdir() if NAME.fullmatch(path.name))


def unpack(folder: Path, room: Path, day: str = "") -> list[str]:
    """Put one day's shop into `room`. A photo that is not sound here is wanted again from its phone.

    A database that was damaged when it was saved is taken when there is no sound one of that day: then what
    can be read of it, and what cannot is returned.

    Raises:
        ValueError: there is no such day, or its database is damaged.
    """
    here = sorted(path for path in folder.iterdir() if path.name.startswith(f"layby-{day}"))
    chosen = [path for path in here if NAME.fullmatch(path.name)]
    chosen = chosen or [path for path in here if DAMAGED.fullmatch(path.name)]
    if not chosen:
        said = f" whose name begins with layby-{day}" if day else ""
        raise ValueError(f"{folder} holds no database{said}.")
    found = NAME.fullmatch(chosen[-1].name) or DAMAGED.fullmatch(chosen[-1].name)
    content = chosen[-1].read_bytes()
    if not found or files.digest(content) != found[2]:
        raise ValueError(f"{chosen[-1]} is damaged. Name another day: `layby restore {folder} --date DATE`.")
    (room / "photos").mkdir()
    lost = salvaged(content, room) if DAMAGED.fullmatch(chosen[-1].name) else []
    if not lost:
        files.write(room / "layby.db", content)
    if (folder / signing.NAME).is_file():
        files.write(room / signing.NAME, (folder / signing.NAME).read_bytes())
    with contextlib.closing(sqlite3.connect(room / "layby.db")) as database:
        for sha256 in snapshot.photos(database):
            if not _bring(folder / "photos" / sha256, room / "photos" / sha256):
                snapshot.want(database, sha256)
        database.commit()
    sync_folder(room / "photos")
    return lost


def salvaged(content: bytes, room: Path) -> list[str]:
    """What can be read of a damaged database, as the room's own; what cannot, and that it was damaged."""
    files.write(room / "damaged.db", content)
    try:
        return [
            "database: it was damaged when it was saved",
            *salvage(room / "damaged.db", room / "layby.db"),
        ]
    finally:
        (room / "damaged.db").unlink()


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
