"""Shops, people, and the roles people hold in shops."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import CheckConstraint, Connection, ForeignKey, Index, insert, select
from sqlalchemy.orm import Mapped, mapped_column

from quizsvc.rules.actors import Role
from quizsvc.store.columns import (
    Base,
    Key,
    Name,
    Slug,
    UtcAt,
    Word,
    one_of,
)


class Shop(Base):
    __tablename__ = "shop"

    id: Mapped[Key]
    name: Mapped[Name] = mapped_column(unique=True)
    invented: Mapped[bool] = mapped_column(default=False)  # demo data, marked so on every page
    made_at: Mapped[UtcAt]


class Person(Base):
    """A person. Erasing one empties the name, sign-in name and password; the row stays."""

    __tablename__ = "person"

    id: Mapped[Key]
    name: Mapped[Name]
    sign_in_name: Mapped[Slug | None] = mapped_column(unique=True)  # kept in lower case
    password_hash: Mapped[str | None]
    active: Mapped[bool] = mapped_column(default=True)
    made_at: Mapped[UtcAt]
    erased_at: Mapped[UtcAt | None]

    __table_args__ = (
        CheckConstraint(
            "erased_at IS NULL OR (sign_in_name IS NULL AND password_hash IS NULL)",
            name="erased_person_keeps_no_sign_in",
        ),
    )


class Membership(Base):
    """A role held in a shop. Who gave and took it stands in the audit log."""

    __tablename__ = "membership"

    person_id: Mapped[int] = mapped_column(ForeignKey("person.id"), primary_key=True)
    shop_id: Mapped[int] = mapped_column(ForeignKey("shop.id"), primary_key=True)
    role: Mapped[Word] = mapped_column(primary_key=True)
    since: Mapped[UtcAt]

    __table_args__ = (
        CheckConstraint(one_of("role", Role), name="known_role"),
        Index(None, "shop_id", "role"),
    )


@dataclass(frozen=True, slots=True)
class SignInRow:
    person_id: int
    password_hash: str | None
    active: bool


@dataclass(frozen=True, slots=True)
class ShopRow:
    id: int
    name: str
    invented: bool


def all_shops(connection: Connection) -> tuple[ShopRow, ...]:
    rows = connection.execute(select(Shop.id, Shop.name, Shop.invented).order_by(Shop.id)).all()
    return tuple(ShopRow(*row) for row in rows)


def add_shop(connection: Connection, name: str, *, invented: bool, now: datetime) -> int:
    row = connection.execute(
        insert(Shop).values(name=name, invented=invented, made_at=now).returning(Shop.id)
    )
    return row.scalar_one()


def add_person(
    connection: Connection,
    name: str,
    *,
    sign_in_name: str | None,
    password_hash: str | None,
    now: datetime,
) -> int:
    row = connection.execute(
        insert(Person)
        .values(
            name=name,
            sign_in_name=sign_in_name,
            password_hash=password_hash,
            active=True,
            made_at=now,
        )
        .returning(Person.id)
    )
    return row.scalar_one()


def add_roles(
    connection: Connection, person_id: int, shop_id: int, roles: Iterable[Role], *, now: datetime
) -> None:
    connection.execute(
        insert(Membership),
        [
            {"person_id": person_id, "shop_id": shop_id, "role": role.value, "since": now}
            for role in roles
        ],
    )


_SIGN_IN = select(Person.id, Person.password_hash, Person.active)


def find_for_sign_in(connection: Connection, sign_in_name: str) -> SignInRow | None:
    row = connection.execute(_SIGN_IN.where(Person.sign_in_name == sign_in_name)).first()
    return SignInRow(*row) if row else None


def latest_shop_of(connection: Connection, person_id: int) -> int | None:
    """Return the shop a person joined last, or None."""
    return connection.scalar(
        select(Membership.shop_id)
        .where(Membership.person_id == person_id)
        .order_by(Membership.since.desc(), Membership.shop_id.desc())
        .limit(1)
    )


def find_shop(connection: Connection, name: str) -> int | None:
    return connection.scalar(select(Shop.id).where(Shop.name == name))
