"""Pause a test, go on, and give more time."""

from __future__ import annotations

from datetime import datetime, timedelta

from sqlalchemy import Connection

from quizsvc.errors import ConflictError, NotFoundError
from quizsvc.rules.actors import Actor
from quizsvc.rules.assignments import check_extra_minutes
from quizsvc.rules.audit import Action
from quizsvc.rules.sittings import RUNNING, Deed, after, may
from quizsvc.services.assigning.access import runs
from quizsvc.services.auditing import note
from quizsvc.services.house import House
from quizsvc.services.watching.ending import settle_all
from quizsvc.store import assignment_people, sittings
from quizsvc.store.assignment_people import Taker
from quizsvc.store.assignments import StoredAssignment


def pause_all(house: House, actor: Actor, assignment_id: int, *, now: datetime) -> int:
    """Stop the clock of everybody who sits it; return of how many."""
    return _for_all(house, actor, assignment_id, Deed.PAUSE, Action.TEST_PAUSED, now=now)


def go_on_all(house: House, actor: Actor, assignment_id: int, *, now: datetime) -> int:
    """Let the clocks run again; return how many."""
    return _for_all(house, actor, assignment_id, Deed.GO_ON, Action.TEST_WENT_ON, now=now)


def add_minutes(
    house: House,
    actor: Actor,
    assignment_id: int,
    minutes: int,
    *,
    token: str = "",
    now: datetime,
) -> int:
    """Give more time to everybody who sits it, or to one sitting; return to how many.

    Raises:
        InputError: no whole number of minutes from 1 to a day.
        ConflictError: nobody sits it.
    """
    settle_all(house, actor, assignment_id, now=now)
    span = timedelta(minutes=minutes)
    with house.write() as connection:
        runs(connection, actor, assignment_id, lock=True)
        found = [
            one
            for one in sittings.sittings_of(connection, assignment_id, lock=True)
            if one.state in RUNNING and token in ("", one.token) and one.allowed_ms is not None
        ]
        if not found:
            raise ConflictError(
                "nobody whose clock runs is meant.",
                field="minutes",
                value=minutes,
                remedy="What has ended stays ended.",
            )
        for one in found:
            state = after(one.state, Deed.ADD_TIME)
            sittings.keep_clock(connection, one.id, one.clock.add(span), state)
        note(
            connection,
            actor,
            Action.TIME_ADDED,
            f"assignment {assignment_id}",
            now=now,
            minutes=minutes,
            sittings=[one.id for one in found],
        )
    return len(found)


def allow_extra(
    house: House,
    actor: Actor,
    assignment_id: int,
    person_id: int,
    minutes: int,
    *,
    now: datetime,
) -> None:
    """Allow a person more time than the others from the start, or take that back with 0."""
    check_extra_minutes(minutes)
    with house.write() as connection:
        held = runs(connection, actor, assignment_id, lock=True)
        _taker(connection, held, person_id)
        assignment_people.allow_extra(connection, assignment_id, person_id, minutes=minutes)
        note(
            connection,
            actor,
            Action.TIME_ADDED,
            f"assignment {assignment_id}",
            now=now,
            person=person_id,
            extra_minutes=minutes,
        )


def _for_all(
    house: House,
    actor: Actor,
    assignment_id: int,
    deed: Deed,
    action: Action,
    *,
    now: datetime,
) -> int:
    settle_all(house, actor, assignment_id, now=now)
    with house.write() as connection:
        runs(connection, actor, assignment_id, lock=True)
        found = [
            one
            for one in sittings.sittings_of(connection, assignment_id, lock=True)
            if may(one.state, deed)
        ]
        for one in found:
            clock = one.clock.pause(now) if deed is Deed.PAUSE else one.clock.go_on(now)
            sittings.keep_clock(connection, one.id, clock, after(one.state, deed))
        if found:
            note(
                connection,
                actor,
                action,
                f"assignment {assignment_id}",
                now=now,
                sittings=[one.id for one in found],
            )
    return len(found)


def _taker(connection: Connection, held: StoredAssignment, person_id: int) -> Taker:
    for taker in assignment_people.takers_of(connection, held):
        if taker.person_id == person_id:
            return taker
    raise NotFoundError(
        "it is not for this person.",
        field="person",
        value=person_id,
        remedy="Choose one of those on the page.",
    )
