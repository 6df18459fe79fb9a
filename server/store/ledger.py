"""Every device's chain of records: what is taken, what is refused and why, and who lacks what."""

import json
from collections.abc import Iterator
from contextlib import closing
from typing import TYPE_CHECKING, Any, TypedDict

from sqlite_utils import Database

from pwa.app import contract
from pwa.app.protocol import Device, Needs, Row
from pwa.app.record import chain, remains, verbatim
from pwa.app.record.authors import Authors
from pwa.app.record.chain import digest, link
from server.store import brought, entries, gaps, withdrawals
from server.store.database import Store, one

if TYPE_CHECKING:
    from pwa.app.protocol import Record

REPLY_RECORDS = 1000
REPLY_SIZE = contract.ANSWER_SIZE  # characters
NEWEST = "select max(clock) as clock from records where clock < ? and length(clock) = 23"  # as chain.moves
REFUSALS_KEPT = 1000  # a device


class Refusal(TypedDict):
    """A record that stays where it is, and why. `id` and `seq` are empty when the text has none."""

    id: str
    seq: int
    error: str  # "malformed", "relayed", "altered", "gap"
    message: str


class Ledger:
    """Records in the database. Nothing here changes or deletes one, but for what a person withdraws."""

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

    def carry(self, texts: list[str], now: int) -> tuple[int, int, list[Refusal]]:
        """Keep records that came in a file: how many are new, how many were here, what was refused.

        A file may hold one job of a device that wrote others between, so a gap is no reason to refuse; but a
        record beside its neighbour in the chain has to follow it. What a device has not sent itself gives way
        once it does (brought.py).
        """
        new, refused = 0, []
        with self._store.transaction() as db:
            for text in texts:
                try:
                    new += self._carry(db, text, now)
                except _Refusal as reason:
                    refused.append(reason.refusal)
        return new, len(texts) - new - len(refused), refused

    def _carry(self, db: Database, text: str, now: int) -> bool:
        entry = _read(text)
        seq, head = gaps.reach(db, entry.device)
        follows = entry.seq == seq + 1 and entry.prev == head
        if _known(db, entry, text):
            if follows:
                db.execute("update records set ahead = 0 where id = ?", [entry.id])
            return False
        if not follows:
            _insist_on_neighbours(db, entry, text)
        is_beyond = entry.seq > brought.own_head(db, entry.device)[0]
        self._insert(db, entry, text, now, {"ahead": int(not follows), "carried": int(is_beyond)})
        return True

    def _keep(self, db: Database, device: str, text: str, now: int) -> str:
        entry = _read(text)
        if entry.device != device:
            raise _refusal(entry, "relayed", "A device may send only the records that it wrote itself.")
        seq, head = brought.own_head(db, device)
        if entry.seq <= seq and _known(db, entry, text):
            self._settle(db, entry, text)
            return entry.id
        if entry.seq != seq + 1:
            raise _refusal(entry, "gap", f"{_numbers(seq + 1, entry.seq - 1)} not here yet; send them first.")
        if entry.prev != head:
            raise _refusal(
                entry, "altered", f"Record {entry.seq} does not follow the record {seq} that is here."
            )
        self._take_word(db, entry, text, now)
        return entry.id

    def _take_word(self, db: Database, entry: entries.Entry, text: str, now: int) -> None:
        """The device's own next record: what files brought gives way to it."""
        others = brought.contradicted_by(db, entry, text)
        # A cursor is never used twice, or a phone that has read so far would miss what comes under it.
        cursor = (one(db, "select coalesce(max(cursor), 0) + 1 as next from records", []) or {})["next"]
        for row in others:
            brought.set_aside(db, row, cursor, now)
            message = f"A file brought another record as number {row['seq']}; the device's own counts."
            refusal = _Refusal(row["id"], row["seq"], "altered", message).refusal
            self._note_refusal(db, row["device"], row["text"], refusal, now)
        if not _known(db, entry, text):
            self._insert(db, entry, text, now, {"cursor": cursor})
            return
        db.execute("update records set carried = 0, ahead = 0 where id = ?", [entry.id])
        if others:  # phones hear of them with this record
            db.execute("update records set cursor = ? where id = ?", [cursor, entry.id])
        self._settle(db, entry, text)
        withdrawals.arrived(db, entry)

    def _insert(
        self, db: Database, entry: entries.Entry, text: str, now: int, besides: dict[str, int]
    ) -> None:
        if one(db, "select 1 from records where id = ?", [entry.id]) is not None:
            raise _refusal(entry, "altered", "Another record is here under this record's id.")
        db.table("records").insert(
            {"id": entry.id, "job": entry.job, "device": entry.device, "seq": entry.seq,
             "kind": entry.kind, "clock": entry.clock, "received": now, "text": text,
             "withdrawn": int(bool(entry.withdrawn)), **besides}
        )  # fmt: skip
        db.execute("delete from refused where device = ? and digest = ?", [entry.device, digest(text)])
        if entry.photo:
            db.execute(
                "insert or ignore into wanted (device, sha256) select ?, ?"
                " where not exists (select 1 from photos where sha256 = ?)"
                " and not exists (select 1 from gone where sha256 = ?)",
                [entry.device, entry.photo, entry.photo, entry.photo],
            )
        if besides.get("carried") and one(db, "select 1 from devices where id = ?", [entry.device]):
            withdrawals.obey(db, entry.id)  # what it asks for itself waits for the device's own word
        else:
            withdrawals.arrived(db, entry)

    def _settle(self, db: Database, entry: entries.Entry, text: str) -> None:
        """The device sends a record that is here: it may have withdrawn it, or a file may have said so."""
        if entry.withdrawn:
            withdrawals.order(db, entry.id, entry.device, entry.id)
            withdrawals.obey(db, entry.id)
        elif not withdrawals.is_ordered(db, entry.id, entry.device):
            stored = one(db, "select text from records where id = ?", [entry.id])
            if stored and stored["text"] != text:
                withdrawals.put_back(db, entry.id, text)

    def _note_refusal(self, db: Database, device: str, text: str, refusal: Refusal, now: int) -> None:
        mark = digest(text.encode(errors="replace").decode())
        db.table("refused").insert(
            {"device": device, "digest": mark, "received": now, **refusal}, replace=True
        )

    def since(self, cursor: int, device: str, room: int = REPLY_SIZE) -> tuple[list[str], int, bool]:
        """Texts that other devices wrote after a cursor, the cursor after them, and whether more wait.

        At least one, and no more than `room` characters otherwise.

        A device never gets its own records back, for it keeps them; but it gets the remains of those that
        were withdrawn.
        """
        texts: list[str] = []
        size, reached = 0, cursor
        sql = (
            "select cursor, text from records where cursor > ? and (device <> ? or withdrawn = 1)"
            " order by cursor"
        )
        with self._store.reading() as db, closing(db.query(sql, [cursor, device])) as found:
            for row in found:
                if verbatim.is_long(row["text"]):
                    continue  # no weak line bears it, and it decides nothing anywhere; the desk shows it
                size += len(row["text"])
                if texts and (len(texts) == REPLY_RECORDS or size > min(room, REPLY_SIZE)):
                    return texts, reached, True
                texts.append(row["text"])
                reached = row["cursor"]
            # The device's own records at the end are skipped for good, not looked at each time.
            last = one(db, "select coalesce(max(cursor), 0) as cursor from records", [])
        return texts, (last or {})["cursor"], False

    def gone(self, after: int, until: int) -> list[str]:
        """Photos that were withdrawn between two cursors, the second one included."""
        sql = "select sha256 from gone where cursor > ? and cursor <= ? order by cursor"
        return [row["sha256"] for row in self._store.rows(sql, [after, until])]

    def device(self, device: str, name: str) -> Device:
        """A device as its next record needs it, read from the chain itself."""
        with self._store.reading() as db:
            seq, head = brought.own_head(db, device)
            clock = one(db, NEWEST, [f"{chain.LAST + 1:015d}"])
        return {"id": device, "name": name, "seq": seq, "head": head, "clock": (clock or {})["clock"] or ""}

    def texts(self, job: str = "", device: str = "") -> Iterator[str]:
        """Everything of one job, or of all, by one device or by all, a page at a time."""
        sql = (
            "select cursor, text from records where cursor > ? and ? in ('', job) and ? in ('', device)"
            " order by cursor limit ?"
        )
        rows = self._store.rows(sql, [0, job, device, REPLY_RECORDS])
        while rows:
            yield from (row["text"] for row in rows)
            rows = self._store.rows(sql, [rows[-1]["cursor"], job, device, REPLY_RECORDS])

    def names_in(self, job: str) -> list[str]:
        """The records by which the devices that wrote in a job say their names."""
        sql = (
            "select text from records where kind = ? and job <> ?"
            " and device in (select device from records where job = ?) order by cursor"
        )
        return [row["text"] for row in self._store.rows(sql, [contract.PERSON, job, job])]

    def authors(self) -> Authors:
        """Who is called what, by what every device said of itself."""
        return Authors(self.of_kinds([contract.PERSON]))

    def rows(self, needs: Needs) -> list[Row]:
        """Rows of one job and of some kinds of every job, as they are stored."""
        marks = ", ".join("?" * len(needs["kinds"]))
        sql = (
            "select id, job, kind, device, seq, text, received from records"
            f" where job = ? or kind in ({marks}) order by cursor"
        )
        with self._store.reading() as db:
            rows: list[Any] = list(db.query(sql, [needs["job"], *needs["kinds"]]))
            return rows + (brought.contradicted(db, needs["job"]) if needs["job"] else [])

    def contradicted(self, after: int, reached: int) -> list[str]:
        """Ids of what files brought and the records between two cursors contradict."""
        with self._store.reading() as db:
            return brought.ids_between(db, after, reached)

    def of_job(self, job: str) -> "list[Record]":
        return self._read("job = ?", [job])

    def of_kinds(self, kinds: list[str]) -> "list[Record]":
        return self._read(f"kind in ({', '.join('?' * len(kinds))})", kinds)

    def _read(self, where: str, parameters: list[str]) -> "list[Record]":
        rows = self._store.rows(f"select text from records where {where} order by cursor", parameters)
        return [json.loads(row["text"]) for row in rows]

    def wanted(self, device: str) -> list[str]:
        """Photos that this device's records name and that are not here, at most 100 at a time."""
        sql = "select sha256 from wanted where device = ? order by rowid limit 100"
        return [row["sha256"] for row in self._store.rows(sql, [device])]

    def asked_back(self, device: str) -> list[str]:
        """Photos to ask a phone for: of its own records, and those of anybody's that were damaged here.

        At most 100, others each time: what the phone does not have should not stand before what it has.
        """
        sql = "select distinct sha256 from wanted where device in (?, '') order by random() limit 100"
        return [row["sha256"] for row in self._store.rows(sql, [device])]

    def gaps(self) -> list[gaps.Gap]:
        """Numbers missing before what a file brought of a device, and before what it last tried to send."""
        with self._store.reading() as db:
            return gaps.every(db, self.authors)

    def head(self, device: str) -> tuple[int, str]:
        """Number and digest of the last record that a device itself sent."""
        with self._store.reading() as db:
            return brought.own_head(db, device)

    def forget_refusals(self, device: str) -> None:
        """They are only notes for people: what is offered again is judged again."""
        with self._store.transaction() as db:
            db.execute("delete from refused where device = ?", [device])

    def refusals(self, device: str) -> list[dict[str, Any]]:
        return self._store.rows("select * from refused where device = ? order by seq", [device])


