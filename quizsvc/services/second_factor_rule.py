"""Whom a shop asks for a second factor to sign in."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime

from quizsvc.rules.actors import Actor, Role
from quizsvc.rules.audit import Action
from quizsvc.rules.permissions import May, require
from quizsvc.services.auditing import note
from quizsvc.services.house import House
from quizsvc.store import second_factors


@dataclass(frozen=True, slots=True)
class RoleLine:
    """A role of a shop: whether it is asked, and how many of its people have one."""

    role: Role
    asked: bool
    people: int
    having: int


def rule(house: House, actor: Actor) -> tuple[RoleLine, ...]:
    """Return every role with what the shop asks of it."""
    require(actor, May.KEEP_SIGN_IN_RULE)
    with house.read() as connection:
        asked = second_factors.asked_roles(connection, actor.shop_id)
        held = second_factors.holders(connection, actor.shop_id)
    return tuple(RoleLine(role, role in asked, *held.get(role, (0, 0))) for role in Role)


def ask_of(house: House, actor: Actor, roles: Collection[Role], *, now: datetime) -> None:
    """Ask these roles for a second factor and no others; it counts at their next request."""
    require(actor, May.KEEP_SIGN_IN_RULE)
    with house.write() as connection:
        if second_factors.asked_roles(connection, actor.shop_id) == frozenset(roles):
            return
        second_factors.ask_roles(connection, actor.shop_id, roles)
        note(
            connection,
            actor,
            Action.SECOND_FACTOR_ASKED,
            f"shop {actor.shop_id}",
            now=now,
            roles=sorted(role.value for role in roles),
        )
