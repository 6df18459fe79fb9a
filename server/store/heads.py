"""Signed heads: with which key each device signs where its chain is, and what the shop said to it.

A head holds the whole chain before it, since each record carries the hash of the one before. So whoever
rewrites what was signed would need the device's key, which cannot leave the phone.
"""

from collections.abc import Iterable
from typing import Any, Literal, TypedDict, cast

from sqlite_utils import Database

from pwa.app.record.chain import link
from server import signing
from server.errors import Refused
from server.signing import Head, ShopKey
from server.store import brought
from server.store.database import Store, one

SHOP = ""  # as a device of the table of keys
# "waiting": the desk has to say yes. "old": it counted before the one that counts now.
State = Literal["good", "waiting", "old"]
Reason = Literal["malformed", "other_key", "wrong_signature", "not_here", "other_entry"]


class NotSigned(Exception):
    """A head is not taken. The records are none the worse for it."""

    def __init__(self, reason: Reason, message: str) -> None:
        super().__init__(message)
        self.reason, self.message = reason, message


class Signed(TypedDict):
    """A signed head as it is stored, and as its device gets it back."""

    device: str
    seq: int
    head: str
    time: int  # ms since 1970 by the device's clock
    key: str  # SHA-256 of the device's public key
    signature: str
    received: int  # ms since 1970 by the shop's clock
    shop_key: str  # SHA-256 of the shop's public key
    countersignature: str


class Heads:
    def __init__(self, store: Store, key: ShopKey) -> None:
        self._store, self._key = store, key

    def register(self, device: str, spki: str, now: int, is_invited: bool = False) -> None:
        """Know a device by this key. The first key counts at once; another one waits for the desk's yes.

        A code that the desk made for this very device is such a yes (`is_invited`).

        Raises:
            ValueError: it is no public key of the kind that is used here.
        """
        with self._store.transaction() as db:
            _register(db, device, spki, now, is_invited)

    def accept(self, device: str, key: str) -> None:
        """The desk says that the key which waits is this device's from now on.

        Raises:
            Refused: no such key waits.
        """
        with self._store.transaction() as db:
            if _state(db, device, key) != "waiting":
                raise Refused(404, "no_key", "No such key waits. Open the page of the phones again.")
            _let_count(db, device, key)

    def waiting(self, device: str) -> str:
        """The key that waits for the desk's yes, or ""."""
        sql = "select key from keys where device = ? and state = 'waiting'"
        return next((str(row["key"]) for row in self._store.rows(sql, [device])), "")

    def take(self, head: Head, spki: str, signature: str, now: int) -> Signed:
        """Keep a head that its device signed, with the shop's countersignature. Safe to repeat.

        Raises:
            NotSigned: the key is not the device's, the signature does not fit, or the record is another.
        """
        try:
            if not signing.fits(spki, head.text, signature):
                signing.key_id(spki)
                raise NotSigned("wrong_signature", "The signature does not fit what it should sign.")
            with self._store.transaction() as db:
                is_known = _register(db, head.device, spki, now, False) == "good"
                if is_known:
                    return self._keep(db, head, spki, signature, now)
        except ValueError:
            raise NotSigned("malformed", MALFORMED) from None
        raise NotSigned("other_key", OTHER_KEY)

    def note(self, device: str, message: str, now: int) -> None:
        """What the desk is shown of a head that was not taken; "" when there is nothing to show any more."""
        if not message and not self._store.rows(f"select 1 {NOTED}", [device, NOTE]):
            return
        with self._store.transaction() as db:
            db.execute(f"delete {NOTED}", [device, NOTE])
            if message:
                row = {"device": device, "seq": 0, "digest": NOTE, "id": "", "error": "signature"}
                db.table("refused").insert({**row, "message": message, "received": now})

    def sign_own(self, device: str, now: int) -> None:
        """Sign where the desk's own chain is."""
        with self._store.transaction() as db:
            seq, digest_of_last = brought.own_head(db, device)
            if seq:
                head = Head(device, seq, digest_of_last, now)
                _know(db, device, self._key.spki, now, "good")
                self._keep(db, head, self._key.spki, self._key.sign(head.text), now)

    def _keep(self, db: Database, head: Head, spki: str, signature: str, now: int) -> Signed:
        record = one(db, RECORD, [head.device, head.seq])
        if record is None:
            raise NotSigned("not_here", f"Entry {head.seq} was signed and is not here yet.")
        if link(record["text"]) != head.head:
            raise NotSigned("other_entry", f"Entry {head.seq} was signed with other words than are here.")
        known = one(db, "select * from heads where device = ? and seq = ?", [head.device, head.seq])
        if known is not None:
            return cast(Signed, known)
        new: Signed = {
            "device": head.device,
            "seq": head.seq,
            "head": head.head,
            "time": head.time,
            "key": signing.key_id(spki),
            "signature": signature,
            "received": now,
            "shop_key": _know(db, SHOP, self._key.spki, now, "good"),
            "countersignature": self._key.sign(signing.countersigned_text(head, signature, now)),
        }
        db.table("heads").insert(cast(dict[str, Any], new))
        return new

    def newest(self, devices: Iterable[str]) -> dict[str, Signed]:
        """The last signed head of each device that has one."""
        sql = "select * from heads where device = ? order by seq desc limit 1"
        found = {device: self._store.rows(sql, [device]) for device in devices}
        return {device: cast(Signed, rows[0]) for device, rows in found.items() if rows}


NOTE = "head"  # in the place of a refused record's hash
NOTED = "from refused where device = ? and digest = ?"
MALFORMED = "The signature that came with the entries cannot be read."
OTHER_KEY = (
    "The shop knows this phone by another key. At the desk, under Phones, somebody has to say that the new"
    " key is this phone's."
)
# One that never signed anything: whoever has a phone's token shall not fill the table.
FORGET_WAITING = (
    "delete from keys where device = ? and state = 'waiting'"
    " and key not in (select key from heads where heads.device = keys.device)"
)
RECORD = "select text from records where device = ? and seq = ? and carried = 0"


def _register(db: Database, device: str, spki: str, now: int, is_invited: bool) -> State:
    key = signing.key_id(spki)
    known = _state(db, device, key)
    if known == "good":
        return known
    is_first = not db.table("keys").count_where("device = ? and state = 'good'", [device])
    if known != "waiting":
        db.execute(FORGET_WAITING, [device])
        db.execute("update keys set state = 'old' where device = ? and state = 'waiting'", [device])
        _know(db, device, spki, now, "waiting")
        db.execute("update keys set state = 'waiting' where device = ? and key = ?", [device, key])
    if is_first or is_invited:
        _let_count(db, device, key)
        return "good"
    return "waiting"


def _let_count(db: Database, device: str, key: str) -> None:
    db.execute("update keys set state = 'old' where device = ? and state = 'good'", [device])
    db.execute("update keys set state = 'good' where device = ? and key = ?", [device, key])


def _know(db: Database, device: str, spki: str, now: int, state: State) -> str:
    """The key's id; what is known of it stays as it is."""
    key = signing.key_id(spki)
    sql = "insert or ignore into keys (device, key, spki, since, state) values (?, ?, ?, ?, ?)"
    db.execute(sql, [device, key, spki, now, state])
    return key


def _state(db: Database, device: str, key: str) -> State | None:
    row = one(db, "select state from keys where device = ? and key = ?", [device, key])
    return cast(State, row["state"]) if row else None
