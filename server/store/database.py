"""The server's one SQLite file: its tables, and transactions that survive a power cut."""

import contextlib
import secrets
import sqlite3
import threading
import time
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import sqlite_utils
from sqlite_utils import Database
from sqlite_utils.migrations import Migrations

from server.store.lock import cannot_use
from server.store.readers import Readers

migrations = Migrations("layby")


@migrations()
def first(db: Database) -> None:
    # `cursor` is SQLite's rowid: with one writer at a time it grows in the order of the commits, so a
    # device that has read up to a cursor never misses a record that was committed later.
    db.create_table(
        "records",
        {"cursor": int, "id": str, "job": str, "device": str, "seq": int, "kind": str, "clock": str,
         "received": int, "text": str},
        pk="cursor",
        not_null=("id", "job", "device", "seq", "kind", "clock", "received", "text"),
    )  # fmt: skip
    db.table("records").create_index(["id"], unique=True)
    db.table("records").create_index(["device", "seq"], unique=True)
    db.table("records").create_index(["job"])
    db.table("records").create_index(["kind"])
    db.table("records").create_index(["clock"])
    # The last refusals, so that the desk can see what a phone holds and could not hand over.
    db.create_table(
        "refused",
        {"device": str, "seq": int, "digest": str, "id": str, "error": str, "message": str, "received": int},
        pk=("device", "seq", "digest"),
    )
    # The desk is a device without a token.
    db.create_table("devices", {"id": str, "name": str, "token": str, "enrolled": int, "seen": int}, pk="id")
    db.table("devices").create_index(["token"])
    db.create_table("codes", {"hash": str, "purpose": str, "expires": int}, pk="hash")
    db.create_table("sessions", {"hash": str, "started": int, "expires": int}, pk="hash")
    db.create_table("photos", {"sha256": str, "size": int, "type": str, "received": int}, pk="sha256")
    db.create_table("wanted", {"sha256": str, "device": str}, pk=("device", "sha256"))
    db.create_table(
        "uploads",
        {"device": str, "sha256": str, "length": int, "metadata": str},
        pk=("device", "sha256"),
    )
    # A phone that meets another epoch knows that this is not the store it sent its records to.
    db.create_table("facts", {"name": str, "value": str}, pk="name")
    db.table("facts").insert({"name": "epoch", "value": secrets.token_hex(16)})


@migrations()
def roles(db: Database) -> None:
    """Who signed in as what, which phone a code is for, which phone lost its right, who sent a photo."""
    db.table("codes").add_column("device", str, not_null_default="")
    db.table("sessions").add_column("role", str, not_null_default="desk")
    db.table("devices").add_column("revoked", int, not_null_default=0)
    db.table("photos").add_column("device", str, not_null_default="")
    db.create_table("passphrases", {"role": str, "hash": str, "changed": int}, pk="role")


@migrations()
def carried(db: Database) -> None:
    # 1 for a record that came in a file before the records that its device wrote ahead of it: it counts, but
    # the device's chain goes on below it until the device itself has sent what lies between.
    db.table("records").add_column("ahead", int, not_null_default=0)


@migrations()
def copies(db: Database) -> None:
    """Which phone a restored copy was copied from first; and gaps found without reading whole chains."""
    db.table("devices").add_column("copy_of", str, not_null_default="")
    db.execute("create index records_ahead on records (device, seq) where ahead = 1")
    db.execute("create index refused_gaps on refused (device, seq) where error = 'gap'")


@migrations()
def signing(db: Database) -> None:
    """Public keys, and the heads of chains that they signed. The shop's own keys stand under device ""."""
    db.create_table(
        "keys",
        {"device": str, "key": str, "spki": str, "since": int, "state": str},
        pk=("device", "key"),
        not_null=("device", "key", "spki", "since", "state"),
    )
    # Neither a signature nor its countersignature is ever changed or deleted.
    db.create_table(
        "heads",
        {"device": str, "seq": int, "head": str, "time": int, "key": str, "signature": str,
         "received": int, "shop_key": str, "countersignature": str},
        pk=("device", "seq"),
    )  # fmt: skip


