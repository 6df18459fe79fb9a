"""One moment of a running shop's database, as a file of its own."""

import sqlite3
from pathlib import Path

from server.store.check import CHAINS, Seen, chains


def insist_on_shop(data: Path) -> None:
    """Raises ValueError when there is no shop in this folder."""
    if not (data / "layby.db").is_file():
        raise ValueError(f"There is no shop in {data}; LAYBY_DATA names its folder.")


def copied(source: Path, part: Path) -> tuple[list[str] | None, list[str]]:
    """The photos it names and what is wrong with it; None when it is damaged, and copied as it is."""
    try:
        copy = take(source, part)
        try:
            wrong = faults(copy)
            if not wrong:
                strip(copy)
                return photos(copy), broken_chains(copy)
        finally:
            copy.close()
    except sqlite3.DatabaseError as error:
        wrong = [str(error)]
        part.write_bytes(source.read_bytes())
    return None, [f"database: {fault}" for fault in wrong]


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


def broken_chains(copy: sqlite3.Connection) -> list[str]:
    """What is wrong with its records."""
    cursor = copy.execute(CHAINS)
    names = [column[0] for column in cursor.description]
    return list(chains((dict(zip(names, row, strict=True)) for row in cursor), Seen()))


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


def want(database: sqlite3.Connection, sha256: str) -> None:
    """Ask the phones for a photo that a backup does not have."""
    database.execute("delete from photos where sha256 = ?", [sha256])
    database.execute("insert or ignore into wanted (sha256, device) values (?, '')", [sha256])
    database.execute(
        "insert or ignore into wanted (sha256, device) select ?, device from records"
        " where kind = 'photo' and text like ?",
        [sha256, f'%"{sha256}"%'],
    )
