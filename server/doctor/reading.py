"""Reads the shop's database without a trace: nothing is made, migrated or locked for writing."""

import contextlib
import sqlite3
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import quote


class Reading:
    def __init__(self, connection: sqlite3.Connection) -> None:
        self._connection = connection

    def rows(self, sql: str) -> Iterator[dict[str, Any]]:
        cursor = self._connection.execute(sql)
        names = [column[0] for column in cursor.description]
        return (dict(zip(names, row, strict=True)) for row in cursor)

    def one(self, sql: str) -> Any:
        """The first value of the first row, or None."""
        row = self._connection.execute(sql).fetchone()
        return row[0] if row else None


@contextlib.contextmanager
def reading(data: Path) -> Iterator[Reading]:
    """Raises sqlite3.Error when it cannot be opened."""
    path = data / "layby.db"
    # Without a log beside it no server has it open; SQLite would make one even to read.
    still = "" if path.with_name("layby.db-wal").exists() else "&immutable=1"
    connection = sqlite3.connect(f"file:{quote(str(path.resolve()))}?mode=ro{still}", uri=True, timeout=5)
    try:
        yield Reading(connection)
    finally:
        connection.close()
