"""Signing in and out: passwords, sessions kept on the server, and a brake on guessing."""

from __future__ import annotations

import secrets
from datetime import datetime, timedelta
from hashlib import sha256

from sqlalchemy import Connection

from quizsvc.errors import NotAllowedError, NotFoundError, UnavailableError
from quizsvc.rules import guessing
from quizsvc.rules.actors import Actor, Role
from quizsvc.services.house import House
from quizsvc.services.security_events import Event, tell
from quizsvc.store import people, people_pages, sessions
from quizsvc.store.people import SignInRow

TOKEN_BYTES = 32
LONGEST_NAME, LONGEST_SOURCE, LONGEST_TOKEN = 120, 200, 200  # characters
KEPT_AFTER_END = timedelta(days=90)


def sign_in(house: House, sign_in_name: str, password: str, *, now: datetime, source: str) -> str:
    """Return a new session token; ``source`` is the address the request came from.

    Raises:
        NotAllowedError: wrong name or password (never says which), or no role anywhere.
        UnavailableError: too many attempts; says when to try again.
    """
    name, source = known_form(sign_in_name), source[:LONGEST_SOURCE]
    keys = guessing.keys_of(name, source)
    with house.write() as connection:
        person = people.find_for_sign_in(connection, name)
        _count_attempt(connection, keys, person, source, now)
    stored = person.password_hash if person and person.active else None
    if not house.passwords.matches(password, stored) or person is None:
        tell(Event.SIGN_IN_FAILED, person=person.person_id if person else None)
        raise NotAllowedError(
            "name and password do not go together.",
            field="sign-in",
            remedy="Check both and try again.",
        )
    return _begin_session(house, person.person_id, keys, source, now)


def actor_for_token(house: House, token: str, *, now: datetime) -> Actor | None:
    """Return who is behind the token with the roles held at this moment, or None."""
    if not token or len(token) > LONGEST_TOKEN:
        return None
    with house.read() as connection:
        rows = sessions.roles_behind(connection, _hash(token), now=now)
    if not rows:
        return None
    first = rows[0]
    return Actor(
        person_id=first.person_id,
        name=first.name,
        shop_id=first.shop_id,
        roles=frozenset(Role(row.role) for row in rows),
        shop_name=first.shop_name,
    )


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


def _count_attempt(
    connection: Connection,
    keys: guessing.Keys,
    person: SignInRow | None,
    source: str,
    now: datetime,
) -> None:
    """Count the attempt as failed before it is checked, so that parallel guesses all count."""
    known = person is not None and sessions.has_signed_in_from(
        connection, person.person_id, source, since=now - guessing.KNOWN_FOR
    )
    hashes = {key: _hash(key) for key in keys.all()}
    since = now - guessing.WINDOW
    counted = sessions.lock_failures(connection, list(hashes.values()), now=now)
    recent = {key: counted[hashed] for key, hashed in hashes.items() if counted[hashed][1] > since}
    wait = guessing.wait(keys, recent, known_source=known, now=now)
    if wait is not None:
        tell(Event.SIGN_IN_BRAKED, person=person.person_id if person else None)
        raise UnavailableError(
            "too many attempts to sign in failed.",
            field="sign-in",
            remedy=f"Try again in {_spoken(guessing.minutes(wait))}.",
        )
    sessions.count_failures(connection, list(hashes.values()), now=now, since=since)


def _spoken(minutes: int) -> str:
    return "a minute" if minutes == 1 else f"{minutes} minutes"


def _begin_session(
    house: House, person_id: int, keys: guessing.Keys, source: str, now: datetime
) -> str:
    token = secrets.token_urlsafe(TOKEN_BYTES)
    with house.write() as connection:
        shop_id = people.latest_shop_of(connection, person_id)
        if shop_id is None:
            raise NotAllowedError(
                "you belong to no shop at present.",
                field="sign-in",
                remedy="Ask the manager of your shop to add you.",
            )
        sessions.clear_failures(connection, [_hash(keys.both)])
        sessions.forgive(connection, [_hash(keys.account), _hash(keys.source)])
        sessions.forget_old(connection, before=now - KEPT_AFTER_END)
        sessions.add_session(
            connection,
            token_hash=_hash(token),
            person_id=person_id,
            shop_id=shop_id,
            now=now,
            ends_at=now + timedelta(hours=house.settings.session_hours),
            source=source,
        )
    tell(Event.SIGNED_IN, person=person_id)
    return token


def _hash(text: str) -> str:
    return sha256(text.encode()).hexdigest()
