"""The two secrets that people choose: the desk's passphrase, and the viewers'. Stored by Argon2id.

Source: RFC 9106 (Argon2), whose second recommended option (64 MiB, 3 passes, 4 lanes) is argon2-cffi's
default. The memory is why only two are computed at a time.
"""

import threading
import unicodedata

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError

from server.store.access import Person
from server.store.database import Store

SHORTEST, LONGEST = 12, 128  # characters
DIFFERENT = 6  # or it is a pattern
ROLES: tuple[Person, ...] = ("desk", "viewer")


class Passphrases:
    def __init__(self, store: Store) -> None:
        self._store, self._hasher = store, PasswordHasher()
        self._turn = threading.BoundedSemaphore(2)

    def is_set(self, role: Person) -> bool:
        return bool(self._store.rows("select 1 from passphrases where role = ?", [role]))

    def role(self, passphrase: str) -> Person | None:
        """Whose passphrase this is."""
        for role in ROLES:
            if self.fits(role, passphrase):
                return role
        return None

    def fits(self, role: Person, passphrase: str) -> bool:
        rows = self._store.rows("select hash from passphrases where role = ?", [role])
        if not rows or not 0 < len(passphrase) <= LONGEST:
            return False
        try:
            with self._turn:
                return self._hasher.verify(rows[0]["hash"], normal(passphrase))
        except (VerificationError, InvalidHashError):
            return False

    def set(self, role: Person, passphrase: str, now: int) -> None:
        """Raises ValueError when it is too easy to guess, or the other role's."""
        fine(passphrase)
        if any(self.fits(other, passphrase) for other in ROLES if other != role):
            raise ValueError("Desk and viewers need different passphrases.")
        self.store(role, self.hashed(passphrase), now)

    def hashed(self, passphrase: str) -> str:
        with self._turn:
            return self._hasher.hash(normal(passphrase))

    def store(self, role: Person, hashed: str, now: int) -> None:
        with self._store.transaction() as db:
            row = {"role": role, "hash": hashed, "changed": now}
            db.table("passphrases").insert(row, replace=True)

    def forget(self, role: Person) -> None:
        with self._store.transaction() as db:
            db.execute("delete from passphrases where role = ?", [role])


def fine(passphrase: str) -> None:
    """Raises ValueError, with what is asked, when a passphrase is too easy to guess or too long."""
    if not SHORTEST <= len(passphrase) <= LONGEST:
        raise ValueError(f"A passphrase has {SHORTEST} to {LONGEST} characters; four words make a good one.")
    if len(set(normal(passphrase).lower())) < DIFFERENT:
        raise ValueError("This passphrase repeats itself; four words make a good one.")


def normal(passphrase: str) -> str:
    """One spelling for what keyboards write differently (é as one character or as two)."""
    return unicodedata.normalize("NFC", passphrase).encode(errors="replace").decode()
