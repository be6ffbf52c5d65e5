"""The audit log of a shop, newest first, with the names of those who acted."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, select

from quizsvc.store.audit import AuditEntry
from quizsvc.store.people import Person


@dataclass(frozen=True, slots=True)
class LoggedDeed:
    number: int
    at: datetime
    actor: str  # empty where the program itself acted
    action: str
    subject: str
    detail: str


def latest(
    connection: Connection, shop_id: int, *, before: int | None, count: int
) -> tuple[LoggedDeed, ...]:
    """Return entries of a shop, newest first, older than an entry's number."""
    wanted = (
        select(
            AuditEntry.number,
            AuditEntry.at,
            Person.name,
            AuditEntry.action,
            AuditEntry.subject,
            AuditEntry.detail,
        )
        .outerjoin(Person, Person.id == AuditEntry.actor_id)
        .where(AuditEntry.shop_id == shop_id)
        .order_by(AuditEntry.number.desc())
        .limit(count)
    )
    if before is not None:
        wanted = wanted.where(AuditEntry.number < before)
    rows = connection.execute(wanted)
    return tuple(LoggedDeed(row[0], row[1], row[2] or "", *row[3:]) for row in rows)