class _Refusal(Exception):
    def __init__(self, id: str, seq: int, error: str, message: str) -> None:
        super().__init__(message)
        self.refusal: Refusal = {"id": id, "seq": seq, "error": error, "message": message}


def _refusal(entry: entries.Entry, error: str, message: str) -> _Refusal:
    return _Refusal(entry.id, entry.seq, error, message)


def _read(text: str) -> entries.Entry:
    try:
        return entries.read(text)
    except ValueError as error:
        raise _Refusal("", 0, "malformed", str(error)) from None


def _known(db: Database, entry: entries.Entry, text: str) -> bool:
    """Whether this very record is here; another one under its number or its id is a reason to refuse it."""
    known = one(db, "select text from records where device = ? and seq = ?", [entry.device, entry.seq])
    if known is not None and not remains.is_of(text, known["text"]):
        raise _refusal(entry, "altered", f"Another record is here as this device's number {entry.seq}.")
    return known is not None


def _insist_on_neighbours(db: Database, entry: entries.Entry, text: str) -> None:
    """The records before and after it, where they are here, have to fit."""
    sql = "select text from records where device = ? and seq = ?"
    before = one(db, sql, [entry.device, entry.seq - 1])
    after = one(db, sql, [entry.device, entry.seq + 1])
    fits = before is None or entry.prev == link(before["text"])
    if not fits or (after is not None and json.loads(after["text"])["prev"] != link(text)):
        message = f"Record {entry.seq} of this device does not fit between those that are here."
        raise _refusal(entry, "altered", message)


def _numbers(first: int, last: int) -> str:
    return (
        f"Record {first} of this device is"
        if first == last
        else f"Records {first} to {last} of this device are"
    )
