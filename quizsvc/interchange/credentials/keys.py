"""Ed25519 signing keys as multikeys, with ids that outlive rotation.

Source: W3C Controlled Identifiers 1.0, Multikey; multicodec prefixes 0xed01 (public) and
0x8026 (private), as varints.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

import base58
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey

from quizsvc.errors import InputError

_PUBLIC, _PRIVATE = b"\xed\x01", b"\x80\x26"
_KEY_BYTES = 32


@dataclass(frozen=True, slots=True)
class SigningKey:
    """A private key and the address under which its public half is published."""

    id: str  # verification method: the issuer's address, "#", the key's name
    private: Ed25519PrivateKey

    @property
    def public_multibase(self) -> str:
        return encode_public(self.private.public_key())


@dataclass(frozen=True, slots=True)
class PublishedKey:
    """A public key as the issuer publishes it, with the time in which it may sign."""

    id: str
    controller: str
    public: Ed25519PublicKey
    valid_from: datetime
    valid_until: datetime | None = None  # None while it is in use
    revoked: datetime | None = None  # a key known to be stolen: nothing it signed counts

    def might_sign_at(self, moment: datetime) -> bool:
        if self.revoked is not None:
            return False
        ended = self.valid_until is not None and moment > self.valid_until
        return moment >= self.valid_from and not ended


def new_private_key() -> Ed25519PrivateKey:
    return Ed25519PrivateKey.generate()


def encode_public(public: Ed25519PublicKey) -> str:
    """Return the multikey text of a public key ("z6Mk…")."""
    return "z" + base58.b58encode(_PUBLIC + public.public_bytes_raw()).decode()


def encode_private(private: Ed25519PrivateKey) -> str:
    return "z" + base58.b58encode(_PRIVATE + private.private_bytes_raw()).decode()


def decode_public(text: str) -> Ed25519PublicKey:
    """Read a public multikey.

    Raises:
        InputError: not base58 with "z" before it, or no Ed25519 public key.
    """
    return Ed25519PublicKey.from_public_bytes(_decode(text, _PUBLIC, "public key"))


def decode_private(text: str) -> Ed25519PrivateKey:
    return Ed25519PrivateKey.from_private_bytes(_decode(text, _PRIVATE, "private key"))


def is_signed_by(public: Ed25519PublicKey, signature: bytes, message: bytes) -> bool:
    try:
        public.verify(signature, message)
    except InvalidSignature:
        return False
    return True


def _decode(text: str, prefix: bytes, field: str) -> bytes:
    problem = InputError(f"this is no Ed25519 {field} as multikey.", field=field)
    if not text.startswith("z"):
        raise problem
    try:
        raw = base58.b58decode(text[1:])
    except ValueError:
        raise problem from None
    if raw[:2] != prefix or len(raw) != _KEY_BYTES + 2:
        raise problem
    return raw[2:]