@migrations()
def withdrawals(db: Database) -> None:
    """Records whose content was taken out (server/store/withdrawals.py), and photos that went with them."""
    db.table("records").add_column("withdrawn", int, not_null_default=0)
    db.create_table("withdrawals", {"target": str, "device": str, "record": str}, pk=("target", "record"))
    db.create_table("gone", {"sha256": str, "cursor": int}, pk="sha256")
    db.table("gone").add_column("erased", int, not_null_default=0)


@migrations()
def people(db: Database) -> None:
    """Everybody at the desk by name, and in which epoch of the store each right was given.

    Who had signed in by a passphrase that people shared signs in again, and says who it is.
    """
    db.create_table(
        "people",
        {"id": str, "name": str, "hash": str, "role": str, "added": int, "changed": int, "out": int,
         "epoch": str},
        pk="id",
        not_null=("id", "name", "hash", "role", "added", "changed", "out", "epoch"),
    )  # fmt: skip
    for table in ("devices", "sessions"):
        db.table(table).add_column("epoch", str, not_null_default="")
        db.table(table).add_column("person", str, not_null_default="")
    db.execute("update devices set epoch = (select value from facts where name = 'epoch')")
    db.execute("delete from sessions")
    db.execute("delete from codes where purpose in ('desk', 'viewer')")


@migrations()
def known_copies(db: Database) -> None:
    """1 for a restored copy of a phone that somebody at the desk has said is right."""
    db.table("devices").add_column("known", int, not_null_default=0)
    db.execute("update devices set known = 1 where copy_of <> ''")


@migrations()
def brought(db: Database) -> None:
    """What a file brought before its device sent it itself, and what its device then contradicted."""
    db.table("records").add_column("carried", int, not_null_default=0)
    db.execute("update records set carried = 1 where ahead = 1")
    db.execute("create index records_carried on records (device, seq) where carried = 1")
    # `cursor` is what the row had among the records; `by` is that of the record which contradicts it.
    db.create_table(
        "contradicted",
        {"cursor": int, "id": str, "job": str, "device": str, "seq": int, "kind": str, "received": int,
         "text": str, "by": int, "at": int},
        pk="cursor",
    )  # fmt: skip
    db.table("contradicted").create_index(["job"])
    db.table("contradicted").create_index(["by"])


@migrations()
def set_aside(db: Database) -> None:
    """Damaged records, whose places in their chains wait for true copies (server/store/mend.py)."""
    db.create_table(
        "damaged",
        {"id": str, "job": str, "device": str, "seq": int, "kind": str, "text": str, "received": int,
         "aside": int},
    )  # fmt: skip


TRIED = 65536  # bytes


class Damaged(ValueError):
    """The database cannot be read, or is not whole."""

    def __init__(self, path: Path, wrong: str) -> None:
        super().__init__(f"The database {path} is damaged: {wrong}.")


BUSY = 30.0  # seconds that one transaction may take


