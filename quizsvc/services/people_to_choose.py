"""People of the shop to choose from as candidates."""

from __future__ import annotations

from quizsvc.rules.actors import Actor
from quizsvc.rules.permissions import May, require
from quizsvc.services.house import House
from quizsvc.store import people_pages


def learners(house: House, actor: Actor) -> tuple[tuple[int, str], ...]:
    """Return keys and names of the shop's learners, by name."""
    require(actor, May.SEE_CERTIFICATION)
    with house.read() as connection:
        return people_pages.active_learners(connection, actor.shop_id)
