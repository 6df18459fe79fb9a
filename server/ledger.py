"""Every device's chain of records: what is taken, what is refused and why, and who lacks what."""

import json
from typing import Any, TypedDict

from sqlite_utils import Database

from pwa.app.protocol import Device, Record
from pwa.app.records import digest
from server import entries
from server.database import Store

REPLY_RECORDS = 1000
REPLY_BYTES = 1024 * 1024
REFUSALS_KEPT = 1000  # a device


class Refusal(TypedDict):
    """A record that stays where it is, and why. `id` and `seq` are empty when the text has none."""

    id: str
    seq: int
    error: str  # "malformed", "relayed", "altered", "gap"
    message: str


# The numbers of records that a device has written and nobody has sent yet ("from" is a keyword).
Gap = TypedDict("Gap", {"device": str, "from": int, "to": int})


class Ledger:
    """Records in the database. Nothing here ever changes or deletes one."""

    def __init__(self, store: Store) -> None:
        self._store = store

    def take(self, device: str, texts: list[str], now: int) -> tuple[list[str], list[Refusal]]:
        """Keep a device's next records; one that is here already counts as taken.

        All that can be kept of a batch is kept in one transaction. A record is refused when it is no
        record, comes from another device, does not follow the one before it, or differs from the one
        that is here under its number.
        """
        taken: list[str] = []
        refused: list[Refusal] = []
        if not texts:
            return taken, refused
        with self._store.transaction() as db:
            for text in texts:
                try:
                    taken.append(self._keep(db, device, text, now))
                except _Refusal as reason:
                    refused.append(reason.refusal)
                    self._note_refusal(db, device, text, reason.refusal, now)
            db.execute(
                "delete from refused where device = ? and rowid not in"
                " (select rowid from refused where device = ? order by rowid desc limit ?)",
                [device, device, REFUSALS_KEPT],
            )
        return taken, refused

    def _keep(self, db: Database, device: str, text: str, now: int) -> str:
        try:
            entry = entries.read(text)
        except ValueError as error:
            raise _Refusal("", 0, "malformed", str(error)) from None
        if entry.device != device:
            raise _refusal(entry, "relayed", "A device may send only the records that it wrote itself.")
        known = _one(db, "select text from records where device = ? and seq = ?", [device, entry.seq])
        if known is not None:
            if known["text"] != text:
                raise _refusal(
                    entry, "altered", f"Another record is here as this device's number {entry.seq}."
                )
            return entry.id
        seq, head = _head(db, device)
        if entry.seq != seq + 1:
            raise _refusal(entry, "gap", f"{_numbers(seq + 1, entry.seq - 1)} not here yet; send them first.")
        if entry.prev != head:
            raise _refusal(
                entry, "altered", f"Record {entry.seq} does not follow the record {seq} that is here."
            )
        if _one(db, "select 1 from records where id = ?", [entry.id]) is not None:
            raise _refusal(entry, "altered", "Another record is here under this record's id.")
        self._insert(db, entry, text, now)
        return entry.id

    def _insert(self, db: Database, entry: entries.Entry, text: str, now: int) -> None:
        db.table("records").insert(
            {"id": entry.id, "job": entry.job, "device": entry.device, "seq": entry.seq,
             "kind": entry.kind, "clock": entry.clock, "received": now, "text": text}
        )  # fmt: skip
        db.execute("delete from refused where device = ? and digest = ?", [entry.device, digest(text)])
        if entry.photo:
            db.execute(
                "insert or ignore into wanted (device, sha256) select ?, ?"
                " where not exists (select 1 from photos where sha256 = ?)",
                [entry.device, entry.photo, entry.photo],
            )

    def _note_refusal(self, db: Database, device: str, text: str, refusal: Refusal, now: int) -> None:
        mark = digest(text.encode(errors="replace").decode())
        db.table("refused").insert(
            {"device": device, "digest": mark, "received": now, **refusal}, replace=True
        )

    def since(self, cursor: int, device: str) -> tuple[list[str], int, bool]:
        """Texts that other devices wrote after a cursor, the cursor after them, and whether more wait.

        A device never gets its own records back: it wrote them, and it keeps them.
        """
        texts: list[str] = []
        size, reached = 0, cursor
        with self._store.reading() as db:
            sql = "select cursor, text from records where cursor > ? and device <> ? order by cursor"
            for row in db.query(sql, [cursor, device]):
                size += len(row["text"])
                if texts and (len(texts) == REPLY_RECORDS or size > REPLY_BYTES):
                    return texts, reached, True
                texts.append(row["text"])
                reached = row["cursor"]
            # The device's own records at the end are skipped for good, not looked at each time.
            last = _one(db, "select coalesce(max(cursor), 0) as cursor from records", [])
        return texts, (last or {})["cursor"], False

    def device(self, device: str, name: str) -> Device:
        """A device as its next record needs it, read from the chain itself."""
        with self._store.reading() as db:
            seq, head = _head(db, device)
            clock = _one(db, "select max(clock) as clock from records", [])
        return {"id": device, "name": name, "seq": seq, "head": head, "clock": (clock or {})["clock"] or ""}

    def of_job(self, job: str) -> list[Record]:
        return self._read("job = ?", [job])

    def of_kinds(self, kinds: list[str]) -> list[Record]:
        return self._read(f"kind in ({', '.join('?' * len(kinds))})", kinds)

    def _read(self, where: str, parameters: list[str]) -> list[Record]:
        rows = self._store.rows(f"select text from records where {where} order by cursor", parameters)
        return [json.loads(row["text"]) for row in rows]

    def wanted(self, device: str) -> list[str]:
        """Photos that this device's records name and that are not here, at most 100 at a time."""
        sql = "select sha256 from wanted where device = ? order by rowid limit 100"
        return [row["sha256"] for row in self._store.rows(sql, [device])]

    def gaps(self, device: str) -> list[Gap]:
        """Numbers missing between what is here of a device and what it last tried to send."""
        row = self._store.rows(
            "select min(seq) as seq from refused where device = ? and error = 'gap'", [device]
        )[0]
        here = self._store.rows("select coalesce(max(seq), 0) as seq from records where device = ?", [device])
        if row["seq"] is None or row["seq"] <= here[0]["seq"] + 1:
            return []
        return [{"device": device, "from": here[0]["seq"] + 1, "to": row["seq"] - 1}]

    def refusals(self, device: str) -> list[dict[str, Any]]:
        return self._store.rows("select * from refused where device = ? order by seq", [device])


class _Refusal(Exception):
    def __init__(self, id: str, seq: int, error: str, message: str) -> None:
        super().__init__(message)
        self.refusal: Refusal = {"id": id, "seq": seq, "error": error, "message": message}


def _refusal(entry: entries.Entry, error: str, message: str) -> _Refusal:
    return _Refusal(entry.id, entry.seq, error, message)


def _head(db: Database, device: str) -> tuple[int, str]:
    """Number and digest of a device's last record."""
    row = _one(db, "select seq, text from records where device = ? order by seq desc limit 1", [device])
    return (row["seq"], digest(row["text"])) if row else (0, "")


def _one(db: Database, sql: str, parameters: list[Any]) -> dict[str, Any] | None:
    return next(iter(list(db.query(sql, parameters))), None)


def _numbers(first: int, last: int) -> str:
    return (
        f"Record {first} of this device is"
        if first == last
        else f"Records {first} to {last} of this device are"
    )
