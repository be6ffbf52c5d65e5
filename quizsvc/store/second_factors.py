"""Second factors at sign-in: sealed secrets, recovery codes, halves of sign-ins, whom shops ask."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import (
    CheckConstraint,
    Connection,
    Index,
    and_,
    delete,
    exists,
    func,
    insert,
    not_,
    select,
    update,
)
from sqlalchemy.orm import Mapped, mapped_column

from quizsvc.rules.actors import Role
from quizsvc.store.columns import Base, Body, Hash, PersonKey, ShopKey, UtcAt, Word, one_of
from quizsvc.store.people import Membership, Person


class SecondFactor(Base):
    """The secret a person's codes come from; it counts once ``on_since`` is set."""

    __tablename__ = "second_factor"

    person_id: Mapped[PersonKey] = mapped_column(primary_key=True, autoincrement=False)
    sealed: Mapped[Body]  # encrypted under the installation's secret
    begun_at: Mapped[UtcAt]
    on_since: Mapped[UtcAt | None]
    last_step: Mapped[int | None]  # of the latest code that counted: none counts twice
    salt: Mapped[Word | None]  # of the recovery codes' hashes

    __table_args__ = (
        CheckConstraint(
            "on_since IS NULL OR (last_step IS NOT NULL AND salt IS NOT NULL)",
            name="whole_when_on",
        ),
    )


class RecoveryCode(Base):
    __tablename__ = "recovery_code"

    person_id: Mapped[PersonKey] = mapped_column(primary_key=True)
    code_hash: Mapped[Hash] = mapped_column(primary_key=True)
    used_at: Mapped[UtcAt | None]


class HalfSignedIn(Base):
    """Somebody whose password was right and whose code is awaited; this is no session."""

    __tablename__ = "half_signed_in"

    token_hash: Mapped[Hash] = mapped_column(primary_key=True)
    person_id: Mapped[PersonKey]
    made_at: Mapped[UtcAt]
    ends_at: Mapped[UtcAt]

    __table_args__ = (
        CheckConstraint("ends_at > made_at", name="ends_after_it_began"),
        Index(None, "person_id"),
        Index(None, "ends_at"),
    )


class AskedRole(Base):
    """A role whose holders need a second factor in a shop."""

    __tablename__ = "second_factor_asked"

    shop_id: Mapped[ShopKey] = mapped_column(primary_key=True)
    role: Mapped[Word] = mapped_column(primary_key=True)

    __table_args__ = (CheckConstraint(one_of("role", Role), name="known_role"),)


# Of a role somebody holds: whether the shop asks it of them and they have none.
OWED = and_(
    exists().where(AskedRole.shop_id == Membership.shop_id, AskedRole.role == Membership.role),
    not_(
        exists().where(
            SecondFactor.person_id == Membership.person_id, SecondFactor.on_since.is_not(None)
        )
    ),
)


@dataclass(frozen=True, slots=True)
class StoredFactor:
    person_id: int
    sealed: str
    begun_at: datetime
    on_since: datetime | None
    last_step: int | None
    salt: str | None


_COLUMNS = (
    SecondFactor.person_id,
    SecondFactor.sealed,
    SecondFactor.begun_at,
    SecondFactor.on_since,
    SecondFactor.last_step,
    SecondFactor.salt,
)


def factor_of(connection: Connection, person_id: int) -> StoredFactor | None:
    """Return a person's second factor, on or only begun."""
    row = connection.execute(select(*_COLUMNS).where(SecondFactor.person_id == person_id)).first()
    return StoredFactor(*row) if row else None


def has_one(connection: Connection, person_id: int) -> bool:
    """Return whether a person's second factor is on."""
    found = connection.scalar(
        select(SecondFactor.person_id).where(
            SecondFactor.person_id == person_id, SecondFactor.on_since.is_not(None)
        )
    )
    return found is not None


def begin(connection: Connection, person_id: int, sealed: str, *, now: datetime) -> bool:
    """Put a new secret in place of one that was only begun; return whether none was on."""
    connection.execute(
        delete(SecondFactor).where(
            SecondFactor.person_id == person_id, SecondFactor.on_since.is_(None)
        )
    )
    if factor_of(connection, person_id) is not None:
        return False
    connection.execute(
        insert(SecondFactor).values(person_id=person_id, sealed=sealed, begun_at=now)
    )
    return True


def turn_on(
    connection: Connection, person_id: int, *, sealed: str, step: int, salt: str, now: datetime
) -> bool:
    """Let a begun secret count; return whether it was still the one begun."""
    done = connection.execute(
        update(SecondFactor)
        .where(
            SecondFactor.person_id == person_id,
            SecondFactor.sealed == sealed,
            SecondFactor.on_since.is_(None),
        )
        .values(on_since=now, last_step=step, salt=salt)
    )
    return done.rowcount == 1


