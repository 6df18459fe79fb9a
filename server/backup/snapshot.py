"""One moment of a running shop's database, as a file of its own."""

import sqlite3
from pathlib import Path


def insist_on_shop(data: Path) -> None:
    """Raises ValueError when there is no shop in this folder."""
    if not (data / "layby.db").is_file():
        raise ValueError(f"There is no shop in {data}; LAYBY_DATA names its folder.")


def take(source: Path, target: Path) -> sqlite3.Connection:
    """Copy every page as it is, sound or not; the copy, open."""
    reading, copy = sqlite3.connect(source, timeout=30), sqlite3.connect(target)
    try:
        reading.backup(copy)
    except BaseException:
        copy.close()
        raise
    finally:
        reading.close()
    return copy


def faults(copy: sqlite3.Connection) -> list[str]:
    """What SQLite itself finds wrong in it."""
    return [row[0] for row in copy.execute("pragma integrity_check(5)") if row[0] != "ok"]


def strip(copy: sqlite3.Connection) -> None:
    """Take out by what somebody could come in, and make it one file."""
    for table in ("sessions", "codes", "uploads"):
        copy.execute(f"delete from {table}")
    copy.commit()
    copy.execute("vacuum")  # what was deleted is not in the file any more
    copy.execute("pragma journal_mode=delete")


def photos(copy: sqlite3.Connection) -> list[str]:
    """The hashes of the photos it names, in order."""
    return [row[0] for row in copy.execute("select sha256 from photos order by sha256")]
