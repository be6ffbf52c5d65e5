"""Links that open something once or only to their holder: invitations and calendar feeds."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import (
    CheckConstraint,
    Connection,
    ForeignKey,
    Index,
    delete,
    insert,
    select,
    update,
)
from sqlalchemy.orm import Mapped, mapped_column

from quizsvc.store.columns import Base, Hash, Key, Name, PersonKey, ShopKey, UtcAt, Word


class Invitation(Base):
    """An invitation to a shop. Only the hash of its token is kept; it opens once."""

    __tablename__ = "invitation"

    id: Mapped[Key]
    token_hash: Mapped[Hash] = mapped_column(unique=True)
    shop_id: Mapped[ShopKey]
    class_id: Mapped[int | None] = mapped_column(ForeignKey("training_class.id"))
    # Set for somebody who is in the shop already and has no password yet.
    person_id: Mapped[int | None] = mapped_column(ForeignKey("person.id"))
    name: Mapped[Name]
    role: Mapped[Word]
    made_by: Mapped[PersonKey]
    made_at: Mapped[UtcAt]
    ends_at: Mapped[UtcAt]
    used_at: Mapped[UtcAt | None]
    used_by: Mapped[int | None] = mapped_column(ForeignKey("person.id"))
    withdrawn_at: Mapped[UtcAt | None]

    __table_args__ = (
        CheckConstraint("ends_at > made_at", name="ends_after_it_was_made"),
        Index(None, "shop_id", "id"),
    )


class CalendarFeed(Base):
    """A person's secret calendar address; only its hash is kept."""

    __tablename__ = "calendar_feed"

    person_id: Mapped[int] = mapped_column(ForeignKey("person.id"), primary_key=True)
    shop_id: Mapped[int] = mapped_column(ForeignKey("shop.id"), primary_key=True)
    token_hash: Mapped[Hash] = mapped_column(unique=True)
    made_at: Mapped[UtcAt]


@dataclass(frozen=True, slots=True)
class StoredInvitation:
    id: int
    shop_id: int
    class_id: int | None
    person_id: int | None
    name: str
    role: str
    made_by: int
    made_at: datetime
    ends_at: datetime
    used_at: datetime | None
    withdrawn_at: datetime | None


_COLUMNS = (
    Invitation.id,
    Invitation.shop_id,
    Invitation.class_id,
    Invitation.person_id,
    Invitation.name,
    Invitation.role,
    Invitation.made_by,
    Invitation.made_at,
    Invitation.ends_at,
    Invitation.used_at,
    Invitation.withdrawn_at,
)


def add_invitation(connection: Connection, **columns: object) -> int:
    row = connection.execute(insert(Invitation).values(**columns).returning(Invitation.id))
    return row.scalar_one()


def find_invitation(
    connection: Connection, token_hash: str, *, lock: bool = False
) -> StoredInvitation | None:
    wanted = select(*_COLUMNS).where(Invitation.token_hash == token_hash)
    row = connection.execute(wanted.with_for_update() if lock else wanted).first()
    return StoredInvitation(*row) if row else None


def invitations_of(connection: Connection, shop_id: int) -> tuple[StoredInvitation, ...]:
    """Return the invitations of a shop that are neither used nor withdrawn, newest first."""
    rows = connection.execute(
        select(*_COLUMNS)
        .where(
            Invitation.shop_id == shop_id,
            Invitation.used_at.is_(None),
            Invitation.withdrawn_at.is_(None),
        )
        .order_by(Invitation.id.desc())
    )
    return tuple(StoredInvitation(*row) for row in rows)


def use_invitation(
    connection: Connection, invitation_id: int, person_id: int, *, now: datetime
) -> None:
    connection.execute(
        update(Invitation)
        .where(Invitation.id == invitation_id)
        .values(used_at=now, used_by=person_id)
    )


def withdraw_invitation(
    connection: Connection, shop_id: int, invitation_id: int, *, now: datetime
) -> bool:
    """Withdraw an invitation of the shop; return whether there was one to withdraw."""
    done = connection.execute(
        update(Invitation)
        .where(
            Invitation.id == invitation_id,
            Invitation.shop_id == shop_id,
            Invitation.used_at.is_(None),
            Invitation.withdrawn_at.is_(None),
        )
        .values(withdrawn_at=now)
    )
    return done.rowcount == 1


def withdraw_of_person(connection: Connection, person_id: int, *, now: datetime) -> None:
    connection.execute(
        update(Invitation)
        .where(
            Invitation.person_id == person_id,
            Invitation.used_at.is_(None),
            Invitation.withdrawn_at.is_(None),
        )
        .values(withdrawn_at=now)
    )


def set_feed(
    connection: Connection, person_id: int, shop_id: int, token_hash: str, *, now: datetime
) -> None:
    """Give the person a new calendar address in the shop; the old one stops to work."""
    drop_feed(connection, person_id, shop_id)
    connection.execute(
        insert(CalendarFeed).values(
            person_id=person_id, shop_id=shop_id, token_hash=token_hash, made_at=now
        )
    )


def drop_feed(connection: Connection, person_id: int, shop_id: int) -> None:
    connection.execute(
        delete(CalendarFeed).where(
            CalendarFeed.person_id == person_id, CalendarFeed.shop_id == shop_id
        )
    )


def feed_owner(connection: Connection, token_hash: str) -> tuple[int, int] | None:
    """Return person and shop of a calendar address, or None."""
    row = connection.execute(
        select(CalendarFeed.person_id, CalendarFeed.shop_id).where(
            CalendarFeed.token_hash == token_hash
        )
    ).first()
    return (row[0], row[1]) if row else None


def feed_since(connection: Connection, person_id: int, shop_id: int) -> datetime | None:
    return connection.scalar(
        select(CalendarFeed.made_at).where(
            CalendarFeed.person_id == person_id, CalendarFeed.shop_id == shop_id
        )
    )
