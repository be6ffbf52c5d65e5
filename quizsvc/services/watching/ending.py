"""End sittings: somebody's at the watcher's word, and each whose time is over."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import Connection

from quizsvc.errors import NotFoundError
from quizsvc.rules.actors import Actor
from quizsvc.rules.audit import Action
from quizsvc.rules.sittings import FINISHED, Deed
from quizsvc.services.assigning.access import runs, watches
from quizsvc.services.auditing import note
from quizsvc.services.house import House
from quizsvc.services.sitting import closing, finishing
from quizsvc.store import sittings
from quizsvc.store.sittings import StoredSitting


def close(house: House, actor: Actor, assignment_id: int, token: str, *, now: datetime) -> None:
    """End somebody's sitting; what they have saved counts."""
    with house.write() as connection:
        held = runs(connection, actor, assignment_id, lock=True)
        sitting = sitting_in(connection, assignment_id, token)
        if sitting.state in FINISHED:
            return
        finishing.finish(connection, held, sitting, Deed.CLOSE, now=now)
        note(connection, actor, Action.SITTING_CLOSED, f"sitting {sitting.id}", now=now)
    closing.count_told(house, assignment_id, now=now)


def settle_all(house: House, actor: Actor, assignment_id: int, *, now: datetime) -> None:
    """Close what is over in an assignment the actor may watch."""
    with house.read() as connection:
        held = watches(connection, actor, assignment_id)
        over = [
            one.token
            for one in sittings.sittings_of(connection, assignment_id)
            if finishing.is_over(held, one, now)
        ]
    for token in over:
        closing.close_if_over(house, token, now=now)


def sitting_in(connection: Connection, assignment_id: int, token: str) -> StoredSitting:
    sitting = sittings.find_sitting(connection, token)
    if sitting is None or sitting.assignment_id != assignment_id:
        raise NotFoundError(
            "there is no such sitting of this assignment.",
            field="sitting",
            value=token[:40],
            remedy="Choose one of those on the page.",
        )
    return sitting
