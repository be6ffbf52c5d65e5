"""One's own password and sessions: changed and ended by whoever types the present password."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256

from sqlalchemy import Connection

from quizsvc.errors import NotAllowedError, NotFoundError
from quizsvc.rules import guessing
from quizsvc.rules.actors import Actor
from quizsvc.rules.audit import Action
from quizsvc.rules.permissions import May, require
from quizsvc.services import guess_brake
from quizsvc.services.accounts import idle_time
from quizsvc.services.auditing import note
from quizsvc.services.guess_brake import LONGEST_SOURCE
from quizsvc.services.house import House
from quizsvc.services.keep_people import require_keeping
from quizsvc.services.new_session import open_session
from quizsvc.services.security_events import Event, tell
from quizsvc.store import people, people_pages, sessions

ALL_OTHERS = "others"


@dataclass(frozen=True, slots=True)
class OwnSession:
    """A place somebody is signed in at; ``handle`` names it and opens nothing."""

    handle: str
    begun_at: datetime
    seen_at: datetime
    ends_at: datetime
    address: str
    here: bool


def sign_in_name(house: House, actor: Actor) -> str:
    """Return what the actor signs in with, so that password managers know whose password it is."""
    with house.read() as connection:
        return _sign_in_name(connection, actor)


def own_sessions(
    house: House, actor: Actor, token: str, *, now: datetime
) -> tuple[OwnSession, ...]:
    """Return where the actor is signed in, the place used last first."""
    with house.read() as connection:
        rows = sessions.live_sessions(
            connection, actor.person_id, now=now, seen_after=now - idle_time(house)
        )
    here = guess_brake.hashed(token)
    return tuple(
        OwnSession(
            _handle(row.token_hash),
            row.made_at,
            row.seen_at,
            row.ends_at,
            row.source,
            row.token_hash == here,
        )
        for row in rows
    )


def change_password(
    house: House,
    actor: Actor,
    *,
    present: str,
    wanted: str,
    now: datetime,
    source: str,
) -> str:
    """Change the actor's password; every session ends, and a new one begins here.

    Returns the token of the new session.

    Raises:
        NotAllowedError: the present password is not right.
        InputError: the wanted one is too short, too long, leaked or easy to guess.
    """
    known_as = _confirm(house, actor, present, now=now, source=source)
    about = (actor.name, actor.shop_name, known_as)
    hashed = house.passwords.hashed(wanted, about=about)
    with house.write() as connection:
        people_pages.set_password(connection, actor.person_id, hashed)
        sessions.end_all_sessions(connection, actor.person_id, now=now)
        new = open_session(connection, house, actor.person_id, source=source, now=now)
        sessions.move_session(connection, guess_brake.hashed(new), actor.shop_id)
        subject = f"person {actor.person_id}"
        note(connection, actor, Action.PASSWORD_CHANGED, subject, now=now)
    tell(Event.PASSWORD_CHANGED, person=actor.person_id)
    return new


def end_sessions(
    house: House,
    actor: Actor,
    token: str,
    which: str,
    *,
    present: str,
    now: datetime,
    source: str,
) -> None:
    """End one of the actor's sessions by its handle, or `ALL_OTHERS` but this one.

    Raises:
        NotAllowedError: the present password is not right.
        NotFoundError: no such session goes on.
    """
    _confirm(house, actor, present, now=now, source=source)
    with house.write() as connection:
        if which == ALL_OTHERS:
            here = guess_brake.hashed(token)
            sessions.end_all_sessions(connection, actor.person_id, now=now, but=here)
        else:
            sessions.end_session(connection, _found(connection, house, actor, which, now), now=now)
    tell(Event.SESSIONS_ENDED, person=actor.person_id, by=actor.person_id)


def end_sessions_of(house: House, actor: Actor, person_id: int, *, now: datetime) -> None:
    """Sign somebody of the actor's shop out everywhere; they may sign in again.

    Raises:
        NotFoundError, ConflictError, NotAllowedError: see `require_keeping`.
    """
    require(actor, May.KEEP_PEOPLE)
    with house.write() as connection:
        require_keeping(connection, actor, person_id)
        sessions.end_all_sessions(connection, person_id, now=now)
        note(connection, actor, Action.SESSIONS_ENDED, f"person {person_id}", now=now)
    tell(Event.SESSIONS_ENDED, person=person_id, by=actor.person_id)


def end_sessions_of_all(house: House, actor: Actor, *, now: datetime) -> None:
    """Sign everybody of the actor's shop out, the actor too.

    Raises:
        NotAllowedError: the actor is no administrator.
    """
    require(actor, May.END_ALL_SESSIONS)
    with house.write() as connection:
        sessions.end_all_of_shop(connection, actor.shop_id, now=now)
        note(connection, actor, Action.SESSIONS_ENDED, f"shop {actor.shop_id}", now=now)
    tell(Event.SESSIONS_ENDED, by=actor.person_id, shop=actor.shop_id)


def _confirm(house: House, actor: Actor, present: str, *, now: datetime, source: str) -> str:
    """Check the actor's present password, braked as signing in is; return their sign-in name."""
    source = source[:LONGEST_SOURCE]
    # No sign-in name has capitals in it, so that nobody's failed sign-ins are counted here.
    keys = guessing.keys_of(f"CONFIRM {actor.person_id}", source)
    with house.write() as connection:
        name = _sign_in_name(connection, actor)
        person = people.find_for_sign_in(connection, name)
        guess_brake.count_attempt(connection, keys, actor.person_id, source, now=now)
    if not house.passwords.matches(present, person.password_hash if person else None):
        tell(Event.PASSWORD_REFUSED, person=actor.person_id)
        raise NotAllowedError(
            "this is not your present password.",
            field="present password",
            remedy="Type the one you signed in with.",
        )
    with house.write() as connection:
        guess_brake.forgive(connection, keys)
    return name


def _sign_in_name(connection: Connection, actor: Actor) -> str:
    rows = people_pages.people_of(connection, actor.shop_id, person_id=actor.person_id)
    return (rows[0].sign_in_name or "") if rows else ""


def _found(connection: Connection, house: House, actor: Actor, handle: str, now: datetime) -> str:
    rows = sessions.live_sessions(
        connection, actor.person_id, now=now, seen_after=now - idle_time(house)
    )
    for row in rows:
        if _handle(row.token_hash) == handle:
            return row.token_hash
    raise NotFoundError(
        "this session goes on no more.",
        field="session",
        value=handle[:32],
        remedy="Load the page again.",
    )


def _handle(token_hash: str) -> str:
    return sha256(f"handle\x1f{token_hash}".encode()).hexdigest()[:32]
