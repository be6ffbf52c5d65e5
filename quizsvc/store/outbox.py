"""The outbox: messages to people, kept until they are sent, each put in once."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, Index, func, insert, select, update
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.orm import Mapped, mapped_column

from quizsvc.store.columns import Base, Body, Key, Name, PersonKey, Slug, UtcAt
from quizsvc.store.people import Person


class OutgoingMessage(Base):
    __tablename__ = "outgoing_message"

    id: Mapped[Key]
    about: Mapped[Slug] = mapped_column(unique=True)  # what it tells, so that it is told once
    person_id: Mapped[PersonKey]
    subject: Mapped[Name]
    body: Mapped[Body]
    due_at: Mapped[UtcAt]
    attempts: Mapped[int]
    last_error: Mapped[str | None]
    sent_at: Mapped[UtcAt | None]
    given_up_at: Mapped[UtcAt | None]

    __table_args__ = (Index(None, "sent_at", "due_at"),)


@dataclass(frozen=True, slots=True)
class Waiting:
    """A message to send; the address is the sign-in name, where that is one."""

    id: int
    sign_in_name: str | None
    subject: str
    body: str
    attempts: int


def put_in(connection: Connection, **columns: object) -> bool:
    """Put a message in unless one about the same is there; return whether it is new."""
    dialect = sqlite if connection.dialect.name == "sqlite" else postgresql
    new = (
        dialect.insert(OutgoingMessage)
        .values(attempts=0, **columns)
        .on_conflict_do_nothing()
        .returning(OutgoingMessage.id)
    )
    return connection.execute(new).first() is not None


def put_all_in(connection: Connection, messages: list[dict[str, object]]) -> None:
    """Put in many messages of which none is about what another is about."""
    if messages:
        connection.execute(insert(OutgoingMessage), [{"attempts": 0} | one for one in messages])


def due(connection: Connection, *, now: datetime, most: int) -> tuple[Waiting, ...]:
    rows = connection.execute(
        select(
            OutgoingMessage.id,
            Person.sign_in_name,
            OutgoingMessage.subject,
            OutgoingMessage.body,
            OutgoingMessage.attempts,
        )
        .join(Person, Person.id == OutgoingMessage.person_id)
        .where(
            OutgoingMessage.sent_at.is_(None),
            OutgoingMessage.given_up_at.is_(None),
            OutgoingMessage.due_at <= now,
        )
        .order_by(OutgoingMessage.due_at, OutgoingMessage.id)
        .limit(most)
    )
    return tuple(Waiting(*row) for row in rows)


def change(connection: Connection, message_id: int, **columns: object) -> None:
    connection.execute(
        update(OutgoingMessage).where(OutgoingMessage.id == message_id).values(**columns)
    )


def waiting(connection: Connection) -> int:
    """Return how many messages are neither sent nor given up."""
    return connection.execute(
        select(func.count())
        .select_from(OutgoingMessage)
        .where(OutgoingMessage.sent_at.is_(None), OutgoingMessage.given_up_at.is_(None))
    ).scalar_one()
