"""Signatures: what is signed, how one is checked, and the shop's own key.

ECDSA over P-256 with SHA-256 (FIPS 186-5), in the forms that WebCrypto has: a public key as
SubjectPublicKeyInfo, a signature as r and s of 32 bytes each; both in base64url without padding (RFC 4648,
section 5). What is signed is a short text of its own kind and version, so nothing else can pass for it.
"""

import base64
import binascii
import contextlib
import hashlib
import hmac
import os
import threading
import time
from pathlib import Path
from typing import NamedTuple

from cryptography.exceptions import InvalidSignature, UnsupportedAlgorithm
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec, utils

from pwa.app import contract

NAME = "signing-key.pem"  # of the file with the shop's own key, in the data folder
SIZE = 32  # bytes of r, and of s
ALGORITHM = ec.ECDSA(hashes.SHA256())


class Head(NamedTuple):
    """Where a device says its chain is: the number of a record and the SHA-256 of its text."""

    device: str
    seq: int
    head: str
    time: int  # ms since 1970, by the device's clock

    @property
    def text(self) -> str:
        return "\n".join((contract.HEAD_TEXT, self.device, str(self.seq), self.head, str(self.time)))


def countersigned_text(head: Head, signature: str, received: int) -> str:
    """What the shop signs: that it had this head with this signature, and when (ms since 1970)."""
    return "\n".join((contract.COUNTERSIGNED_TEXT, *head.text.split("\n")[1:], signature, str(received)))


def key_id(spki: str) -> str:
    """SHA-256 of a public key, as hex.

    Raises:
        ValueError: it is no public key of the one kind that is used here, in its one form.
    """
    _public_key(spki)
    return hashlib.sha256(_bytes(spki)).hexdigest()


def fits(spki: str, text: str, signature: str) -> bool:
    """Whether the key signed this text; what is no key or no signature fits nothing."""
    try:
        raw = _bytes(signature)
        if len(raw) != 2 * SIZE:
            return False
        r, s = int.from_bytes(raw[:SIZE], "big"), int.from_bytes(raw[SIZE:], "big")
        _public_key(spki).verify(utils.encode_dss_signature(r, s), text.encode(), ALGORITHM)
    except (ValueError, InvalidSignature):
        return False
    return True


class ShopKey:
    """The shop's own key, read when it is first needed and made when there is none.

    Whoever has the file can sign as this shop, so only its user may read it.
    """

    def __init__(self, path: Path) -> None:
        self._path, self._lock = path, threading.Lock()
        self._loaded: ec.EllipticCurvePrivateKey | None = None

    @property
    def spki(self) -> str:
        form = serialization.Encoding.DER, serialization.PublicFormat.SubjectPublicKeyInfo
        return _text(self._key.public_key().public_bytes(*form))

    def sign(self, text: str) -> str:
        r, s = utils.decode_dss_signature(self._key.sign(text.encode(), ALGORITHM))
        return _text(r.to_bytes(SIZE, "big") + s.to_bytes(SIZE, "big"))

    def seal(self, text: str) -> str:
        """A short mark that only this shop can make for a text: 16 bytes of HMAC-SHA256 (RFC 2104)."""
        form = (
            serialization.Encoding.DER,
            serialization.PrivateFormat.PKCS8,
            serialization.NoEncryption(),
        )
        secret = hashlib.sha256(b"seal\n" + self._key.private_bytes(*form)).digest()
        return _text(hmac.digest(secret, text.encode(), "sha256")[:16])

    def load(self) -> None:
        """Raises OSError when there is a file that cannot be read, or no room for a new one."""
        _ = self._key

    @property
    def _key(self) -> ec.EllipticCurvePrivateKey:
        with self._lock:
            if self._loaded is None:
                self._loaded = _read(self._path) or _make(self._path)
            return self._loaded


def _read(path: Path) -> ec.EllipticCurvePrivateKey | None:
    """None when there is none; a damaged one is put aside, because records must not wait for it."""
    try:
        content = path.read_bytes()
    except FileNotFoundError:
        return None
    with contextlib.suppress(ValueError, TypeError, UnsupportedAlgorithm):
        key = serialization.load_pem_private_key(content, None)
        if isinstance(key, ec.EllipticCurvePrivateKey) and isinstance(key.curve, ec.SECP256R1):
            return key
    path.rename(path.with_name(f"{path.name}.damaged-{time.time_ns() // 1_000_000}"))
    return None


def _make(path: Path) -> ec.EllipticCurvePrivateKey:
    key = ec.generate_private_key(ec.SECP256R1())
    content = key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )
    part = path.with_name(f".{path.name}.{os.getpid()}")
    try:
        part.touch(mode=0o600)
        part.write_bytes(content)
        with part.open("rb") as file:
            os.fsync(file.fileno())
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)
    return key


def _public_key(spki: str) -> ec.EllipticCurvePublicKey:
    raw = _bytes(spki)
    try:
        key = serialization.load_der_public_key(raw)
    except (ValueError, UnsupportedAlgorithm):
        raise ValueError("This is no public key.") from None
    if not isinstance(key, ec.EllipticCurvePublicKey) or not isinstance(key.curve, ec.SECP256R1):
        raise ValueError("This is no public key for ECDSA over P-256.")
    form = serialization.Encoding.DER, serialization.PublicFormat.SubjectPublicKeyInfo
    if key.public_bytes(*form) != raw:
        raise ValueError("This public key is not written in its usual form.")
    return key


def _bytes(text: str) -> bytes:
    """Raises ValueError when it is no base64url, or is not written in its one form."""
    try:
        raw = base64.b64decode(text + "=" * (-len(text) % 4), b"-_", validate=True)
    except (binascii.Error, UnicodeError):
        raise ValueError("This is no base64url.") from None
    if _text(raw) != text:
        raise ValueError("This is no base64url.")
    return raw


def _text(raw: bytes) -> str:
    return base64.urlsafe_b64encode(raw).decode().rstrip("=")
