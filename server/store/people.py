"""Everybody who signs in at the desk: an id, one name in one place, a passphrase of their own, and a role.

A person's right holds in the store that gave it. In another one (its epoch is new: it was put back from a
backup) who is no owner needs an owner's yes, for the backup may know nothing of a right taken back since.
"""

import secrets
import unicodedata
from typing import Any, Literal, NamedTuple, cast

from pwa.app import contract
from pwa.app.record import authors
from server.errors import Refused
from server.store.database import Store
from server.store.passphrases import Passphrases

Role = Literal["owner", "desk", "viewer"]
ROLES: tuple[Role, ...] = ("owner", "desk", "viewer")
HOLDS = "people.out = 0 and (people.role = 'owner' or people.epoch = ?)"  # the epoch of the store


class Person(NamedTuple):
    id: str
    name: str
    role: Role


NOBODY = Person("", "Desk", "desk")  # whom the server itself writes as


class People:
    """All times are milliseconds since 1970, handed in by the caller."""

    def __init__(self, store: Store, passphrases: Passphrases) -> None:
        self._store, self._passphrases = store, passphrases

    def has_owner(self) -> bool:
        return bool(self._store.rows("select 1 from people where role = 'owner' and out = 0"))

    def add(self, db: Any, name: str, hashed: str, role: Role, now: int) -> Person:
        """Somebody new, within the caller's transaction.

        Raises:
            ValueError: it is no name, or somebody here has it.
        """
        name = self._free(db, name, "")
        person = Person(secrets.token_hex(8), name, role)
        row = {"hash": hashed, "added": now, "changed": now, "out": 0, "epoch": self._store.epoch}
        db.table("people").insert({**person._asdict(), **row})
        return person

    def _free(self, db: Any, name: str, person: str) -> str:
        """The name as it is kept; nobody else may have one that looks the same."""
        name = " ".join(authors.clean(unicodedata.normalize("NFC", name)).split())
        if not look(name):
            raise ValueError(f"Type your name, with up to {contract.NAME_LENGTH} characters.")
        known = db.query("select name from people where out = 0 and id <> ?", [person])
        if look(name) in {look(row["name"]) for row in known}:
            raise ValueError(f"Somebody here is called {name} already; add a letter or your second name.")
        return name

    def rename(self, person: str, name: str) -> None:
        """Raises ValueError when it is no name, or somebody else's."""
        with self._store.transaction() as db:
            db.execute("update people set name = ? where id = ?", [self._free(db, name, person), person])

    def entering(self, name: str, passphrase: str) -> Person | None:
        """Who this is, if name and passphrase belong together."""
        for row in self._store.rows("select * from people where out = 0"):
            if look(row["name"]) == look(name):
                return _person(row) if self._passphrases.fits(row["hash"], passphrase) else None
        self._passphrases.fits_nobody(passphrase)
        return None

    def is_waiting(self, person: str) -> bool:
        """Whether this person's right is one of before the store was put back, and nobody has said yes."""
        sql = f"select 1 from people where id = ? and not ({HOLDS})"
        return bool(self._store.rows(sql, [person, self._store.epoch]))

    def proves(self, person: str, passphrase: str) -> bool:
        rows = self._store.rows("select hash from people where id = ?", [person])
        return bool(rows) and self._passphrases.fits(rows[0]["hash"], passphrase)

    def change(self, db: Any, person: str, hashed: str, now: int) -> None:
        """Another passphrase, within the caller's transaction; it ends the person's sessions."""
        db.execute("update people set hash = ?, changed = ? where id = ?", [hashed, now, person])
        db.execute("delete from sessions where person = ?", [person])

    def shut_out(self, person: str, now: int) -> None:
        """At once, with every session. What the person wrote stays.

        Raises:
            Refused: there is nobody of this id, or nobody any more.
        """
        with self._store.transaction() as db:
            done = db.execute("update people set out = ? where id = ? and out = 0", [now, person]).rowcount
            if done != 1:
                raise Refused(404, "nobody", "There is nobody like that here.")
            db.execute("delete from sessions where person = ?", [person])
            db.execute("delete from codes where device = ?", [person])

    def confirm(self, person: str) -> None:
        """An owner's yes to somebody's right in this store."""
        with self._store.transaction() as db:
            db.execute("update people set epoch = ? where id = ?", [self._store.epoch, person])

    def get(self, person: str) -> Person | None:
        """Somebody who is not shut out."""
        rows = self._store.rows("select * from people where id = ? and out = 0", [person])
        return _person(rows[0]) if rows else None

    def listing(self) -> list[dict[str, Any]]:
        """Everybody, those shut out last; with whether an owner's yes is wanting."""
        return self._store.rows(
            f"select id, name, role, added, out, not ({HOLDS}) and out = 0 as waiting from people"
            " order by out > 0, added, id",
            [self._store.epoch],
        )

    def shared(self, passphrase: str) -> bool:
        """Whether it is the one that everybody at the desk shared before people had their own."""
        rows = self._store.rows("select hash from passphrases where role = 'desk'")
        return bool(rows) and self._passphrases.fits(rows[0]["hash"], passphrase)

    def has_shared(self) -> bool:
        return bool(self._store.rows("select 1 from passphrases where role = 'desk'"))


def look(name: str) -> str:
    """What two names that look the same have in common."""
    return authors.look(unicodedata.normalize("NFC", name).casefold())


def _person(row: dict[str, Any]) -> Person:
    return Person(row["id"], row["name"], cast(Role, row["role"]))
