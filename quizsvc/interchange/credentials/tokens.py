"""Credentials as signed tokens: a W3C credential secured with JOSE (VC-JWT), Ed25519.

Source: W3C, Securing Verifiable Credentials using JOSE and COSE, section 3.1; RFC 7515. The
algorithm is named "Ed25519" as RFC 9864 asks, which retires the wider name "EdDSA".
"""

from __future__ import annotations

import json
from typing import Any

from joserfc import jws
from joserfc.errors import JoseError
from joserfc.jwk import OKPKey

from quizsvc.errors import InputError
from quizsvc.interchange.credentials.keys import PublishedKey, SigningKey
from quizsvc.interchange.credentials.proof import Document

_ALGORITHMS = ["Ed25519"]
LONGEST_TOKEN = 200_000  # characters


def sign_token(document: Document, key: SigningKey) -> str:
    """Return the compact token of a credential."""
    header = {"alg": "Ed25519", "kid": key.id, "typ": "vc+jwt", "cty": "vc"}
    payload = json.dumps(dict(document), separators=(",", ":"), ensure_ascii=False).encode()
    jwk = OKPKey.import_key(key.private)
    return jws.serialize_compact(header, payload, jwk, algorithms=_ALGORITHMS)


def key_id_of(token: str) -> str:
    """Return the key id that the token names; nothing is verified yet."""
    return str(_extract(token).headers().get("kid", ""))


def read_token(token: str, key: PublishedKey) -> dict[str, Any]:
    """Return the credential in the token.

    Raises:
        InputError: no token, signed by another key or by none, or no JSON object inside.
    """
    _extract(token)
    try:
        signed = jws.deserialize_compact(
            token, OKPKey.import_key(key.public), algorithms=_ALGORITHMS
        )
        document = json.loads(signed.payload)
    except (JoseError, ValueError) as error:
        raise InputError(
            "the token's signature is not that of the key it names.",
            field="credential",
            remedy="It was changed after signing, or is forged.",
        ) from error
    if not isinstance(document, dict) or signed.headers().get("typ") != "vc+jwt":
        raise InputError("the token holds no credential.", field="credential")
    return document


def _extract(token: str) -> jws.CompactSignature:
    if len(token) > LONGEST_TOKEN:
        raise InputError("the token is too long.", field="credential", value=len(token))
    try:
        return jws.extract_compact(token.strip().encode())
    except (JoseError, ValueError) as error:
        raise InputError("this is no signed token.", field="credential") from error
