"""Who sees the record of a class."""

from __future__ import annotations

from quizsvc.rules.actors import Actor, Role


def may_see_class(actor: Actor, shop_id: int, *, leads: bool) -> bool:
    """Return whether the actor may see a class's record: who leads it, and the shop's managers."""
    if actor.shop_id != shop_id:
        return False
    return actor.is_a(Role.MANAGER) or (leads and actor.is_a(Role.INSTRUCTOR))
