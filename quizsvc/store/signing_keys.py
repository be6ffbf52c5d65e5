"""Signing keys of a shop: the public half in the open, the private one sealed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import (
    CheckConstraint,
    ColumnElement,
    Connection,
    UniqueConstraint,
    case,
    func,
    insert,
    select,
    update,
)
from sqlalchemy.orm import Mapped

from quizsvc.store.columns import Base, Body, Key, Name, ShopKey, Slug, UtcAt


class IssuerKey(Base):
    __tablename__ = "issuer_key"

    id: Mapped[Key]
    shop_id: Mapped[ShopKey]
    name: Mapped[Slug]
    public: Mapped[Name]  # multikey
    sealed: Mapped[Body]  # the private multikey, encrypted under the installation's secret
    valid_from: Mapped[UtcAt]
    valid_until: Mapped[UtcAt | None]
    revoked_at: Mapped[UtcAt | None]

    __table_args__ = (
        UniqueConstraint("shop_id", "name"),
        CheckConstraint("valid_until IS NULL OR valid_until >= valid_from", name="ends_after"),
    )


@dataclass(frozen=True, slots=True)
class StoredKey:
    id: int
    shop_id: int
    name: str
    public: str
    sealed: str
    valid_from: datetime
    valid_until: datetime | None
    revoked_at: datetime | None


_ROW = select(
    IssuerKey.id,
    IssuerKey.shop_id,
    IssuerKey.name,
    IssuerKey.public,
    IssuerKey.sealed,
    IssuerKey.valid_from,
    IssuerKey.valid_until,
    IssuerKey.revoked_at,
)


def add_key(
    connection: Connection, shop_id: int, *, public: str, sealed: str, now: datetime
) -> StoredKey:
    """Store a key under the shop's next name; it may sign from now on."""
    count = connection.scalar(
        select(func.count()).select_from(IssuerKey).where(IssuerKey.shop_id == shop_id)
    )
    connection.execute(
        insert(IssuerKey).values(
            shop_id=shop_id,
            name=f"key-{(count or 0) + 1}",
            public=public,
            sealed=sealed,
            valid_from=now,
        )
    )
    return keys_of(connection, shop_id)[-1]


def keys_of(connection: Connection, shop_id: int) -> tuple[StoredKey, ...]:
    """Return all keys a shop ever had, in the order they were made."""
    rows = connection.execute(_ROW.where(IssuerKey.shop_id == shop_id).order_by(IssuerKey.id))
    return tuple(StoredKey(*row) for row in rows)


def end_keys(connection: Connection, shop_id: int, *, now: datetime) -> None:
    """End the time in which the shop's keys in use may sign."""
    connection.execute(
        update(IssuerKey)
        .where(IssuerKey.shop_id == shop_id, IssuerKey.valid_until.is_(None))
        .values(valid_until=_not_before_it_began(now))
    )


def revoke_key(connection: Connection, key_id: int, *, now: datetime) -> None:
    connection.execute(
        update(IssuerKey)
        .where(IssuerKey.id == key_id)
        .values(
            revoked_at=now,
            valid_until=func.coalesce(IssuerKey.valid_until, _not_before_it_began(now)),
        )
    )


def _not_before_it_began(now: datetime) -> ColumnElement[datetime]:
    """Return when a key ends: now, or when it began where the machine's clock was set back."""
    return case((IssuerKey.valid_from > now, IssuerKey.valid_from), else_=now)
