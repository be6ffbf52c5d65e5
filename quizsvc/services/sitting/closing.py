"""End sittings: handed in, or closed because their time is over; and count what may be told.

``now`` is steady time (`quizsvc.services.steady`).
"""

from __future__ import annotations

from datetime import datetime

from quizsvc.rules.actors import Actor
from quizsvc.rules.sittings import FINISHED, Deed
from quizsvc.services.house import House
from quizsvc.services.sitting import finishing
from quizsvc.services.sitting.own_sittings import Held, own
from quizsvc.store import assignments, sittings


def hand_in(house: House, actor: Actor, token: str, *, now: datetime) -> None:
    """Hand in; doing so again changes nothing. It may be done from any place."""
    settle(house, actor, token, now=now)
    with house.write() as connection:
        held = own(connection, actor, token, lock=True)
        if held.sitting.state not in FINISHED:
            finishing.finish(connection, held.assignment, held.sitting, Deed.HAND_IN, now=now)
    count_told(house, held.assignment.id, now=now)


def settle(house: House, actor: Actor, token: str, *, now: datetime) -> Held:
    """Close the sitting if its time is over, then return it as it stands."""
    with house.read() as connection:
        held = own(connection, actor, token)
    if not finishing.is_over(held.assignment, held.sitting, now):
        return held
    close_if_over(house, token, now=now)
    with house.read() as connection:
        return own(connection, actor, token)


def settle_all(house: House, actor: Actor, assignment_id: int, *, now: datetime) -> None:
    """Close what is over of the actor's tries at an assignment."""
    with house.read() as connection:
        assignment = assignments.find_assignment(connection, assignment_id)
        tries = sittings.sittings_of(connection, assignment_id, actor.person_id)
    for sitting in tries:
        if assignment is not None and finishing.is_over(assignment, sitting, now):
            close_if_over(house, sitting.token, now=now)


def close_if_over(house: House, token: str, *, now: datetime) -> bool:
    """Close a sitting whose time is over; return whether this call did it."""
    with house.write() as connection:
        sitting = sittings.find_sitting(connection, token, lock=True)
        if sitting is None:
            return False
        assignment = assignments.find_assignment(connection, sitting.assignment_id)
        if assignment is None or not finishing.is_over(assignment, sitting, now):
            return False
        finishing.finish(connection, assignment, sitting, Deed.CLOSE, now=now)
    count_told(house, assignment.id, now=now)
    return True


def count_told(house: House, assignment_id: int, *, now: datetime) -> None:
    """Put into the records what may be told by now of an assignment.

    In a transaction of its own that locks the assignment first: two people who hand in at once
    would otherwise wait for each other's sitting.
    """
    with house.write() as connection:
        assignment = assignments.find_assignment(connection, assignment_id, lock=True)
        if assignment is not None:
            finishing.count_told(connection, assignment, now=now)


def close_all_over(house: House, *, now: datetime) -> int:
    """Close every sitting whose time is over, with nobody connected; return how many."""
    with house.read() as connection:
        due = sittings.running_and_due(connection, now=now)
        timed = sittings.running_timed(connection)
    over = [one for one in timed if one.clock.is_past_grace(now)]
    return sum(close_if_over(house, one.token, now=now) for one in (*over, *due))


def count_all_told(house: House, *, now: datetime) -> int:
    """Put answers into the records whose test has ended for everybody; return how many tests."""
    with house.read() as connection:
        waiting = {one.assignment_id for one in sittings.uncounted(connection)}
    for assignment_id in sorted(waiting):
        count_told(house, assignment_id, now=now)
    with house.read() as connection:
        left = {one.assignment_id for one in sittings.uncounted(connection)}
    return len(waiting - left)
