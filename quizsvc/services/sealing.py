"""Secrets that lie in the database sealed, with AES-GCM, under the installation's secret key.

Every process can open them, and a copy of the database alone opens none.
"""

from __future__ import annotations

import base64
import os

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.kdf.hkdf import HKDF

from quizsvc.errors import UnavailableError
from quizsvc.services.house import House

NONCE_BYTES, KEY_BYTES = 12, 32


def sealed(house: House, purpose: str, owner: str, secret: str, *, secret_key: str = "") -> str:
    """Return the secret sealed for one purpose and owner: it opens for no other.

    ``secret_key`` takes the place of the installation's own, where that is about to change.
    """
    nonce = os.urandom(NONCE_BYTES)
    content = _cipher(secret_key or house.settings.secret_key, purpose).encrypt(
        nonce, secret.encode(), owner.encode()
    )
    return base64.b64encode(nonce + content).decode()


def opened(
    house: House, purpose: str, owner: str, content: str, *, what: str, otherwise: str
) -> str:
    """Return a sealed secret; ``what`` names it, ``otherwise`` says how to do without it.

    Raises:
        UnavailableError: it was sealed under another secret key, or was tampered with.
    """
    raw = base64.b64decode(content)
    try:
        plain = _cipher(house.settings.secret_key, purpose).decrypt(
            raw[:NONCE_BYTES], raw[NONCE_BYTES:], owner.encode()
        )
    except InvalidTag:
        raise UnavailableError(
            f"{what} can't be opened: it was sealed under another secret key.",
            field="QUIZSVC_SECRET_KEY",
            value="another than before",
            remedy=f"Put the former secret key back, or {otherwise}.",
        ) from None
    return plain.decode()


def _cipher(secret_key: str, purpose: str) -> AESGCM:
    derived = HKDF(hashes.SHA256(), KEY_BYTES, salt=None, info=f"quizsvc {purpose}".encode())
    return AESGCM(derived.derive(secret_key.encode()))
