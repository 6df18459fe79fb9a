"""Connections to the database that only read: each as the database stood when it began, whoever writes."""

import contextlib
import sqlite3
import threading
from collections.abc import Iterator
from pathlib import Path

from sqlite_utils import Database

KEPT = 8  # connections that nobody uses at the moment


class Readers:
    """As many at once as are asked for. With a write-ahead log neither readers nor the writer wait."""

    def __init__(self, path: Path) -> None:
        self._path, self._lock = path, threading.Lock()
        self._idle: list[Database] = []
        self._is_closed = False

    @contextlib.contextmanager
    def one(self) -> Iterator[Database]:
        """Several queries with nothing written between them."""
        db = self._taken()
        try:
            db.conn.execute("BEGIN")
            yield db
        finally:
            db.conn.rollback()
            self._give_back(db)

    def _taken(self) -> Database:
        with self._lock:
            if self._is_closed:
                raise sqlite3.ProgrammingError("The database is closed.")
            if self._idle:
                return self._idle.pop()
        connection = sqlite3.connect(self._path, check_same_thread=False, timeout=30)
        connection.execute("PRAGMA query_only=ON")
        return Database(connection)

    def _give_back(self, db: Database) -> None:
        with self._lock:
            if not self._is_closed and len(self._idle) < KEPT:
                self._idle.append(db)
                return
        db.close()

    def close(self) -> None:
        with self._lock:
            self._is_closed = True
            idle, self._idle = self._idle, []
        for db in idle:
            db.close()
