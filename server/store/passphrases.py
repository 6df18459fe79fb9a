"""The secrets that people choose. Stored by Argon2id.

Source: RFC 9106 (Argon2), whose second recommended option (64 MiB, 3 passes, 4 lanes) is argon2-cffi's
default. The memory is why only two are computed at a time.
"""

import secrets
import threading
import unicodedata

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError

SHORTEST, LONGEST = 12, 128  # characters
DIFFERENT = 6  # or it is a pattern


class Passphrases:
    def __init__(self) -> None:
        self._hasher, self._turn = PasswordHasher(), threading.BoundedSemaphore(2)
        self._nobodys = ""

    def fits(self, hashed: str, passphrase: str) -> bool:
        if not 0 < len(passphrase) <= LONGEST:
            return False
        try:
            with self._turn:
                return self._hasher.verify(hashed, normal(passphrase))
        except (VerificationError, InvalidHashError):
            return False

    def fits_nobody(self, passphrase: str) -> bool:
        """False, after as long as `fits` takes: how long an answer takes must not tell who is known."""
        self._nobodys = self._nobodys or self.hashed(secrets.token_hex(16))
        return self.fits(self._nobodys, passphrase) and False

    def hashed(self, passphrase: str) -> str:
        with self._turn:
            return self._hasher.hash(normal(passphrase))


def fine(passphrase: str) -> None:
    """Raises ValueError, with what is asked, when a passphrase is too easy to guess or too long."""
    if not SHORTEST <= len(passphrase) <= LONGEST:
        raise ValueError(f"A passphrase has {SHORTEST} to {LONGEST} characters; four words make a good one.")
    if len(set(normal(passphrase).lower())) < DIFFERENT:
        raise ValueError("This passphrase repeats itself; four words make a good one.")


def normal(passphrase: str) -> str:
    """One spelling for what keyboards write differently (é as one character or as two)."""
    return unicodedata.normalize("NFC", passphrase).encode(errors="replace").decode()
