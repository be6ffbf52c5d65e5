"""Attempts to prove who one is, counted in the database, so that all processes brake together."""

from __future__ import annotations

from datetime import datetime
from hashlib import sha256

from sqlalchemy import Connection

from quizsvc.errors import UnavailableError
from quizsvc.rules import guessing
from quizsvc.rules.guessing import Keys, Limits
from quizsvc.services.security_events import Event, tell
from quizsvc.store import sessions

LONGEST_SOURCE = 200  # characters
NOBODY = 0  # no person has this id


class BrakedError(UnavailableError):
    """Too many attempts failed; ``remedy`` says when the next is let through."""


def count_attempt(
    connection: Connection,
    keys: Keys,
    person_id: int | None,
    source: str,
    *,
    limits: Limits = guessing.PASSWORDS,
    now: datetime,
) -> bool:
    """Count an attempt as failed before it is checked, so that parallel guesses all count.

    Returns whether it is the last one allowed for now, should it fail.

    Raises:
        BrakedError: too many attempts; says when to try again.
    """
    # Asked for nobody too, so that an unknown name costs the same.
    known = sessions.has_signed_in_from(
        connection, person_id or NOBODY, source, since=now - guessing.KNOWN_FOR
    )
    hashes = {key: hashed(key) for key in keys.all()}
    since = now - guessing.WINDOW
    counted = sessions.lock_failures(connection, list(hashes.values()), now=now)
    recent = {key: counted[kept] for key, kept in hashes.items() if counted[kept][1] > since}
    wait = guessing.wait(keys, recent, known_source=known, now=now, limits=limits)
    if wait is not None:
        tell(Event.SIGN_IN_BRAKED, person=person_id)
        raise BrakedError(
            "too many attempts to sign in failed.",
            field="sign-in",
            remedy=f"Try again in {_spoken(guessing.minutes(wait))}.",
        )
    sessions.count_failures(connection, list(hashes.values()), now=now, since=since)
    return recent.get(keys.both, (0, now))[0] + 1 == limits.both


def forgive(connection: Connection, keys: Keys) -> None:
    """Take the attempt back: it turned out right. What failed here before is forgotten too."""
    sessions.lock_known(connection, [hashed(key) for key in keys.all()])
    sessions.clear_failures(connection, [hashed(keys.both)])
    sessions.forgive(connection, [hashed(keys.account), hashed(keys.source)])


def hashed(text: str) -> str:
    return sha256(text.encode()).hexdigest()


def _spoken(minutes: int) -> str:
    return "a minute" if minutes == 1 else f"{minutes} minutes"
