"""Who holds a certificate that is valid now."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection

from quizsvc.rules.certificate_life import CertificateState, state_at
from quizsvc.store import certificates


@dataclass(frozen=True, slots=True)
class ValidCertificate:
    """What readiness needs to know of a certificate that is valid now."""

    person_id: int
    scheme_id: int
    version_id: int
    issued_at: datetime
    valid_until: datetime | None


def valid_certificates(
    connection: Connection, shop_id: int, *, now: datetime
) -> tuple[ValidCertificate, ...]:
    """Return every certificate of a shop that is valid now; permission is the caller's matter."""
    return tuple(
        ValidCertificate(*row) for row in certificates.valid_rows(connection, shop_id, now=now)
    )


def holds_valid(connection: Connection, scheme_id: int, person_id: int, *, now: datetime) -> bool:
    """Return whether a person holds a certificate of a scheme that is valid now."""
    held = certificates.certificates_of(connection, scheme_id=scheme_id, person_id=person_id)
    return any(state_at(one.life, now) is CertificateState.VALID for one in held)
