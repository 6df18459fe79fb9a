"""Who may talk to the server: one-time codes, phones' tokens, sessions at the desk.

Only SHA-256 hashes are stored. That is enough because every secret here is random and long; the one that a
person chooses is in passphrases.py.
"""

import contextlib
import hashlib
import secrets
import sqlite3
from typing import Any, Literal, cast

from server.errors import Refused
from server.store.database import Store
from server.store.people import HOLDS, NOBODY, Person, Role

# Typed by hand from a screen: no 0/O, 1/I/L, 2/Z, 5/S, 8/B. 8 letters of 25 are 37 bits, for an hour.
LETTERS = "ACDEFGHJKMNPQRTUVWXY34679"
DAY = 24 * 3600 * 1000
SEEN_EVERY = 60 * 1000  # a sync with nothing new should not write to the disk
MOST_COPIES = 3  # of one phone that nobody at the desk knows of: a stolen token shall not make phones

# "setup" makes an owner, "reset" lets somebody set another passphrase, the others let somebody new in.
Purpose = Literal["phone", "setup", "owner", "desk", "viewer", "reset"]


class Access:
    """All times are milliseconds since 1970, handed in by the caller."""

    def __init__(self, store: Store) -> None:
        self._store = store

    def new_code(self, purpose: Purpose, now: int, minutes: int, device: str = "") -> str:
        """A code that once lets one phone enrol, or one person choose a name and a passphrase.

        With `device` it is for that phone or that person, who was here before; without, for a new one.
        """
        code = "".join(secrets.choice(LETTERS) for _ in range(8))
        row = {
            "hash": hashed(code),
            "purpose": purpose,
            "expires": now + minutes * 60_000,
            "device": device,
        }
        with self._store.transaction() as db:
            db.execute("delete from codes where expires < ?", [now])
            db.table("codes").insert(row)
        return f"{code[:4]}-{code[4:]}"

    def enrol(self, code: str, device: str, name: str, now: int) -> str:
        """A token for a phone, in exchange for a code; an older token of that phone stops working.

        Raises:
            Refused: the code is wrong, used or too old, or is not for the phone of this id. Ids stand in
                every record, so a code for a new phone must not make it one of the others.
        """
        token = secrets.token_urlsafe(32)
        with self._store.transaction() as db:
            meant_for = self.use(db, code, ("phone",), now)["device"]
            known = list(db.query("select token from devices where id = ?", [device]))
            if known and not known[0]["token"]:
                raise Refused(403, "device_taken", "This device id belongs to the desk.")
            if meant_for != (device if known else ""):
                raise Refused(403, "other_phone", _OTHER_PHONE if known else _NOT_THIS_PHONE)
            row = {
                "id": device, "name": name, "token": hashed(token), "enrolled": now, "seen": now,
                "revoked": 0, "epoch": self._store.epoch,
            }  # fmt: skip
            db.table("devices").upsert(row, pk="id")
        return token

    def fork(self, device: str, copy: str, token: str, now: int) -> str:
        """Let a phone that was restored from an old backup go on as a new device; that device's name.

        The token is one that the phone made up, so that asking again after a lost answer gives nobody
        anything: the same copy with the same token is the same question. The old device keeps its right, for
        the phone that the backup was made of may still be in use. Shutting one out reaches all (`revoke`).

        Raises:
            Refused: the new id is another device's, or there are too many copies already.
        """
        with self._store.transaction() as db:
            first = next(iter(db.query("select * from devices where id = ?", [device])))
            known = list(db.query("select name, token from devices where id = ?", [copy]))
            if known and known[0]["token"] != hashed(token):
                raise Refused(403, "device_taken", "This device id belongs to another phone.")
            if known:
                return str(known[0]["name"])
            if first["revoked"]:  # since this request came in
                raise _not_enrolled()
            origin = first["copy_of"] or device
            if db.table("devices").count_where("copy_of = ? and known = 0", [origin]) >= MOST_COPIES:
                raise Refused(403, "too_many_copies", _TOO_MANY_COPIES)
            name = str(first["name"]).removesuffix(COPY) + COPY
            row = {"id": copy, "name": name, "token": hashed(token), "enrolled": now, "seen": now}
            db.table("devices").insert({**row, "revoked": 0, "copy_of": origin, "epoch": first["epoch"]})
        return name

    def device(self, token: str, now: int) -> str:
        """The id of the phone that holds this token.

        Raises:
            Refused: nobody holds it, or not any more; or the store was put back from a backup since, which
                may know nothing of a right taken back: then somebody at the desk says yes first (`confirm`).
        """
        sql = "select id, seen, epoch from devices where token = ? and revoked = 0"
        rows = self._store.rows(sql, [hashed(token)]) if token else []
        if not rows:
            raise _not_enrolled()
        if rows[0]["epoch"] != self._store.epoch:
            raise Refused(403, "waiting", WAITING)
        if now - rows[0]["seen"] > SEEN_EVERY:
            # A full disk is no reason to refuse what only reads.
            with contextlib.suppress(sqlite3.OperationalError), self._store.transaction() as db:
                db.table("devices").update(rows[0]["id"], {"seen": now})
        return str(rows[0]["id"])

    def revoke(self, device: str, now: int) -> None:
        """Take the right from a phone, its copies and what it is a copy of, at once; what they wrote stays.

        Raises:
            Refused: there is no such phone.
        """
        family = "(id = :origin or copy_of = :origin)"
        sql = f"update devices set revoked = :now where {family} and token <> '' and revoked = 0"
        with self._store.transaction() as db:
            origin = _origin(db, device)
            if not origin or not db.execute(sql, {"now": now, "origin": origin}).rowcount:
                raise Refused(404, "no_phone", "There is no such phone.")

    def family(self, device: str) -> list[dict[str, Any]]:
        """The phones that are shut out with this one and are not yet, itself first."""
        with self._store.reading() as db:
            origin = _origin(db, device)
        return sorted(
            (
                phone
                for phone in self.phones()
                if origin and origin in (phone["id"], phone["copy_of"]) and not phone["revoked"]
            ),
            key=lambda phone: phone["id"] != device,
        )

    def know_copy(self, device: str) -> None:
        """Somebody at the desk says that this copy of a phone is right."""
        with self._store.transaction() as db:
            db.execute("update devices set known = 1 where id = ? and copy_of <> ''", [device])

    def waiting(self) -> list[dict[str, Any]]:
        """The phones whose right was given before the store was put back."""
        return [
            phone for phone in self.phones() if phone["epoch"] != self._store.epoch and not phone["revoked"]
        ]

    def confirm(self, devices: list[str]) -> None:
        """The yes of somebody at the desk: these phones' rights hold in this store too."""
        with self._store.transaction() as db:
            for device in devices:
                db.execute("update devices set epoch = ? where id = ?", [self._store.epoch, device])

    def begin(self, person: str, now: int, days: int) -> str:
        """A session for a person whose passphrase was right."""
        session = secrets.token_urlsafe(32)
        row = {"hash": hashed(session), "started": now, "expires": now + days * DAY, "person": person}
        with self._store.transaction() as db:
            db.execute("delete from sessions where expires < ?", [now])
            db.table("sessions").insert({**row, "epoch": self._store.epoch})
        return session

    def person(self, session: str, now: int) -> Person | None:
        """Whose session this is; None if it is unknown, too old, or of a store that was put back since."""
        sql = (
            "select people.id, people.name, people.role from sessions join people on people.id = person"
            f" where sessions.hash = ? and expires >= ? and sessions.epoch = ? and {HOLDS}"
        )
        epoch = self._store.epoch
        rows = self._store.rows(sql, [hashed(session), now, epoch, epoch]) if session else []
        return Person(rows[0]["id"], rows[0]["name"], cast(Role, rows[0]["role"])) if rows else None

    def leave(self, session: str) -> None:
        with self._store.transaction() as db:
            db.execute("delete from sessions where hash = ?", [hashed(session)])

    def leave_others(self, person: str, but: str) -> None:
        """End every session of a person, except one."""
        with self._store.transaction() as db:
            db.execute("delete from sessions where person = ? and hash <> ?", [person, hashed(but)])

    def sessions(self, person: str, now: int) -> int:
        """In how many browsers a person is signed in."""
        sql = "select count(*) as browsers from sessions where person = ? and expires >= ? and epoch = ?"
        return int(self._store.rows(sql, [person, now, self._store.epoch])[0]["browsers"])

    def phones(self) -> list[dict[str, Any]]:
        """Every phone that is or was enrolled; the desk's own devices have no token, or an empty one."""
        return self._store.rows(
            "select id, name, enrolled, seen, revoked, copy_of, known, epoch from devices"
            " where token <> '' order by seen desc, id"
        )

    def writers(self) -> list[dict[str, Any]]:
        """Id and name of every phone and person that was let in, also of those that were shut out."""
        return self._store.rows(
            "select devices.id, coalesce(people.name, devices.name) as name from devices"
            " left join people on people.id = devices.person order by 2, 1"
        )

    def strike_out(self, device: str, name: str) -> None:
        """Let a device, and the person at the desk that it is of, be called otherwise.

        Raises:
            ValueError: the person still comes in by that name.
        """
        with self._store.transaction() as db:
            row = next(iter(db.query("select person from devices where id = ?", [device])), {"person": ""})
            people = list(db.query("select name, out from people where id = ?", [row["person"]]))
            if people and not people[0]["out"]:
                raise ValueError(
                    f"{people[0]['name']} still signs in by this name. Shut the person out first."
                )

            db.execute("update people set name = ? where id = ?", [name, row["person"]])
            db.execute("update devices set name = ? where id = ?", [name, device])

    def desk(self, person: Person, writes: bool) -> str:
        """Id of the device that a person at the desk writes as: one that is kept, if the person `writes`.

        As nobody's the server itself writes, and all at the desk wrote before people had names.
        """
        with self._store.transaction() if writes else self._store.reading() as db:
            rows = list(db.query(f"select id from devices where {IS_DESK} and person = ?", [person.id]))
            if not rows:
                rows = [{"id": secrets.token_hex(16)}]
                name = person.name if person is NOBODY else ""  # a person's stands with the person
                device = {"person": person.id, "name": name, "enrolled": 0, "seen": 0, "revoked": 0}
                if writes:
                    db.table("devices").insert({**rows[0], **device, "token": None})
        return str(rows[0]["id"])

    def desks(self) -> list[str]:
        """The devices that write here at the desk, and nowhere else."""
        return [row["id"] for row in self._store.rows(f"select id from devices where {IS_DESK}")]

    def retire_desk(self) -> None:
        """Let all at the desk write as new devices from now on: the old chains may go on elsewhere."""
        with self._store.transaction() as db:
            db.execute(f"update devices set token = '' where {IS_DESK}")

    def use(self, db: Any, code: str, purposes: tuple[Purpose, ...], now: int) -> dict[str, str]:
        """Use a code up, within the caller's transaction; what it was for.

        Raises:
            Refused: it is wrong, used or too old.
        """
        marks = ", ".join("?" * len(purposes))
        rows = list(
            db.query(
                f"select * from codes where hash = ? and expires >= ? and purpose in ({marks})",
                [hashed(typed(code)), now, *purposes],
            )
        )
        if not rows:
            raise Refused(403, "bad_code", "This code is wrong, used or too old. Ask for a new one.")
        db.execute("delete from codes where hash = ?", [rows[0]["hash"]])
        return cast(dict[str, str], rows[0])


