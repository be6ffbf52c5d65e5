"""The one place a sitting is open at.

``place`` is a secret of the one place a person sits at (their sign-in there).
"""

from __future__ import annotations

from datetime import datetime
from hashlib import sha256

from quizsvc.errors import ConflictError
from quizsvc.rules.actors import Actor
from quizsvc.rules.sittings import Deed, after
from quizsvc.services.house import House
from quizsvc.services.sitting.closing import settle
from quizsvc.services.sitting.own_sittings import own
from quizsvc.store import sittings
from quizsvc.store.sittings import StoredSitting


def take_place(house: House, actor: Actor, token: str, *, place: str, now: datetime) -> None:
    """Continue here; at the place where it was open before, nothing can be saved any more."""
    settle(house, actor, token, now=now)
    with house.write() as connection:
        held = own(connection, actor, token, lock=True)
        after(held.sitting.state, Deed.TURN_PLACE)
        if held.sitting.place_hash != hashed(place):
            sittings.change_sitting(
                connection, held.sitting.id, place_hash=hashed(place), place_since=now, last_at=now
            )


def hashed(place: str) -> str:
    return sha256(f"place\x1f{place}".encode()).hexdigest()


def require_here(sitting: StoredSitting, place: str) -> None:
    if sitting.place_hash != hashed(place):
        raise ConflictError(
            f"this was continued at another place at {sitting.place_since:%H:%M} UTC; "
            "nothing is saved from here any more.",
            field="place",
            value="this one",
            remedy="Load the page again and choose to continue here, or go on over there.",
        )
