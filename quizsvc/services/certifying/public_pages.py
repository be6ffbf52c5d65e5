"""What anybody with the address may see of a certificate and of its scheme."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection

from quizsvc.errors import NotFoundError
from quizsvc.rules.certificate_life import CertificateState, state_at
from quizsvc.rules.schemes import SchemeTerms, VersionState, from_text
from quizsvc.services.certifying.issue_credentials import issuer_of
from quizsvc.services.certifying.issuing import criteria_words
from quizsvc.services.certifying.schemes import Held
from quizsvc.services.house import House
from quizsvc.store import certificates, people, schemes


@dataclass(frozen=True, slots=True)
class PublicCertificate:
    """All that a stranger with the address is shown: no reason, no score, no history."""

    holder: str
    scheme: str
    scope: str
    version: int
    shop: str
    invented: bool
    issued_at: datetime
    valid_until: datetime | None
    state: CertificateState
    token: str


@dataclass(frozen=True, slots=True)
class PublicScheme:
    title: str
    version: int
    shop: str
    scope: str
    criteria: str
    terms: SchemeTerms


def public_page(house: House, token: str, *, now: datetime) -> PublicCertificate:
    """Return what anybody with the address may see.

    Raises:
        NotFoundError: there is no certificate of this number.
    """
    with house.read() as connection:
        held = certificates.find_certificate(connection, token)
        if held is None:
            raise NotFoundError(
                "there is no certificate of this number.",
                field="certificate",
                value=token[:40],
                remedy="Check the number, or scan the code on the certificate again.",
            )
        issuer = issuer_of(connection, house, held.shop_id)
        invented = is_invented(connection, held.shop_id)
    return PublicCertificate(
        held.holder_name,
        held.scheme_title,
        from_text(held.terms).scope,
        held.version,
        issuer.name,
        invented,
        held.issued_at,
        held.valid_until,
        state_at(held.life, now),
        token,
    )


def public_scheme(house: House, shop_id: int, scheme_id: int, version: int) -> PublicScheme:
    """Return what a certificate's scheme asked for, as anybody may read it once published.

    Raises:
        NotFoundError: there is no such version, or it is a draft.
    """
    with house.read() as connection:
        found = next(
            (
                one
                for one in schemes.versions_of_shop(connection, shop_id)
                if (one.scheme_id, one.version) == (scheme_id, version)
                and one.state is not VersionState.DRAFT
            ),
            None,
        )
        if found is None:
            raise NotFoundError(
                "there is no such scheme.", field="scheme", value=scheme_id, remedy="Check it."
            )
        shop = issuer_of(connection, house, shop_id).name
    held = Held(found, from_text(found.terms))
    return PublicScheme(
        held.terms.title, version, shop, held.terms.scope, criteria_words(held), held.terms
    )


def is_invented(connection: Connection, shop_id: int) -> bool:
    return any(shop.invented for shop in people.all_shops(connection) if shop.id == shop_id)
