"""Issue and renew certificates."""

from __future__ import annotations

import json
import secrets
from datetime import datetime
from hashlib import sha256

from sqlalchemy import Connection

from quizsvc.interchange.credentials.badge import Award
from quizsvc.interchange.credentials.status_list import PLACES
from quizsvc.rules.actors import Actor
from quizsvc.rules.audit import Action
from quizsvc.rules.certificate_life import CertificateDeed, may_renew_from, months_after
from quizsvc.rules.schemes import SchemeTerms
from quizsvc.services.auditing import note
from quizsvc.services.certifying.issue_credentials import issuer_of, list_address, sign
from quizsvc.services.certifying.schemes import Held
from quizsvc.services.house import House
from quizsvc.store import certificates
from quizsvc.store.certificates import StoredCertificate

TOKEN_BYTES = 16  # 128 bits


def issue(
    connection: Connection,
    house: House,
    actor: Actor,
    held: Held,
    *,
    person_id: int,
    holder_name: str,
    decision_id: int,
    now: datetime,
) -> str:
    """Issue a certificate in the transaction of its decision and return its token."""
    shop_id = held.stored.shop_id
    former = _former(connection, held, person_id)
    ends = _ends(held.terms, former, now)
    token = secrets.token_hex(TOKEN_BYTES)
    place = _free_place(certificates.places_taken(connection, shop_id))
    issuer = issuer_of(connection, house, shop_id)
    award = Award(
        credential_id=public_address(house, token),
        holder_name=holder_name,
        scheme_id=f"{issuer.id}/schemes/{held.stored.scheme_id}/versions/{held.stored.version}",
        scheme_name=held.terms.title,
        scheme_scope=held.terms.scope,
        criteria=criteria_words(held),
        issued=now,
        expires=ends,
        status_list=list_address(issuer),
        status_place=place,
    )
    signed = sign(connection, house, shop_id, award, now=now)
    certificate_id = certificates.add_certificate(
        connection,
        token=token,
        version_id=held.id,
        person_id=person_id,
        shop_id=shop_id,
        decision_id=decision_id,
        holder_name=holder_name,
        issued_at=now,
        valid_until=ends,
        status_place=place,
        key_id=signed.key_id,
        credential=json.dumps(signed.document, ensure_ascii=False),
        token_form=signed.token,
        reason="",
        renews_id=former.id if former else None,
    )
    deed = CertificateDeed.RENEWED if former else CertificateDeed.ISSUED
    certificates.add_note(
        connection, certificate_id, deed, reason="", person_id=actor.person_id, now=now
    )
    note(
        connection,
        actor,
        Action.CERTIFICATE_RENEWED if former else Action.CERTIFICATE_ISSUED,
        f"certificate {token}",
        now=now,
        person=person_id,
        decision=decision_id,
        scheme=held.stored.scheme_id,
        version=held.stored.version,
        key=signed.key_id,
        credential=sha256(signed.token.encode()).hexdigest(),
    )
    return token


def public_address(house: House, token: str) -> str:
    return f"{house.settings.public_url}/verify/{token}"


def criteria_words(held: Held) -> str:
    """Return in words what had to be shown for the certificate."""
    terms, share = held.terms, held.stored.cut_share or 0.0
    written = (
        f"Written test of {terms.counted} questions in {terms.minutes} minutes, "
        f"at least {share:.1%} of them right (version {held.stored.version} of the scheme)."
    )
    words = [written]
    words += [f"Hands-on task signed off: {task.title}." for task in terms.tasks]
    if terms.prerequisites:
        words.append(f"Prerequisites: {terms.prerequisites}")
    return " ".join(words)


def _former(connection: Connection, held: Held, person_id: int) -> StoredCertificate | None:
    """Return the certificate this one renews: the latest of the scheme that was not revoked."""
    found = certificates.certificates_of(
        connection, person_id=person_id, scheme_id=held.stored.scheme_id
    )
    return next((one for one in found if one.revoked_at is None), None)


def _ends(terms: SchemeTerms, former: StoredCertificate | None, now: datetime) -> datetime:
    """Return the end: counted on from the former end where it is renewed in time."""
    start = now
    if former is not None and former.valid_until is not None and former.valid_until > now:
        opens = may_renew_from(former.life, terms.renew_from_days)
        start = former.valid_until if opens is not None and now >= opens else now
    return months_after(start, terms.valid_months)


def _free_place(taken: frozenset[int]) -> int:
    """Return a place in the status list nobody can guess from another."""
    while True:
        place = secrets.randbelow(PLACES)
        if place not in taken:
            return place
