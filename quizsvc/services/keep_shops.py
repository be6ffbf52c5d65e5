"""The shops a person works in, and new ones."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from quizsvc.rules.actors import Actor, Role
from quizsvc.rules.audit import Action
from quizsvc.rules.permissions import May, require
from quizsvc.services.auditing import note
from quizsvc.services.house import House
from quizsvc.services.people import make_shop
from quizsvc.store import people, people_pages


@dataclass(frozen=True, slots=True)
class MyShop:
    """A shop somebody works in, with what they are there."""

    id: int
    name: str
    roles: tuple[Role, ...]
    here: bool


def my_shops(house: House, actor: Actor) -> tuple[MyShop, ...]:
    """Return the shops the actor has a role in, by name."""
    with house.read() as connection:
        theirs = people_pages.shops_of(connection, actor.person_id)
        found = [
            MyShop(
                shop.id,
                shop.name,
                tuple(sorted(people_pages.roles_in(connection, actor.person_id, shop.id))),
                here=shop.id == actor.shop_id,
            )
            for shop in people.all_shops(connection)
            if shop.id in theirs
        ]
    return tuple(sorted(found, key=lambda shop: shop.name))


def new_shop(house: House, actor: Actor, name: str, *, now: datetime) -> int:
    """Make a shop, its maker being its first administrator; return its key."""
    require(actor, May.MAKE_SHOPS)
    with house.write() as connection:
        shop_id = make_shop(connection, name, now=now)
        role = Role.ADMINISTRATOR
        people.add_roles(connection, actor.person_id, shop_id, [role], now=now)
        note(
            connection,
            None,
            Action.ROLE_GIVEN,
            f"person {actor.person_id}",
            now=now,
            shop_id=shop_id,
            role=role.value,
        )
    return shop_id
