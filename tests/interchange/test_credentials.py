"""Credentials: W3C test vectors, round trips, and every way a credential can be untrue."""

import copy
import gzip
import json
from base64 import urlsafe_b64encode
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quizsvc.errors import InputError
from quizsvc.interchange.credentials import badge, keys, proof, status_list, tokens
from quizsvc.interchange.credentials.moments import moment_text
from quizsvc.interchange.credentials.verify import read_published_keys, verify_credential

ISSUED = datetime(2026, 3, 1, 9, 0, tzinfo=UTC)
NOW = ISSUED + timedelta(days=30)
ISSUER = badge.Issuer("https://quiz.example/issuer", "Invented Training Shop")
LIST = "https://quiz.example/status/1"

# W3C Data Integrity EdDSA Cryptosuites 1.0, appendix B, test vectors of eddsa-jcs-2022
# (W3C Software and Document License).
W3C_PRIVATE = "z3u2en7t5LR2WtQH5PfFqMqwVHBeXouLzo6haApm8XHqvjxq"
W3C_PUBLIC = "z6MkrJVnaZkeFzdQyMZu1cgjg7k1pZZ6pvBQ7XJPt4swbTQ2"
W3C_CONTEXT = [
    "https://www.w3.org/ns/credentials/v2",
    "https://www.w3.org/ns/credentials/examples/v2",
]
W3C_DOCUMENT = {
    "@context": W3C_CONTEXT,
    "id": "urn:uuid:58172aac-d8ba-11ed-83dd-0b3aef56cc33",
    "type": ["VerifiableCredential", "AlumniCredential"],
    "name": "Alumni Credential",
    "description": "A minimum viable example of an Alumni Credential.",
    "issuer": "https://vc.example/issuers/5678",
    "validFrom": "2023-01-01T00:00:00Z",
    "credentialSubject": {
        "id": "did:example:abcdefgh",
        "alumniOf": "The School of Examples",
    },
}
W3C_METHOD = f"did:key:{W3C_PUBLIC}#{W3C_PUBLIC}"
W3C_HASHES = (
    "66ab154f5c2890a140cb8388a22a160454f80575f6eae09e5a097cabe539a1db"
    "59b7cb6251b8991add1ce0bc83107e3db9dbbab5bd2c28f687db1a03abc92f19"
)
W3C_VALUE = (
    "z2HnFSSPPBzR36zdDgK8PbEHeXbR56YF24jwMpt3R1eHXQzJDMWS93FCzpvJpwTWd3GAVFuUfjoJdcnTMuVor51aX"
)


@pytest.fixture(scope="module")
def key():
    return keys.SigningKey(f"{ISSUER.id}#2026", keys.new_private_key())


@pytest.fixture
def published(key):
    return published_key(key)


@pytest.fixture(scope="module")
def credential():
    award = badge.Award(
        credential_id="https://quiz.example/certificates/5QZyqK3nT3mV8uC1o2a9Xw",
        holder_name="Invented Person",
        scheme_id="https://quiz.example/schemes/1/versions/2",
        scheme_name="Replace a primary chain",
        scheme_scope="Chain drives of the invented demo engines.",
        criteria="A written test and three hands-on tasks.",
        issued=ISSUED,
        expires=ISSUED + timedelta(days=730),
        status_list=LIST,
        status_place=4711,
    )
    return badge.badge_credential(award, ISSUER)


def published_key(key, **changes):
    one = keys.PublishedKey(key.id, ISSUER.id, key.private.public_key(), ISSUED - timedelta(days=1))
    return (replace(one, **changes),)


def signed_list(key, places=(), **changes):
    listed = badge.status_list_credential(LIST, ISSUER, frozenset(places), issued=ISSUED) | changes
    return json.dumps(proof.add_proof(listed, key, created=ISSUED))


def signed(credential, key):
    return proof.add_proof(credential, key, created=ISSUED)


def failing(verdict):
    return {check.what: check.says for check in verdict.checks if check.holds is not True}


