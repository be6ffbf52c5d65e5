"""Shops, the people in them, their roles and their classes."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection

from quizsvc.errors import ConflictError, InputError
from quizsvc.rules.actors import Actor, Role
from quizsvc.rules.audit import Action
from quizsvc.rules.permissions import May, require
from quizsvc.services.accounts import known_form
from quizsvc.services.auditing import note
from quizsvc.services.house import House
from quizsvc.services.keep_people import plain_name
from quizsvc.store import people
from quizsvc.store.people import ShopRow


@dataclass(frozen=True, slots=True)
class NewPerson:
    """Someone to add; ``password_hash`` comes from `Passwords.hashed`."""

    name: str
    sign_in_name: str
    password_hash: str
    roles: Collection[Role]


def make_shop(connection: Connection, name: str, *, invented: bool = False, now: datetime) -> int:
    """Make a shop and return its key; for the program itself, there is no actor yet."""
    name = plain_name(name, field="shop")
    if people.find_shop(connection, name) is not None:
        raise ConflictError(
            "there is a shop of this name.", field="shop", value=name, remedy="Choose another."
        )
    shop_id = people.add_shop(connection, name, invented=invented, now=now)
    note(connection, None, Action.SHOP_MADE, f"shop {shop_id}", now=now, shop_id=shop_id)
    return shop_id


def shops(house: House) -> tuple[ShopRow, ...]:
    """Return every shop; for the program itself."""
    with house.read() as connection:
        return people.all_shops(connection)


def add_person(house: House, actor: Actor, new: NewPerson, *, now: datetime) -> int:
    """Add a person to the actor's shop and return their key."""
    require(actor, May.KEEP_PEOPLE)
    with house.write() as connection:
        return enrol(connection, actor, actor.shop_id, new, now=now)


def enrol(
    connection: Connection, actor: Actor | None, shop_id: int, new: NewPerson, *, now: datetime
) -> int:
    """Add a person with roles in a shop; who may do so was checked by the caller."""
    name, sign_in_name = plain_name(new.name), known_form(new.sign_in_name)
    if not sign_in_name:
        raise InputError(
            "a sign-in name is needed.", field="sign-in name", value="", remedy="Give one."
        )
    if people.find_for_sign_in(connection, sign_in_name) is not None:
        raise ConflictError(
            "somebody has this sign-in name.",
            field="sign-in name",
            value=sign_in_name,
            remedy="Choose another.",
        )
    if not new.roles:
        raise InputError(
            "a person needs a role.", field="roles", value="none", remedy="Give at least one."
        )
    person_id = people.add_person(
        connection, name, sign_in_name=sign_in_name, password_hash=new.password_hash, now=now
    )
    people.add_roles(connection, person_id, shop_id, new.roles, now=now)
    roles = sorted(role.value for role in new.roles)
    note(
        connection,
        actor,
        Action.PERSON_ADDED,
        f"person {person_id}",
        now=now,
        shop_id=shop_id,
        roles=roles,
    )
    return person_id
