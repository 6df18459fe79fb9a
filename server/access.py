"""Who may talk to the server: one-time codes, phones' tokens, sessions at the desk.

Only SHA-256 hashes are stored. That is enough because every secret is random and long; none is chosen by
a person.
"""

import hashlib
import secrets
from typing import Any, Literal

from server.database import Store
from server.errors import Refused

# Typed by hand from a screen: no 0/O, 1/I/L, 2/Z, 5/S, 8/B. 8 letters of 25 are 37 bits, for an hour.
LETTERS = "ACDEFGHJKMNPQRTUVWXY34679"
DAY = 24 * 3600 * 1000
SEEN_EVERY = 60 * 1000  # a sync with nothing new should not write to the disk

Purpose = Literal["phone", "desk"]


class Access:
    """All times are milliseconds since 1970, handed in by the caller."""

    def __init__(self, store: Store) -> None:
        self._store = store

    def new_code(self, purpose: Purpose, now: int, minutes: int) -> str:
        """A code that lets one phone enrol, or one browser into the desk, once."""
        code = "".join(secrets.choice(LETTERS) for _ in range(8))
        with self._store.transaction() as db:
            db.execute("delete from codes where expires < ?", [now])
            row = {"hash": hashed(code), "purpose": purpose, "expires": now + minutes * 60_000}
            db.table("codes").insert(row)
        return f"{code[:4]}-{code[4:]}"

    def enrol(self, code: str, device: str, name: str, now: int) -> str:
        """A token for a phone, in exchange for a code; an older token of that phone stops working.

        Raises:
            Refused: the code is wrong, used or too old, or the device is the desk itself.
        """
        token = secrets.token_urlsafe(32)
        with self._store.transaction() as db:
            self._use(db, code, "phone", now)
            known = list(db.query("select token from devices where id = ?", [device]))
            if known and known[0]["token"] is None:
                raise Refused(403, "device_taken", "This device id belongs to the desk.")
            row = {"id": device, "name": name, "token": hashed(token), "enrolled": now, "seen": now}
            db.table("devices").upsert(row, pk="id")
        return token

    def device(self, token: str, now: int) -> str:
        """The id of the phone that holds this token.

        Raises:
            Refused: nobody holds it.
        """
        sql = "select id, seen from devices where token = ?"
        rows = self._store.rows(sql, [hashed(token)]) if token else []
        if not rows:
            raise Refused(
                401, "not_enrolled", "This phone is not enrolled here. Enter a code from the desk.",
                {"WWW-Authenticate": "Bearer"},
            )  # fmt: skip
        if now - rows[0]["seen"] > SEEN_EVERY:
            with self._store.transaction() as db:
                db.table("devices").update(rows[0]["id"], {"seen": now})
        return str(rows[0]["id"])

    def enter(self, code: str, now: int, days: int) -> str:
        """A session at the desk, in exchange for a code.

        Raises:
            Refused: the code is wrong, used or too old.
        """
        session = secrets.token_urlsafe(32)
        with self._store.transaction() as db:
            self._use(db, code, "desk", now)
            db.execute("delete from sessions where expires < ?", [now])
            row = {"hash": hashed(session), "started": now, "expires": now + days * DAY}
            db.table("sessions").insert(row)
        return session

    def is_inside(self, session: str, now: int) -> bool:
        sql = "select 1 from sessions where hash = ? and expires >= ?"
        return bool(session and self._store.rows(sql, [hashed(session), now]))

    def leave(self, session: str) -> None:
        with self._store.transaction() as db:
            db.execute("delete from sessions where hash = ?", [hashed(session)])

    def phones(self) -> list[dict[str, Any]]:
        return self._store.rows(
            "select id, name, enrolled, seen from devices where token is not null order by seen desc"
        )

    def desk(self) -> tuple[str, str]:
        """Id and name of the device that the desk writes as; made on first use."""
        with self._store.transaction() as db:
            rows = list(db.query("select id, name from devices where token is null"))
            if not rows:
                rows = [{"id": secrets.token_hex(16), "name": "Desk"}]
                db.table("devices").insert({**rows[0], "token": None, "enrolled": 0, "seen": 0})
        return rows[0]["id"], rows[0]["name"]

    def _use(self, db: Any, code: str, purpose: Purpose, now: int) -> None:
        done = db.execute(
            "delete from codes where hash = ? and purpose = ? and expires >= ?",
            [hashed(typed(code)), purpose, now],
        )
        if done.rowcount != 1:
            raise Refused(403, "bad_code", "This code is wrong, used or too old. Ask for a new one.")


def typed(code: str) -> str:
    """A code as it was made, however it was typed: case, spaces and dashes do not count."""
    return "".join(letter for letter in code.upper() if letter.isalnum())


def hashed(secret: str) -> str:
    return hashlib.sha256(secret.encode(errors="replace")).hexdigest()