def use_step(connection: Connection, person_id: int, step: int) -> bool:
    """Note that the code of a step was used; return whether no code of it or after was before."""
    done = connection.execute(
        update(SecondFactor)
        .where(SecondFactor.person_id == person_id, SecondFactor.last_step < step)
        .values(last_step=step)
    )
    return done.rowcount == 1


def take_away(connection: Connection, person_id: int) -> bool:
    """Remove a second factor with its recovery codes; return whether there was one."""
    connection.execute(delete(RecoveryCode).where(RecoveryCode.person_id == person_id))
    done = connection.execute(delete(SecondFactor).where(SecondFactor.person_id == person_id))
    return done.rowcount == 1


def keep_recovery_codes(
    connection: Connection, person_id: int, hashes: Collection[str], *, salt: str
) -> None:
    """Put new recovery codes in place of all former ones."""
    connection.execute(delete(RecoveryCode).where(RecoveryCode.person_id == person_id))
    connection.execute(
        update(SecondFactor).where(SecondFactor.person_id == person_id).values(salt=salt)
    )
    connection.execute(
        insert(RecoveryCode), [{"person_id": person_id, "code_hash": one} for one in hashes]
    )


def use_recovery_code(
    connection: Connection, person_id: int, code_hash: str, *, now: datetime
) -> bool:
    """Use a recovery code up; return whether there was such a one that nobody had used."""
    done = connection.execute(
        update(RecoveryCode)
        .where(
            RecoveryCode.person_id == person_id,
            RecoveryCode.code_hash == code_hash,
            RecoveryCode.used_at.is_(None),
        )
        .values(used_at=now)
    )
    return done.rowcount == 1


def recovery_codes_left(connection: Connection, person_id: int) -> int:
    return connection.execute(
        select(func.count())
        .select_from(RecoveryCode)
        .where(RecoveryCode.person_id == person_id, RecoveryCode.used_at.is_(None))
    ).scalar_one()


def add_half(
    connection: Connection, *, token_hash: str, person_id: int, now: datetime, ends_at: datetime
) -> None:
    """Keep half a sign-in; those that are over are swept up."""
    connection.execute(delete(HalfSignedIn).where(HalfSignedIn.ends_at <= now))
    connection.execute(
        insert(HalfSignedIn).values(
            token_hash=token_hash, person_id=person_id, made_at=now, ends_at=ends_at
        )
    )


def half_behind(connection: Connection, token_hash: str, *, now: datetime) -> int | None:
    """Return whose half a sign-in is, as long as it stands and they may sign in."""
    return connection.scalar(
        select(HalfSignedIn.person_id)
        .join(Person, Person.id == HalfSignedIn.person_id)
        .where(
            HalfSignedIn.token_hash == token_hash,
            HalfSignedIn.made_at <= now,
            HalfSignedIn.ends_at > now,
            Person.active,
        )
    )


def end_half(connection: Connection, token_hash: str) -> bool:
    """End half a sign-in; return whether it was there: it makes one session at most."""
    done = connection.execute(delete(HalfSignedIn).where(HalfSignedIn.token_hash == token_hash))
    return done.rowcount == 1


def asked_roles(connection: Connection, shop_id: int) -> frozenset[Role]:
    """Return the roles whose holders need a second factor in a shop."""
    rows = connection.scalars(select(AskedRole.role).where(AskedRole.shop_id == shop_id))
    return frozenset(Role(role) for role in rows)


def ask_roles(connection: Connection, shop_id: int, roles: Collection[Role]) -> None:
    connection.execute(delete(AskedRole).where(AskedRole.shop_id == shop_id))
    if roles:
        connection.execute(
            insert(AskedRole), [{"shop_id": shop_id, "role": role.value} for role in roles]
        )


def holders(connection: Connection, shop_id: int) -> dict[Role, tuple[int, int]]:
    """Return for each role how many active people hold it, and how many have a second factor."""
    rows = connection.execute(
        select(
            Membership.role, func.count(Membership.person_id), func.count(SecondFactor.person_id)
        )
        .join(Person, Person.id == Membership.person_id)
        .outerjoin(
            SecondFactor,
            (SecondFactor.person_id == Person.id) & SecondFactor.on_since.is_not(None),
        )
        .where(Membership.shop_id == shop_id, Person.active)
        .group_by(Membership.role)
    )
    return {Role(role): (people, having) for role, people, having in rows}