class Store:
    """One connection that writes, used by one thread at a time, and others that read.

    Raises:
        Damaged: there is a file, and it is damaged or no database.
        ValueError: a newer version has changed it, or there is no room for it or no right to write it.
    """

    def __init__(self, path: Path) -> None:
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)  # no other user may read it
        try:
            connection = sqlite3.connect(path, check_same_thread=False, timeout=30)
        except sqlite3.OperationalError as error:
            raise cannot_use(path.parent, str(error)) from None
        self._path = path
        self._db, self._lock = sqlite_utils.Database(connection), threading.RLock()
        self._writer, self._begun = 0, 0.0  # the thread in a transaction, and since when
        self._readers = Readers(path)
        self.failed = False  # the last time that something was to be stored, as far as nobody has tried since
        try:
            # WAL with full synchronous: a transaction that has been answered for is on the disk.
            connection.execute("PRAGMA journal_mode=WAL")
            connection.execute("PRAGMA synchronous=FULL")
            connection.execute("PRAGMA secure_delete=ON")  # what is withdrawn is overwritten
            _insist_on_known(self._db, path)
            migrations.apply(self._db)
            self.epoch: str = self.rows("select value from facts where name = 'epoch'")[0]["value"]
        except sqlite3.OperationalError as error:  # of the disk, not of what is on it
            self.close()
            raise cannot_use(path.parent, str(error)) from None
        except (sqlite3.DatabaseError, LookupError) as error:
            self.close()
            raise Damaged(path, str(error)) from None

    def insist_on_whole(self) -> None:
        """Raises Damaged when SQLite finds something wrong: to write on would make it worse."""
        try:
            wrong = str(self.rows("pragma quick_check(1)")[0]["quick_check"])
        except sqlite3.DatabaseError as error:
            wrong = str(error)
        if wrong != "ok":
            self.close()
            raise Damaged(self._path, wrong)

    @contextlib.contextmanager
    def transaction(self) -> Iterator[Database]:
        """All of it is stored when this ends, or nothing."""
        try:
            with self._lock, self._as_writer(), self._db.conn:
                self._db.conn.execute("BEGIN IMMEDIATE")
                yield self._db
        except sqlite3.OperationalError:
            self.failed = True
            raise

    @contextlib.contextmanager
    def _as_writer(self) -> Iterator[None]:
        self._writer, self._begun = threading.get_ident(), time.monotonic()
        try:
            yield
        finally:
            self._writer = 0

    def insist_on_writing(self, patience: float) -> None:
        """Raises sqlite3.Error when nothing can be written; that somebody is writing is proof enough."""
        if not self._lock.acquire(timeout=patience):
            if time.monotonic() - self._begun > BUSY:
                raise sqlite3.OperationalError("A transaction does not end.")
            return
        try:
            with self.transaction() as db:  # takes the write lock, and writes nothing
                db.execute("select 1 from facts").fetchone()
            if self.failed:  # a quota says no although the disk has room
                self.try_to_write()
        finally:
            self._lock.release()

    def try_to_write(self) -> None:
        """As much as some records need, and take it out again.

        Raises:
            sqlite3.Error: the disk or the database does not take it.
        """
        with self.transaction() as db:
            db.execute("insert or replace into facts values ('tried', randomblob(?))", [TRIED])
        with self.transaction() as db:
            db.execute("delete from facts where name = 'tried'")
        self.failed = False

    @contextlib.contextmanager
    def reading(self) -> Iterator[Database]:
        """Several queries with nothing written between them; within a transaction, what it has written."""
        if self._writer == threading.get_ident():
            yield self._db
        else:
            with self._readers.one() as db:
                yield db

    def rows(self, sql: str, parameters: Sequence[Any] = ()) -> list[dict[str, Any]]:
        with self.reading() as db:
            return list(db.query(sql, parameters))

    def renew_epoch(self) -> None:
        """Say that this is another store than before, so that every phone offers all it has again."""
        self.epoch = secrets.token_hex(16)
        with self.transaction() as db:
            db.execute("update facts set value = ? where name = 'epoch'", [self.epoch])

    def close(self) -> None:
        self._readers.close()
        with self._lock:
            self._db.close()


def insist_on_database(path: Path) -> None:
    """Raises Damaged when photos are there and the database that names them is gone: no new shop begins."""
    is_gone = not path.exists() or not path.stat().st_size
    photos = path.parent / "photos"
    if is_gone and photos.is_dir() and any(file.is_file() for file in photos.iterdir()):
        raise Damaged(path, "it is empty or gone, and the shop's photos are there")


def one(db: Database, sql: str, parameters: Sequence[Any]) -> dict[str, Any] | None:
    """The first row, or None."""
    return next(iter(list(db.query(sql, parameters))), None)


def _insist_on_known(db: Database, path: Path) -> None:
    """A newer version may rely on what this one would not keep up, so this one touches nothing."""
    known = {migration.name for migration in migrations._migrations}
    if any(applied.name not in known for applied in migrations.applied(db)):
        db.close()
        raise ValueError(
            f"The database {path} was changed by a newer version of Layby. Nothing was touched. "
            "Start that version again, or restore a backup that was made before it."
        )
