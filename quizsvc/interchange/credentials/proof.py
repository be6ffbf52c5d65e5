"""Data Integrity proofs with the cryptosuite eddsa-jcs-2022.

The document and the proof's own options are each put into canonical form (RFC 8785), hashed,
and the two hashes signed together: no JSON-LD processing is needed.
Source: W3C, Data Integrity EdDSA Cryptosuites 1.0, section 3.3.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from hashlib import sha256
from typing import Any

import base58
import rfc8785

from quizsvc.errors import InputError
from quizsvc.interchange.credentials.keys import PublishedKey, SigningKey, is_signed_by
from quizsvc.interchange.credentials.moments import moment_text

CRYPTOSUITE = "eddsa-jcs-2022"
Document = Mapping[str, Any]


def canonical(document: Document) -> bytes:
    """Return the RFC 8785 form.

    Raises:
        InputError: something JSON cannot say (a huge number, NaN, a lone surrogate).
    """
    try:
        return rfc8785.dumps(dict(document))
    except (rfc8785.CanonicalizationError, UnicodeError, RecursionError) as error:
        raise InputError(
            "the document has no canonical form.", field="document", remedy=str(error)
        ) from error


def signing_input(document: Document, options: Document) -> bytes:
    """Return what is signed: the hash of the proof's options, then that of the document."""
    return sha256(canonical(options)).digest() + sha256(canonical(document)).digest()


def add_proof(document: Document, key: SigningKey, *, created: datetime) -> dict[str, Any]:
    """Return ``document`` with a proof beside those it has."""
    bare = {name: value for name, value in document.items() if name != "proof"}
    options = {
        "type": "DataIntegrityProof",
        "cryptosuite": CRYPTOSUITE,
        "created": moment_text(created),
        "verificationMethod": key.id,
        "proofPurpose": "assertionMethod",
        "@context": bare["@context"],
    }
    signature = key.private.sign(signing_input(bare, options))
    proof = options | {"proofValue": "z" + base58.b58encode(signature).decode()}
    return bare | {"proof": [*proofs_of(document), proof]}


def proofs_of(document: Document) -> list[Any]:
    """Return the proofs as a list, whether the document holds none, one or several."""
    proof = document.get("proof", [])
    return list(proof) if isinstance(proof, list) else [proof]


def proof_holds(document: Document, proof: Any, key: PublishedKey) -> bool:
    """Return whether ``proof`` is a proof of ``document`` by ``key``. Dates are not looked at."""
    if not isinstance(proof, Mapping) or proof.get("type") != "DataIntegrityProof":
        return False
    if proof.get("cryptosuite") != CRYPTOSUITE or proof.get("proofPurpose") != "assertionMethod":
        return False
    value = proof.get("proofValue")
    if not isinstance(value, str) or proof.get("verificationMethod") != key.id:
        return False
    # The proof's context must begin the document's: terms cannot be swapped under a signature.
    if not _begins(document.get("@context"), proof.get("@context", document.get("@context"))):
        return False
    bare = {name: part for name, part in document.items() if name != "proof"}
    options = {name: part for name, part in proof.items() if name != "proofValue"}
    try:
        signature = base58.b58decode(value[1:]) if value.startswith("z") else b""
    except ValueError:
        return False
    return is_signed_by(key.public, signature, signing_input(bare, options))


def _begins(whole: Any, part: Any) -> bool:
    lists = [one if isinstance(one, list) else [one] for one in (whole, part)]
    return bool(lists[0][: len(lists[1])] == lists[1])
