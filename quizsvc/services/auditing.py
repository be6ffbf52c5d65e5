"""Note what is worth an entry in the audit log, in the transaction of the deed itself."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import Connection

from quizsvc.rules.actors import Actor
from quizsvc.rules.audit import Action, Break, canonical, first_break
from quizsvc.services.house import House
from quizsvc.store import audit


def note(
    connection: Connection,
    actor: Actor | None,
    action: Action,
    subject: str,
    *,
    now: datetime,
    shop_id: int | None = None,
    **detail: object,
) -> None:
    """Append an entry; without an actor the program itself acted. No personal data in it."""
    audit.append(
        connection,
        actor_id=actor.person_id if actor else None,
        shop_id=actor.shop_id if actor else shop_id,
        action=action.value,
        subject=subject,
        detail=canonical(detail),
        now=now,
    )


def broken_at(house: House) -> Break | None:
    """Return where the audit chain breaks first, or None if it holds."""
    with house.read() as connection:
        return first_break(audit.entries(connection), audit.head(connection))
