"""A bare phone that signs where its chain is, as pwa/phone/keys.js does, by means of its own."""

import base64
import time
from typing import Any

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec, utils

from tests.helpers.servers import Device, Server

ECDSA = ec.ECDSA(hashes.SHA256())


def text_of(raw: bytes) -> str:
    return base64.urlsafe_b64encode(raw).rstrip(b"=").decode()


def raw_of(text: str) -> bytes:
    return base64.urlsafe_b64decode(text + "==")


class Key:
    """A key pair in WebCrypto's forms."""

    def __init__(self, curve: ec.EllipticCurve | None = None) -> None:
        self._key = ec.generate_private_key(curve or ec.SECP256R1())
        form = serialization.Encoding.DER, serialization.PublicFormat.SubjectPublicKeyInfo
        self.spki = text_of(self._key.public_key().public_bytes(*form))

    def sign(self, text: str) -> str:
        r, s = utils.decode_dss_signature(self._key.sign(text.encode(), ECDSA))
        size = (self._key.curve.key_size + 7) // 8
        return text_of(r.to_bytes(size, "big") + s.to_bytes(size, "big"))


def is_signed(spki: str, text: str, signature: str) -> bool:
    """Checked without any of the server's code."""
    key, raw = serialization.load_der_public_key(raw_of(spki)), raw_of(signature)
    assert isinstance(key, ec.EllipticCurvePublicKey)
    der = utils.encode_dss_signature(int.from_bytes(raw[:32], "big"), int.from_bytes(raw[32:], "big"))
    try:
        key.verify(der, text.encode(), ECDSA)
    except InvalidSignature:
        return False
    return True


class Signer(Device):
    """Signs the end of its chain with each sync."""

    def __init__(self, server: Server, name: str = "Bay 2 phone") -> None:
        super().__init__(server, name)
        self.key = Key()

    def head_text(self) -> str:
        """The canonical text of where the chain is, for a time that is always the same."""
        return f"layby head 1\n{self.state['id']}\n{self.state['seq']}\n{self.state['head']}\n{self.now}"

    now = time.time_ns() // 1_000_000

    def signed(self, **changes: Any) -> dict[str, Any]:
        whole = {"key": self.key.spki, "seq": self.state["seq"], "head": self.state["head"], "time": self.now}
        return {**whole, "signature": self.key.sign(self.head_text()), **changes}

    def send(self, *texts: str, **changes: Any) -> dict[str, Any]:
        """A sync with these records and the chain's end signed; the answer."""
        return self.sync(*texts, signed=self.signed(**changes), short=True)
