"""Credentials against the W3C test vectors, to the byte."""

from datetime import UTC, datetime

from w3c_vectors import (
    W3C_CONTEXT,
    W3C_DOCUMENT,
    W3C_HASHES,
    W3C_METHOD,
    W3C_PRIVATE,
    W3C_PUBLIC,
    W3C_VALUE,
)

from quizsvc.interchange.credentials import keys, proof

CREATED = datetime(2023, 2, 24, 23, 36, 38, tzinfo=UTC)


def test_the_w3c_vector_is_reproduced_to_the_byte():
    key = keys.SigningKey(W3C_METHOD, keys.decode_private(W3C_PRIVATE))

    made = proof.add_proof(W3C_DOCUMENT, key, created=CREATED)

    assert key.public_multibase == W3C_PUBLIC
    options = {k: v for k, v in made["proof"][0].items() if k != "proofValue"}
    assert proof.signing_input(W3C_DOCUMENT, options).hex() == W3C_HASHES
    assert made["proof"][0]["proofValue"] == W3C_VALUE


def test_the_w3c_vector_verifies_with_the_single_proof_it_carries():
    options = {
        "type": "DataIntegrityProof",
        "cryptosuite": "eddsa-jcs-2022",
        "created": "2023-02-24T23:36:38Z",
        "verificationMethod": W3C_METHOD,
        "proofPurpose": "assertionMethod",
        "@context": W3C_CONTEXT,
        "proofValue": W3C_VALUE,
    }
    key = keys.PublishedKey(W3C_METHOD, "did:key", keys.decode_public(W3C_PUBLIC), CREATED)

    assert proof.proof_holds(W3C_DOCUMENT | {"proof": options}, options, key)
    assert not proof.proof_holds(W3C_DOCUMENT | {"name": "Other"}, options, key)
