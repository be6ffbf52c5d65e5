"""Signing in and out: passwords, sessions kept on the server, and a brake on guessing."""

from __future__ import annotations

from contextlib import suppress
from datetime import datetime, timedelta
from hashlib import sha256

from quizsvc.errors import NotAllowedError, NotFoundError, UnavailableError
from quizsvc.rules import guessing
from quizsvc.rules.actors import Actor, Role
from quizsvc.services import guess_brake, second_step
from quizsvc.services.house import House
from quizsvc.services.new_session import open_session
from quizsvc.services.second_step import HalfWay
from quizsvc.services.security_events import Event, tell
from quizsvc.store import people, people_pages, second_factors, sessions

LONGEST_NAME, LONGEST_SOURCE, LONGEST_TOKEN = 120, 200, 200  # characters
SEEN_TO_WITHIN = timedelta(minutes=5)  # so that not every request writes


def sign_in(
    house: House, sign_in_name: str, password: str, *, now: datetime, source: str
) -> str | HalfWay:
    """Return a new session's token, or half a sign-in where a code is to be typed as well.

    ``source`` is the address the request came from.

    Raises:
        NotAllowedError: wrong name or password (never says which), or no role anywhere.
        UnavailableError: too many attempts; says when to try again.
    """
    name, source = known_form(sign_in_name), source[:LONGEST_SOURCE]
    keys = guessing.keys_of(name, source)
    with house.write() as connection:
        person = people.find_for_sign_in(connection, name)
        known = person.person_id if person else None
        guess_brake.count_attempt(connection, keys, known, source, now=now)
    stored = person.password_hash if person and person.active else None
    if not house.passwords.matches(password, stored) or person is None:
        tell(Event.SIGN_IN_FAILED, person=person.person_id if person else None)
        raise NotAllowedError(
            "name and password do not go together.",
            field="sign-in",
            remedy="Check both and try again.",
        )
    renewed = house.passwords.renewed(password, stored) if stored else None
    with house.write() as connection:
        if stored and renewed:
            people_pages.renew_hash(connection, person.person_id, stored, renewed)
        guess_brake.forgive(connection, keys)
        if second_factors.has_one(connection, person.person_id):
            return second_step.go_half_way(connection, person.person_id, now=now)
        token = open_session(connection, house, person.person_id, source=source, now=now)
    tell(Event.SIGNED_IN, person=person.person_id)
    return token


def actor_for_token(house: House, token: str, *, now: datetime) -> Actor | None:
    """Return who is behind the token with the roles held at this moment, or None."""
    if not token or len(token) > LONGEST_TOKEN:
        return None
    with house.read() as connection:
        seen_after = now - idle_time(house)
        rows = sessions.roles_behind(connection, _hash(token), now=now, seen_after=seen_after)
    if not rows:
        return None
    first = rows[0]
    if now - first.seen_at >= SEEN_TO_WITHIN:
        _note_use(house, token, now)
    return Actor(
        person_id=first.person_id,
        name=first.name,
        shop_id=first.shop_id,
        roles=frozenset(Role(row.role) for row in rows),
        shop_name=first.shop_name,
        owes_second_factor=any(row.owes_second_factor for row in rows),
    )


def idle_time(house: House) -> timedelta:
    """Return for how long a session may lie unused before it ends."""
    return timedelta(minutes=house.settings.idle_minutes)


def sign_out(house: House, token: str, *, now: datetime) -> None:
    """Revoke the session on the server; an unknown token changes nothing."""
    if token and len(token) <= LONGEST_TOKEN:
        with house.write() as connection:
            sessions.end_session(connection, _hash(token), now=now)


def work_in(house: House, actor: Actor, token: str, shop_id: int) -> None:
    """Go on in another shop of the actor's, in this session.

    Raises:
        NotFoundError: the actor has no role there.
    """
    with house.write() as connection:
        if shop_id not in people_pages.shops_of(connection, actor.person_id):
            raise NotFoundError(
                "you have no role in such a shop.",
                field="shop",
                value=shop_id,
                remedy="Choose one of those on the page.",
            )
        sessions.move_session(connection, _hash(token), shop_id)


def known_form(sign_in_name: str) -> str:
    """Return a sign-in name in the form it is stored in: case and outer spaces do not count."""
    return sign_in_name.strip().casefold()[:LONGEST_NAME]


def _note_use(house: House, token: str, now: datetime) -> None:
    """Note that the session is in use; where nothing can be written now, pages are still read."""
    with suppress(UnavailableError):
        house.write_together(
            lambda connection: sessions.see_session(connection, _hash(token), now=now)
        )


def _hash(text: str) -> str:
    return sha256(text.encode()).hexdigest()
