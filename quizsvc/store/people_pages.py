"""People of a shop as lists, and the changes an administrator makes to them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, delete, func, select, update

from quizsvc.rules.actors import Role
from quizsvc.store.people import Membership, Person


@dataclass(frozen=True, slots=True)
class PersonRow:
    """A person of a shop with the roles held there."""

    id: int
    name: str
    sign_in_name: str | None
    active: bool
    has_password: bool
    roles: frozenset[Role]


def active_learners(connection: Connection, shop_id: int) -> tuple[tuple[int, str], ...]:
    """Return keys and names of the learners of a shop, by name."""
    rows = connection.execute(
        select(Person.id, Person.name)
        .join(Membership, Membership.person_id == Person.id)
        .where(
            Membership.shop_id == shop_id,
            Membership.role == Role.LEARNER.value,
            Person.active,
        )
        .order_by(Person.name, Person.id)
    )
    return tuple((row[0], row[1]) for row in rows)


def people_of(
    connection: Connection, shop_id: int, *, words: str = "", person_id: int | None = None
) -> tuple[PersonRow, ...]:
    """Return the people of a shop by name; ``words`` must stand in name or sign-in name."""
    wanted = (
        select(
            Person.id,
            Person.name,
            Person.sign_in_name,
            Person.active,
            Person.password_hash.is_not(None),
            Membership.role,
        )
        .join(Membership, Membership.person_id == Person.id)
        .where(Membership.shop_id == shop_id, Person.erased_at.is_(None))
        .order_by(Person.name, Person.id)
    )
    if person_id is not None:
        wanted = wanted.where(Person.id == person_id)
    if words:
        folded = words.casefold()
        wanted = wanted.where(
            func.lower(Person.name).contains(folded, autoescape=True)
            | Person.sign_in_name.contains(folded, autoescape=True)
        )
    found: dict[int, PersonRow] = {}
    for key, name, sign_in_name, active, has_password, role in connection.execute(wanted):
        before = found[key].roles if key in found else frozenset()
        found[key] = PersonRow(
            key, name, sign_in_name, active, bool(has_password), before | {Role(role)}
        )
    return tuple(found.values())


def take_role(connection: Connection, person_id: int, shop_id: int, role: Role) -> bool:
    """Take a role; return whether it was held."""
    done = connection.execute(
        delete(Membership).where(
            Membership.person_id == person_id,
            Membership.shop_id == shop_id,
            Membership.role == role.value,
        )
    )
    return done.rowcount == 1


def roles_in(connection: Connection, person_id: int, shop_id: int) -> frozenset[Role]:
    rows = connection.scalars(
        select(Membership.role).where(
            Membership.person_id == person_id, Membership.shop_id == shop_id
        )
    )
    return frozenset(Role(role) for role in rows)


def shops_of(connection: Connection, person_id: int) -> frozenset[int]:
    return frozenset(
        connection.scalars(select(Membership.shop_id).where(Membership.person_id == person_id))
    )


def holders(connection: Connection, shop_id: int, role: Role) -> int:
    """Return how many active people hold a role in a shop."""
    return connection.execute(
        select(func.count())
        .select_from(Membership)
        .join(Person, Person.id == Membership.person_id)
        .where(Membership.shop_id == shop_id, Membership.role == role.value, Person.active)
    ).scalar_one()


def set_active(connection: Connection, person_id: int, *, active: bool) -> None:
    connection.execute(update(Person).where(Person.id == person_id).values(active=active))


def rename(connection: Connection, person_id: int, name: str) -> None:
    connection.execute(update(Person).where(Person.id == person_id).values(name=name))


def renew_hash(connection: Connection, person_id: int, before: str, after: str) -> None:
    """Put a newer hash of the same password in place, unless the password changed meanwhile."""
    connection.execute(
        update(Person)
        .where(Person.id == person_id, Person.password_hash == before)
        .values(password_hash=after)
    )


def set_password(connection: Connection, person_id: int, password_hash: str) -> None:
    connection.execute(
        update(Person).where(Person.id == person_id).values(password_hash=password_hash)
    )


def joined_last(connection: Connection, person_id: int, shop_id: int) -> datetime | None:
    return connection.scalar(
        select(func.max(Membership.since)).where(
            Membership.person_id == person_id, Membership.shop_id == shop_id
        )
    )
