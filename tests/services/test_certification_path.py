"""From blueprint to certificate to revocation, through the services."""

from __future__ import annotations

import json
from datetime import timedelta

from certifying import certify, publish_scheme
from workshop import NOON

from quizsvc.rules.certificate_life import CertificateDeed, CertificateState
from quizsvc.services import auditing
from quizsvc.services.certifying import (
    certificate_pages,
    holders,
    public_pages,
    revoking,
    shown_credentials,
)

LATER = NOON + timedelta(hours=2)


def test_from_blueprint_to_a_certificate_that_verifies_and_is_then_revoked(crew):
    version = publish_scheme(crew)

    certify(crew, version, crew.ana)

    (line,) = certificate_pages.own(crew.house, crew.ana, now=LATER)
    assert line.state is CertificateState.VALID
    for signed in (False, True):
        text = certificate_pages.credential_file(
            crew.house, crew.ana, line.token, signed_token=signed, now=LATER
        )
        verdict = shown_credentials.check_file(crew.house, text, holder="Ana", now=LATER)
        assert verdict.valid, [check.says for check in verdict.checks]

    revoking.do(
        crew.house, crew.max, line.token, CertificateDeed.REVOKED, "Issued by mistake.", now=LATER
    )

    refused = shown_credentials.check_file(crew.house, text, now=LATER)
    assert not refused.valid
    assert refused.checks[-1].what == "status"
    assert public_pages.public_page(crew.house, line.token, now=LATER).state == "revoked"
    assert auditing.broken_at(crew.house) is None


def test_readiness_finds_just_what_is_valid_now(crew):
    version = publish_scheme(crew)
    certify(crew, version, crew.ana)

    def valid(now):
        with crew.house.read() as connection:
            return holders.valid_certificates(connection, crew.ana.shop_id, now=now)

    (found,) = valid(LATER)
    assert (found.person_id, found.version_id) == (crew.ana.person_id, version)
    assert found.valid_until.year == NOON.year + 2
    assert valid(found.valid_until) == ()


def test_the_credential_says_no_more_than_name_scheme_dates_and_status(crew):
    certify(crew, publish_scheme(crew), crew.ana)
    (line,) = certificate_pages.own(crew.house, crew.ana, now=LATER)

    text = certificate_pages.credential_file(
        crew.house, crew.ana, line.token, signed_token=False, now=LATER
    )

    document = json.loads(text)
    assert document["credentialSubject"]["identifier"][0]["identityHash"] == "Ana"
    assert set(document) == {
        *("@context", "id", "type", "name", "issuer", "validFrom", "validUntil"),
        *("credentialSubject", "credentialStatus", "proof"),
    }
    assert document["type"][0] == "VerifiableCredential"
    assert isinstance(document["proof"], list)
