"""Credentials: W3C test vectors, round trips, and every way a credential can be untrue."""

import copy
import json
from base64 import urlsafe_b64encode
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from w3c_vectors import W3C_PRIVATE

from quizsvc.errors import InputError
from quizsvc.interchange.credentials import badge, keys, proof, tokens
from quizsvc.interchange.credentials.moments import moment_text, read_moment
from quizsvc.interchange.credentials.verify import read_published_keys, verify_credential

ISSUED = datetime(2026, 3, 1, 9, 0, tzinfo=UTC)
NOW = ISSUED + timedelta(days=30)
ISSUER = badge.Issuer("https://quiz.example/issuer", "Invented Training Shop")
LIST = "https://quiz.example/status/1"


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


@pytest.mark.parametrize(
    "text", ["", "tomorrow", "2026-03-01T12:00:00", "9999-12-31T23:59:00-23:59", None, 7]
)
def test_what_is_no_moment_is_refused_also_where_no_calendar_reaches(text):
    with pytest.raises(InputError, match="no date and time with its zone"):
        read_moment(text, "validFrom")