IS_DESK = "token is null"  # one that writes here: a phone has a token, one that writes no more an empty one
COPY = " (restored copy)"
WAITING = (
    "Waiting for the shop's yes: its data was put back from a backup, so somebody at the desk has to say yes"
    " to this phone, under Phones. Everything stays safe on this phone and is sent after that."
)
_TOO_MANY_COPIES = (
    "This phone was restored from a backup too many times. Ask the desk to look at its copies, under Phones."
    " Everything stays safe on this phone and is sent after that."
)
_OTHER_PHONE = (
    "This phone was enrolled here before. Ask the desk for a code made for it: under Phones, beside its name."
)
_NOT_THIS_PHONE = "This code was made for another phone. Ask the desk for one for a new phone."


def _not_enrolled() -> Refused:
    words = "This phone is not enrolled here. Enter a code from the desk."
    return Refused(401, "not_enrolled", words, {"WWW-Authenticate": "Bearer"})


def _origin(db: Any, device: str) -> str:
    """The phone that this one is a copy of, or itself; "" when there is no such phone."""
    rows = list(db.query("select copy_of from devices where id = ? and token <> ''", [device]))
    return str(rows[0]["copy_of"] or device) if rows else ""


def typed(code: str) -> str:
    """A code as it was made, however it was typed: case, spaces and dashes do not count."""
    return "".join(letter for letter in code.upper() if letter.isalnum())


def hashed(secret: str) -> str:
    return hashlib.sha256(secret.encode(errors="replace")).hexdigest()