def test_the_w3c_vector_is_reproduced_to_the_byte():
    key = keys.SigningKey(W3C_METHOD, keys.decode_private(W3C_PRIVATE))
    created = datetime(2023, 2, 24, 23, 36, 38, tzinfo=UTC)

    made = proof.add_proof(W3C_DOCUMENT, key, created=created)

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
    key = keys.PublishedKey(W3C_METHOD, "did:key", keys.decode_public(W3C_PUBLIC), ISSUED)

    assert proof.proof_holds(W3C_DOCUMENT | {"proof": options}, options, key)
    assert not proof.proof_holds(W3C_DOCUMENT | {"name": "Other"}, options, key)


def test_a_signed_credential_is_valid_with_its_status_list(credential, key, published):
    verdict = verify_credential(
        json.dumps(signed(credential, key)), published, now=NOW, status_list=signed_list(key)
    )

    assert verdict.valid
    assert verdict.credential["name"] == "Replace a primary chain"


def test_a_token_is_valid_too(credential, key, published):
    token = tokens.sign_token(credential, key)

    verdict = verify_credential(token, published, now=NOW, status_list=signed_list(key))

    assert verdict.valid
    assert tokens.key_id_of(token) == key.id


def test_contexts_stand_in_order_and_type_and_proof_are_arrays(credential, key):
    made = signed(credential, key)

    assert made["@context"][0] == "https://www.w3.org/ns/credentials/v2"
    assert "purl.imsglobal.org/spec/ob/v3p0" in made["@context"][1]
    assert isinstance(made["type"], list)
    assert isinstance(made["proof"], list)


def test_without_the_status_list_nothing_is_called_valid(credential, key, published):
    verdict = verify_credential(json.dumps(signed(credential, key)), published, now=NOW)

    assert not verdict.valid
    assert failing(verdict) == {"status": "Revocation was not looked at: no status list."}


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("credentialSubject", "identifier", 0, "identityHash"), "Somebody Else"),
        (("validUntil",), "2099-01-01T00:00:00Z"),
        (("credentialStatus", "statusListIndex"), "4712"),
        (("@context",), ["https://www.w3.org/ns/credentials/v2"]),
    ],
)
def test_any_change_after_signing_shows(credential, key, published, path, value):
    forged = copy.deepcopy(signed(credential, key))
    place = forged
    for step in path[:-1]:
        place = place[step]
    place[path[-1]] = value

    verdict = verify_credential(
        json.dumps(forged), published, now=NOW, status_list=signed_list(key)
    )

    assert "changed after signing" in failing(verdict)["signature"]


def test_a_forger_with_a_key_of_their_own_is_not_believed(credential, key, published):
    forger = keys.SigningKey(key.id, keys.new_private_key())

    verdict = verify_credential(
        json.dumps(signed(credential, forger)), published, now=NOW, status_list=signed_list(key)
    )

    assert "signature" in failing(verdict)


def test_a_forged_token_is_not_believed(credential, key, published):
    forger = keys.SigningKey(key.id, keys.new_private_key())

    verdict = verify_credential(tokens.sign_token(credential, forger), published, now=NOW)

    assert "signature" in failing(verdict)


def test_an_unsigned_token_is_not_believed(credential, published):
    head = urlsafe_b64encode(json.dumps({"alg": "none", "kid": published[0].id}).encode())
    body = urlsafe_b64encode(json.dumps(credential).encode())
    token = f"{head.decode().rstrip('=')}.{body.decode().rstrip('=')}."

    verdict = verify_credential(token, published, now=NOW)

    assert "signature" in failing(verdict)


def test_a_key_of_another_issuer_cannot_sign_for_this_one(credential, key):
    foreign = published_key(key, controller="https://other.example/issuer")

    verdict = verify_credential(json.dumps(signed(credential, key)), foreign, now=NOW)

    assert "another issuer" in failing(verdict)["signature"]


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"revoked": NOW}, "withdrawn"),
        ({"valid_until": ISSUED - timedelta(seconds=1)}, "not in use"),
        ({"valid_from": ISSUED + timedelta(days=1)}, "not in use"),
    ],
)
def test_a_key_out_of_its_time_signs_nothing(credential, key, changes, says):
    verdict = verify_credential(
        json.dumps(signed(credential, key)), published_key(key, **changes), now=NOW
    )

    assert says in failing(verdict)["signature"]


def test_a_retired_key_still_vouches_for_what_it_signed_in_its_time(credential, key):
    retired = published_key(key, valid_until=ISSUED + timedelta(days=5))

    verdict = verify_credential(
        json.dumps(signed(credential, key)), retired, now=NOW, status_list=signed_list(key)
    )

    assert verdict.valid


