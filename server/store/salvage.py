"""Saves the rows of a damaged database that can still be read."""

import contextlib
import shutil
import sqlite3
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from server.store.database import Damaged, Store

LINEAR, MOST = 1000, 2**40  # rows that are skipped one by one, and how far at most
OURS = "select name from sqlite_master where type = 'table' and name not like '%sqlite_%'"


def salvage(source: Path, target: Path) -> list[str]:
    """Make a new database of what can be read of `source`, which stays as it is; what could not be read.

    Raises:
        Damaged: nothing can be read of it, not even what tables there are.
    """
    lost: list[str] = []
    Store(target).close()  # the tables as this version has them
    with tempfile.TemporaryDirectory(dir=target.parent, prefix=".layby-") as room:
        copy = Path(room) / source.name
        for part in (source, source.with_name(f"{source.name}-wal")):
            if part.exists():
                shutil.copyfile(part, Path(room) / part.name)
        with (
            contextlib.closing(sqlite3.connect(copy)) as old,
            contextlib.closing(sqlite3.connect(target)) as new,
        ):
            for (table,) in new.execute(OURS).fetchall():
                try:
                    columns = _columns(old, new, table)
                except sqlite3.DatabaseError as error:
                    raise Damaged(source, str(error)) from None
                lost += _table(old, new, table, columns)
            new.commit()
    return lost


def _columns(old: sqlite3.Connection, new: sqlite3.Connection, table: str) -> list[str]:
    old.execute("pragma writable_schema = on")  # else SQLite does not open one that was cut short
    names = [[row[1] for row in db.execute(f"pragma table_info({table})")] for db in (new, old)]
    return [name for name in names[0] if name in names[1]]


def _table(old: sqlite3.Connection, new: sqlite3.Connection, table: str, columns: list[str]) -> list[str]:
    if not columns:
        return [] if table in YOUNGER else [f"table {table}: it cannot be found"]
    names = ", ".join(f'"{name}"' for name in columns)
    keep = "replace" if table == "facts" else "ignore"
    sql = f"insert or {keep} into {table} ({names}) values ({', '.join('?' * len(columns))})"
    places = 0
    for row in _rows(old, table, names):
        if row is None:
            places += 1
        else:
            new.execute(sql, row)
    return [f"table {table}: damaged in {places} places; what stood there cannot be read"] if places else []


YOUNGER = ("damaged",)  # a database of an older version has none


def _rows(old: sqlite3.Connection, table: str, names: str) -> Iterator[tuple[Any, ...] | None]:
    """Every row that can be read, and None for each place where that is not so."""
    at, step = -1, 0
    sql = f"select rowid, {names} from {table} not indexed where rowid > ? order by rowid"
    while step < MOST:
        try:
            for row in old.execute(sql, [at + step]):
                at, step = row[0], 0
                yield row[1:]
            return
        except sqlite3.DatabaseError:
            if step == 0:
                yield None
            step = step + 1 if step < LINEAR else step * 2
