"""Suspend, reinstate and revoke certificates."""

from __future__ import annotations

from datetime import datetime
from hashlib import sha256

from sqlalchemy import Connection

from quizsvc.errors import NotFoundError
from quizsvc.rules.actors import Actor
from quizsvc.rules.audit import Action
from quizsvc.rules.certificate_life import CertificateDeed, require_possible, require_reason
from quizsvc.rules.permissions import May, require
from quizsvc.services.auditing import note
from quizsvc.services.certifying.certificate_pages import no_such_certificate
from quizsvc.services.house import House
from quizsvc.services.refusals import noted_refusals
from quizsvc.store import certificates
from quizsvc.store.certificates import StoredCertificate

_DEEDS = {
    CertificateDeed.SUSPENDED: Action.CERTIFICATE_SUSPENDED,
    CertificateDeed.REINSTATED: Action.CERTIFICATE_REINSTATED,
    CertificateDeed.REVOKED: Action.CERTIFICATE_REVOKED,
}


def do(
    house: House,
    actor: Actor,
    token: str,
    deed: CertificateDeed,
    reason: str,
    *,
    now: datetime,
) -> None:
    """Suspend, reinstate or revoke a certificate of the actor's shop, with a reason.

    Raises:
        ConflictError: it is not in a state for that.
        NotFoundError: it is another shop's.
    """
    with noted_refusals(house, actor, f"certificate {token}", now=now):
        require(actor, May.KEEP_CERTIFICATES)
        if deed not in _DEEDS:
            raise NotFoundError("there is nothing of that name to do.", field="deed", value=deed)
        words = require_reason(reason)
        with house.write() as connection:
            held = certificates.find_certificate(connection, token, lock=True)
            if held is None or held.shop_id != actor.shop_id:
                raise no_such_certificate(token)
            require_possible(deed, held.life, now)
            carry_out(connection, actor, held, deed, words, now=now)


def carry_out(
    connection: Connection,
    actor: Actor,
    held: StoredCertificate,
    deed: CertificateDeed,
    reason: str,
    *,
    now: datetime,
) -> None:
    """Do it in the caller's transaction; whether it may be done was looked at before."""
    columns: dict[str, object] = {"reason": reason}
    if deed is CertificateDeed.REVOKED:
        columns["revoked_at"] = now
    else:
        columns["suspended_at"] = now if deed is CertificateDeed.SUSPENDED else None
    certificates.change_certificate(connection, held.id, **columns)
    certificates.add_note(
        connection, held.id, deed, reason=reason, person_id=actor.person_id, now=now
    )
    note(
        connection,
        actor,
        _DEEDS[deed],
        f"certificate {held.token}",
        now=now,
        reason_hash=sha256(reason.encode()).hexdigest(),
    )
