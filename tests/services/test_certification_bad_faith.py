"""Bad faith: each attempt is refused with a clear message, and noted in the audit log."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import timedelta

import pytest
from certifying import TERMS, certify, publish_scheme, sign_off_task, sit_written
from sqlalchemy import text
from workshop import NOON

from quizsvc.errors import ConflictError, InputError, NotAllowedError, NotFoundError
from quizsvc.interchange.credentials.keys import SigningKey, new_private_key
from quizsvc.interchange.credentials.proof import add_proof
from quizsvc.rules.actors import Actor, Role
from quizsvc.rules.audit import Action
from quizsvc.rules.certificate_life import CertificateDeed
from quizsvc.services import auditing
from quizsvc.services.certifying import (
    admitting,
    cases,
    certificate_pages,
    deciding,
    issue_credentials,
    panels,
    public_pages,
    revoking,
    schemes,
    shown_credentials,
    sign_off,
)
from quizsvc.store import audit

LATER = NOON + timedelta(hours=2)
# What is refused does not hang on the database; the whole path runs on both elsewhere.
pytestmark = pytest.mark.parametrize("workshop", ["sqlite"], indirect=True)


@pytest.fixture
def version(crew):
    return publish_scheme(crew)


@pytest.fixture
def token(crew, version):
    certify(crew, version, crew.ana)
    return certificate_pages.own(crew.house, crew.ana, now=LATER)[0].token


def file_of(crew, token, *, signed=False):
    return certificate_pages.credential_file(
        crew.house, crew.ana, token, signed_token=signed, now=LATER
    )


def noted(house, action):
    with house.read() as connection:
        found = [entry for entry, _ in audit.entries(connection) if entry.action == action.value]
    return [json.loads(entry.detail).get("problem", "") for entry in found]


def failing(verdict):
    return {check.what: check.says for check in verdict.checks if check.holds is not True}


@pytest.mark.parametrize("signed", [False, True])
def test_a_file_with_another_name_in_it_is_refused_and_noted(crew, token, signed):
    whole = file_of(crew, token, signed=signed)
    if signed:
        head, body, signature = whole.split(".")
        forged = f"{head}.{body[:-8]}{'A' * 8}.{signature}"
    else:
        forged = whole.replace('"Ana"', '"Eve"')

    verdict = shown_credentials.check_file(crew.house, forged, now=LATER)

    assert not verdict.valid
    assert "signature" in failing(verdict)
    assert len(noted(crew.house, Action.CREDENTIAL_REFUSED)) == 1


def test_a_file_signed_by_a_key_of_ones_own_is_refused(crew, token):
    document = json.loads(file_of(crew, token))
    key_name = document["proof"][0]["verificationMethod"]
    forged = add_proof(
        {name: part for name, part in document.items() if name != "proof"},
        SigningKey(key_name, new_private_key()),
        created=NOON,
    )

    verdict = shown_credentials.check_file(crew.house, json.dumps(forged), now=LATER)

    assert "forged" in failing(verdict)["signature"]


def test_what_a_key_signs_after_its_end_is_refused(crew, token):
    text_before = file_of(crew, token)
    issue_credentials.rotate(crew.house, crew.max, now=LATER)
    assert shown_credentials.check_file(crew.house, text_before, now=LATER).valid

    with crew.house.write() as connection:
        connection.execute(
            text(
                "UPDATE issuer_key SET valid_from = '2026-01-01 00:00:00.000000', "
                "valid_until = '2026-01-02 00:00:00.000000' WHERE name = 'key-1'"
            )
        )

    verdict = shown_credentials.check_file(crew.house, text_before, now=LATER)

    assert failing(verdict)["signature"] == "The key was not in use at that date."


def test_a_withdrawn_key_makes_old_copies_worthless_and_certificates_are_signed_anew(crew, token):
    stolen = file_of(crew, token)

    count = issue_credentials.revoke_key(
        crew.house, crew.max, "key-1", "A copy was found.", now=LATER
    )

    assert count == 1
    refused = shown_credentials.check_file(crew.house, stolen, now=LATER)
    assert failing(refused)["signature"] == "The key was withdrawn by its issuer."
    anew = file_of(crew, token)
    assert shown_credentials.check_file(crew.house, anew, now=LATER).valid
    assert json.loads(anew)["awardedDate"].startswith("2026-03-02T13")


def test_a_certificate_of_another_person_is_refused_by_name(crew, token):
    verdict = shown_credentials.check_file(
        crew.house, file_of(crew, token), holder="Ben", now=LATER
    )

    assert failing(verdict) == {"holder": "It was issued to somebody else."}
    assert noted(crew.house, Action.CREDENTIAL_REFUSED) == ["It was issued to somebody else."]


def test_another_learner_does_not_get_at_a_certificate(crew, token):
    with pytest.raises(NotFoundError, match="no such certificate for you"):
        certificate_pages.look(crew.house, crew.ben, token, now=LATER)
    with pytest.raises(NotFoundError):
        certificate_pages.pdf(crew.house, crew.ben, token, now=LATER)

    assert len(noted(crew.house, Action.CERTIFICATION_REFUSED)) == 2


def test_a_manager_of_another_shop_sees_and_does_nothing(crew, token):
    other = Actor(crew.workshop.people["oda"].person_id, "Oda", 2, frozenset({Role.MANAGER}))

    with pytest.raises(NotFoundError):
        certificate_pages.look(crew.house, other, token, now=LATER)
    with pytest.raises(NotFoundError):
        revoking.do(
            crew.house, other, token, CertificateDeed.REVOKED, "Because I say so.", now=LATER
        )

    assert public_pages.public_page(crew.house, token, now=LATER).state == "valid"
    assert len(noted(crew.house, Action.CERTIFICATION_REFUSED)) == 2


def test_a_learner_revokes_nothing(crew, token):
    with pytest.raises(NotAllowedError):
        revoking.do(
            crew.house, crew.ana, token, CertificateDeed.SUSPENDED, "On holiday.", now=LATER
        )

    assert len(noted(crew.house, Action.CERTIFICATION_REFUSED)) == 1


def test_a_replayed_sign_off_changes_nothing_and_is_noted(crew, version):
    token = sign_off_task(crew, version, crew.ana)

    with pytest.raises(ConflictError, match="handed in already"):
        sign_off.hand_in(crew.house, crew.ida, token, {3}, "again", now=LATER)

    assert sign_off.look(crew.house, crew.ida, token).done == {1, 2}
    assert len(noted(crew.house, Action.CERTIFICATION_REFUSED)) == 1


def test_nobody_signs_off_their_own_task(crew, version):
    with pytest.raises(NotAllowedError, match="on their own"):
        sign_off.begin(crew.house, crew.ida, version, "chain", crew.ida.person_id, now=NOON)

    assert len(noted(crew.house, Action.CERTIFICATION_REFUSED)) == 1


def test_a_row_of_the_audit_log_changed_past_its_guards_is_found(crew, version):
    certify(crew, version, crew.ana)
    assert auditing.broken_at(crew.house) is None
    with crew.house.write() as connection:
        connection.execute(text("DROP TRIGGER audit_entry_no_update"))
        connection.execute(
            text("UPDATE audit_entry SET detail = '{}' WHERE action = 'certificate issued'")
        )

    broken = auditing.broken_at(crew.house)

    assert broken is not None
    assert broken.problem == "its content was changed"


def test_a_revoked_certificate_cannot_be_reinstated(crew, token):
    revoking.do(crew.house, crew.max, token, CertificateDeed.REVOKED, "A mistake.", now=LATER)

    with pytest.raises(ConflictError, match="revoked can't be reinstated"):
        revoking.do(
            crew.house, crew.max, token, CertificateDeed.REINSTATED, "Sorry, no.", now=LATER
        )


def test_nobody_decides_on_their_own_test(crew, version):
    own = Actor(crew.ana.person_id, "Ana", crew.ana.shop_id, frozenset(Role))
    form_id = sit_written(crew, version, crew.ana)

    with pytest.raises(NotAllowedError, match="on their own"):
        deciding.decide(crew.house, own, form_id, certify=False, reason="no", now=LATER)


def test_an_instructor_alone_does_not_certify_their_own_trainee(crew, version):
    form_id = sit_written(crew, version, crew.ana)
    sign_off_task(crew, version, crew.ana, by=crew.ina)

    final = deciding.decide(crew.house, crew.ida, form_id, certify=True, reason="", now=LATER)

    assert not final
    assert certificate_pages.own(crew.house, crew.ana, now=LATER) == ()
    decision = cases.case(crew.house, crew.max, form_id, now=LATER).decision
    with pytest.raises(NotAllowedError, match="proposed a decision"):
        deciding.confirm(crew.house, crew.ida, decision.id, now=LATER)
    with pytest.raises(NotAllowedError, match="taught or assessed"):
        deciding.confirm(crew.house, crew.ina, decision.id, now=LATER)
    deciding.confirm(crew.house, crew.max, decision.id, now=LATER)
    assert len(certificate_pages.own(crew.house, crew.ana, now=LATER)) == 1


def test_whoever_made_a_version_neither_approves_its_cut_nor_publishes_it(crew):
    version = schemes.draft(crew.house, crew.ida, replace(TERMS, title="Another"), now=NOON)

    with pytest.raises(NotAllowedError, match="whoever made a version"):
        panels.approve_cut(crew.house, crew.ida, version, panels.CutChoice.MEAN, "", now=NOON)
    with pytest.raises(NotAllowedError, match="whoever made a version"):
        schemes.publish(crew.house, crew.ida, version, now=NOON)


def test_an_instructor_does_not_admit_themselves(crew, version):
    with pytest.raises(NotAllowedError):
        admitting.admit(crew.house, crew.ida, version, crew.ida.person_id, now=NOON)


def test_a_file_of_another_issuer_is_refused_with_where_to_go(crew, token):
    foreign = json.loads(file_of(crew, token)) | {"issuer": {"id": "https://elsewhere.example/1"}}

    with pytest.raises(InputError, match="no issuer of this server"):
        shown_credentials.check_file(crew.house, json.dumps(foreign), now=LATER)

    assert len(noted(crew.house, Action.CREDENTIAL_REFUSED)) == 1
