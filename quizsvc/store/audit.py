"""The audit log as stored: a chain of entries, each holding the hash of the one before."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from typing import Any

from sqlalchemy import (
    CheckConstraint,
    Connection,
    ForeignKey,
    bindparam,
    insert,
    select,
    update,
)
from sqlalchemy.orm import Mapped, mapped_column

from quizsvc.rules.audit import START, Entry, entry_hash
from quizsvc.store.columns import BIG, Base, Body, Hash, Slug, UtcAt, Word


class AuditEntry(Base):
    """One entry. Appended once; the database refuses changes and deletions."""

    __tablename__ = "audit_entry"

    number: Mapped[int] = mapped_column(BIG, primary_key=True, autoincrement=False)
    at: Mapped[UtcAt]
    actor_id: Mapped[int | None] = mapped_column(ForeignKey("person.id"))  # None: the program
    shop_id: Mapped[int | None] = mapped_column(ForeignKey("shop.id"), index=True)
    action: Mapped[Word]
    subject: Mapped[Slug]  # "person 12", "certificate …": ids only, so that people can be erased
    detail: Mapped[Body]  # canonical JSON
    previous: Mapped[Hash]
    hash: Mapped[Hash] = mapped_column(unique=True)


class AuditHead(Base):
    """The end of the chain in one row: what a writer locks, and what shows a cut-off tail."""

    __tablename__ = "audit_head"

    id: Mapped[int] = mapped_column(BIG, primary_key=True, autoincrement=False)
    number: Mapped[int]
    hash: Mapped[Hash]

    __table_args__ = (CheckConstraint("id = 1", name="one_row"),)


_PAGE = (
    select(
        AuditEntry.number,
        AuditEntry.at,
        AuditEntry.actor_id,
        AuditEntry.shop_id,
        AuditEntry.action,
        AuditEntry.subject,
        AuditEntry.detail,
        AuditEntry.previous,
        AuditEntry.hash,
    )
    .where(AuditEntry.number > bindparam("after"))
    .order_by(AuditEntry.number)
    .limit(1000)
)


def append(
    connection: Connection,
    *,
    actor_id: int | None,
    shop_id: int | None,
    action: str,
    subject: str,
    detail: str,
    now: datetime,
) -> None:
    """Append an entry in the caller's transaction."""
    number, previous = connection.execute(
        select(AuditHead.number, AuditHead.hash).where(AuditHead.id == 1).with_for_update()
    ).one()
    entry = Entry(number + 1, now, actor_id, shop_id, action, subject, detail, previous)
    hashed = entry_hash(entry)
    connection.execute(
        insert(AuditEntry).values(
            number=entry.number,
            at=now,
            actor_id=actor_id,
            shop_id=shop_id,
            action=action,
            subject=subject,
            detail=detail,
            previous=previous,
            hash=hashed,
        )
    )
    connection.execute(
        update(AuditHead).where(AuditHead.id == 1).values(number=entry.number, hash=hashed)
    )


def head(connection: Connection) -> tuple[int, str]:
    """Return number and hash of the last entry; (0, `START`) for an empty log."""
    row = connection.execute(select(AuditHead.number, AuditHead.hash)).first()
    return (row[0], row[1]) if row else (0, START)


def entries(connection: Connection) -> Iterator[tuple[Entry, str]]:
    """Yield every entry with its stored hash, in order, a page of them in memory at a time."""
    last = 0
    while rows := connection.execute(_PAGE, {"after": last}).all():
        for row in rows:
            yield _entry(row), row.hash
        last = rows[-1].number


def _entry(row: Any) -> Entry:
    """Return the row without its hash; the columns are in the order of the dataclass."""
    return Entry(*tuple(row)[:-1])
