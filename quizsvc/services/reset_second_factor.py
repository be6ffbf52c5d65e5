"""Resetting the second factor of somebody who lost phone and recovery codes."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection

from quizsvc.errors import ConflictError, NotFoundError
from quizsvc.rules.actors import Actor
from quizsvc.rules.audit import Action
from quizsvc.rules.permissions import May, require
from quizsvc.services import keep_people
from quizsvc.services.accounts import known_form
from quizsvc.services.auditing import note
from quizsvc.services.house import House
from quizsvc.services.security_events import Event, tell
from quizsvc.store import held_back, people, second_factors, sessions


@dataclass(frozen=True, slots=True)
class TheirFactor:
    """What those who keep people see of somebody's second factor."""

    on_since: datetime | None
    sits_a_test: bool


def of_person(house: House, actor: Actor, person_id: int) -> TheirFactor:
    """Return how it stands with somebody of the actor's shop."""
    keep_people.person(house, actor, person_id)
    with house.read() as connection:
        factor = second_factors.factor_of(connection, person_id)
        sits = held_back.sits_a_timed_test(connection, person_id)
    return TheirFactor(factor.on_since if factor else None, sits)


def reset(house: House, actor: Actor, person_id: int, *, now: datetime) -> None:
    """Take away the second factor of somebody who lost phone and recovery codes.

    Their sessions end; they sign in by password alone, and set up another if the shop asks.

    Raises:
        NotFoundError: they are of another shop.
        NotAllowedError: only administrators do so for an administrator.
        ConflictError: it is the actor, somebody of another shop too, or there is none.
    """
    require(actor, May.KEEP_PEOPLE)
    if person_id == actor.person_id:
        raise ConflictError(
            "you cannot reset your own second factor.",
            field="person",
            value=person_id,
            remedy="Turn it off in your account, or ask another administrator.",
        )
    with house.write() as connection:
        keep_people.require_keeping(connection, actor, person_id)
        _take_away(connection, person_id, now)
        note(connection, actor, Action.SECOND_FACTOR_RESET, f"person {person_id}", now=now)
    tell(Event.SECOND_FACTOR_CHANGED, person=person_id, to="reset", by=actor.person_id)


def reset_by_program(house: House, sign_in_name: str, *, now: datetime) -> None:
    """Do the same for whoever runs the server: for the last administrator, locked out.

    Raises:
        NotFoundError: nobody signs in with this name.
    """
    with house.write() as connection:
        person = people.find_for_sign_in(connection, known_form(sign_in_name))
        if person is None:
            raise NotFoundError(
                "nobody signs in with this name.",
                field="sign-in name",
                value=sign_in_name[:40],
                remedy="Look it up on the page of people.",
            )
        _take_away(connection, person.person_id, now)
        shop_id = people.latest_shop_of(connection, person.person_id)
        subject = f"person {person.person_id}"
        note(
            connection,
            None,
            Action.SECOND_FACTOR_RESET,
            subject,
            now=now,
            shop_id=shop_id,
            by="command line",
        )


def _take_away(connection: Connection, person_id: int, now: datetime) -> None:
    if not second_factors.take_away(connection, person_id):
        raise ConflictError(
            "this person has no second factor.",
            field="person",
            value=person_id,
            remedy="They sign in by password alone.",
        )
    sessions.end_all_sessions(connection, person_id, now=now)