@pytest.mark.parametrize(
    ("now", "says"),
    [(ISSUED - timedelta(days=1), "Not valid before"), (ISSUED + timedelta(days=731), "Expired")],
)
def test_a_credential_out_of_its_dates_is_not_valid(credential, key, published, now, says):
    verdict = verify_credential(json.dumps(signed(credential, key)), published, now=now)

    assert says in failing(verdict)["dates"]


def test_a_revoked_credential_is_not_valid(credential, key, published):
    verdict = verify_credential(
        json.dumps(signed(credential, key)),
        published,
        now=NOW,
        status_list=signed_list(key, [4711]),
    )

    assert failing(verdict) == {"status": "Revoked by the issuer."}


def test_a_status_list_by_somebody_else_is_not_believed(credential, key, published):
    forger = keys.SigningKey(key.id, keys.new_private_key())

    verdict = verify_credential(
        json.dumps(signed(credential, key)), published, now=NOW, status_list=signed_list(forger)
    )

    assert "not this issuer's" in failing(verdict)["status"]


def test_another_list_of_the_same_issuer_does_not_stand_in(credential, key, published):
    other = signed_list(key, id="https://quiz.example/status/2")

    verdict = verify_credential(
        json.dumps(signed(credential, key)), published, now=NOW, status_list=other
    )

    assert "another one" in failing(verdict)["status"]


@given(st.sets(st.integers(0, status_list.PLACES - 1), max_size=30))
def test_a_status_list_holds_just_the_places_set(places):
    bits = status_list.decode_status_list(status_list.encode_status_list(places))

    assert {
        p for p in range(status_list.PLACES) if bits[p // 8] and status_list.is_set(bits, p)
    } == places


def test_the_most_significant_bit_comes_first():
    # W3C Bitstring Status List 1.0: index 0 is the leftmost bit.
    assert status_list.decode_status_list(status_list.encode_status_list([0]))[0] == 0b1000_0000


def test_a_packed_bomb_is_stopped_at_the_size_of_a_list():
    bomb = "u" + urlsafe_b64encode(gzip.compress(bytes(50_000_000))).decode().rstrip("=")

    with pytest.raises(InputError, match="status list"):
        status_list.decode_status_list(bomb)


@pytest.mark.parametrize("encoded", ["", "u", "zabc", "u!!!!", None, 5])
def test_what_is_no_status_list_is_refused(encoded):
    with pytest.raises(InputError):
        status_list.decode_status_list(encoded)


@pytest.mark.parametrize("place", [-1, status_list.PLACES])
def test_a_place_outside_the_list_is_refused(place):
    with pytest.raises(InputError, match="statusListIndex"):
        status_list.encode_status_list([place])


@pytest.mark.parametrize("text", ["", "{", "[]", "a.b.c", "null", "{" * 5000, "x" * 300_000])
def test_what_is_no_credential_is_refused_or_not_valid(text, published):
    try:
        verdict = verify_credential(text, published, now=NOW)
    except InputError as error:
        assert error.field  # noqa: PT017 - refused or judged, both are right
    else:
        assert not verdict.valid


def test_published_keys_are_read_back(key):
    document = {
        "id": ISSUER.id,
        "verificationMethod": [
            {
                "id": key.id,
                "type": "Multikey",
                "controller": ISSUER.id,
                "publicKeyMultibase": key.public_multibase,
                "validFrom": moment_text(ISSUED),
                "expires": moment_text(NOW),
            }
        ],
    }

    (read,) = read_published_keys(json.dumps(document))

    assert (read.id, read.valid_from, read.valid_until) == (key.id, ISSUED, NOW)
    assert keys.encode_public(read.public) == key.public_multibase


@pytest.mark.parametrize("text", ["", "{}", '{"id": "a", "verificationMethod": [3]}', "[]"])
def test_key_documents_that_are_none_are_refused(text):
    with pytest.raises(InputError):
        read_published_keys(text)


@pytest.mark.parametrize("text", ["", "z", "z!!", W3C_PRIVATE, "abc"])
def test_what_is_no_public_key_is_refused(text):
    with pytest.raises(InputError, match="public key"):
        keys.decode_public(text)
