"""Certificates as their holders and the shop see them, and keep or print them."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection

from quizsvc.errors import NotFoundError
from quizsvc.items.topics import find_topic
from quizsvc.paper.certificate import CertificateSheet, certificate_pdf
from quizsvc.rules.actors import Actor
from quizsvc.rules.certificate_life import (
    CertificateDeed,
    CertificateState,
    may_renew_from,
    possible,
    state_at,
)
from quizsvc.rules.permissions import May, allows, owns, require
from quizsvc.rules.schemes import SchemeTerms, from_text
from quizsvc.services.certifying.issue_credentials import issuer_of
from quizsvc.services.certifying.issuing import public_address
from quizsvc.services.certifying.public_pages import is_invented
from quizsvc.services.house import House
from quizsvc.services.refusals import noted_refusals
from quizsvc.store import certificates
from quizsvc.store.certificates import NoteLine, StoredCertificate


@dataclass(frozen=True, slots=True)
class CertificateLine:
    token: str
    holder: str
    scheme: str
    version: int
    issued_at: datetime
    valid_until: datetime | None
    state: CertificateState
    renewable: bool


@dataclass(frozen=True, slots=True)
class CertificatePage:
    """A certificate as its holder and the shop see it."""

    line: CertificateLine
    terms: SchemeTerms
    reason: str
    history: tuple[NoteLine, ...]
    deeds: frozenset[CertificateDeed]
    address: str
    key_id: str
    is_own: bool


def listed(house: House, actor: Actor, *, now: datetime) -> tuple[CertificateLine, ...]:
    """Return the shop's certificates, the newest first."""
    require(actor, May.SEE_CERTIFICATION)
    with house.read() as connection:
        found = certificates.certificates_of(connection, shop_id=actor.shop_id)
    return tuple(_line(one, now) for one in found)


def own(house: House, actor: Actor, *, now: datetime) -> tuple[CertificateLine, ...]:
    """Return the actor's own certificates, the newest first."""
    require(actor, May.SEE_OWN_RECORD)
    with house.read() as connection:
        found = certificates.certificates_of(connection, person_id=actor.person_id)
    return tuple(_line(one, now) for one in found)


def look(house: House, actor: Actor, token: str, *, now: datetime) -> CertificatePage:
    """Return a certificate: for its holder, and for instructors and managers of its shop.

    Raises:
        NotFoundError: it is another person's, or another shop's; noted in the audit log.
    """
    with noted_refusals(house, actor, f"certificate {token}", now=now), house.read() as connection:
        held = _find(connection, actor, token)
        history = certificates.notes_of(connection, held.id)
    deeds = possible(held.life, now) if allows(actor, May.KEEP_CERTIFICATES) else frozenset()
    return CertificatePage(
        _line(held, now),
        from_text(held.terms),
        held.reason,
        history,
        deeds if held.shop_id == actor.shop_id else frozenset(),
        public_address(house, token),
        held.key_id,
        is_own=owns(actor, held.person_id),
    )


def credential_file(
    house: House, actor: Actor, token: str, *, signed_token: bool, now: datetime
) -> str:
    """Return the credential to keep: JSON with its proof, or the signed token.

    Raises:
        NotFoundError: no such certificate for the actor, or its files were erased.
    """
    with noted_refusals(house, actor, f"certificate {token}", now=now), house.read() as connection:
        held = _find(connection, actor, token)
        if held.files_erased:
            raise NotFoundError(
                "the files of this certificate were erased with its holder's data.",
                field="certificate",
                value=token[:40],
                remedy="Its public page and its place in the status list stay.",
            )
    if signed_token:
        return held.token_form
    return json.dumps(json.loads(held.credential), ensure_ascii=False, indent=2)


def pdf(house: House, actor: Actor, token: str, *, now: datetime) -> bytes:
    """Return the certificate as a sheet to print."""
    with noted_refusals(house, actor, f"certificate {token}", now=now), house.read() as connection:
        held = _find(connection, actor, token)
        issuer = issuer_of(connection, house, held.shop_id)
        invented = is_invented(connection, held.shop_id)
    terms = from_text(held.terms)
    return certificate_pdf(
        CertificateSheet(
            holder=held.holder_name,
            scheme=held.scheme_title,
            scope=terms.scope,
            version=held.version,
            shop=issuer.name,
            issued=held.issued_at,
            valid_until=held.valid_until,
            number=token,
            address=public_address(house, token),
            topics=tuple(dict.fromkeys(find_topic(row.topic).title for row in terms.blueprint)),
            tasks=tuple(task.title for task in terms.tasks),
            invented=invented,
        )
    )


def _find(connection: Connection, actor: Actor, token: str) -> StoredCertificate:
    held = certificates.find_certificate(connection, token)
    if held is None or not _may_see(actor, held):
        raise no_such_certificate(token)
    return held


def _may_see(actor: Actor, held: StoredCertificate) -> bool:
    if owns(actor, held.person_id):
        return True
    return held.shop_id == actor.shop_id and allows(actor, May.SEE_CERTIFICATION)


def no_such_certificate(token: str) -> NotFoundError:
    return NotFoundError(
        "there is no such certificate for you.",
        field="certificate",
        value=token[:40],
        remedy="Go to the list of certificates.",
    )


def _line(held: StoredCertificate, now: datetime) -> CertificateLine:
    terms = from_text(held.terms)
    opens = may_renew_from(held.life, terms.renew_from_days)
    state = state_at(held.life, now)
    return CertificateLine(
        held.token,
        held.holder_name,
        held.scheme_title,
        held.version,
        held.issued_at,
        held.valid_until,
        state,
        renewable=opens is not None and now >= opens and state is not CertificateState.REVOKED,
    )
