"""A person's calendar of what is due, under an address that only they know."""

from __future__ import annotations

import secrets
from datetime import datetime
from hashlib import sha256

from quizsvc.errors import NotFoundError
from quizsvc.interchange.calendar import Entry, calendar_of
from quizsvc.rules.actors import Actor
from quizsvc.rules.permissions import May, require
from quizsvc.services.house import House
from quizsvc.store import assignment_people, invitations, people_pages
from quizsvc.store.assignments import StoredAssignment

TOKEN_BYTES = 16  # 128 bits
LONGEST_TOKEN = 64


def new_feed(house: House, actor: Actor, *, now: datetime) -> str:
    """Return a new secret for the actor's calendar address; the one before stops to work."""
    require(actor, May.PRACTISE)
    token = secrets.token_urlsafe(TOKEN_BYTES)
    with house.write() as connection:
        invitations.set_feed(connection, actor.person_id, actor.shop_id, _hash(token), now=now)
    return token


def stop_feed(house: House, actor: Actor) -> None:
    with house.write() as connection:
        invitations.drop_feed(connection, actor.person_id, actor.shop_id)


def feed_since(house: House, actor: Actor) -> datetime | None:
    """Return since when the actor has a calendar address, or None."""
    with house.read() as connection:
        return invitations.feed_since(connection, actor.person_id, actor.shop_id)


def feed(house: House, token: str, *, link: str, now: datetime) -> bytes:
    """Return the calendar behind a secret address: due dates and beginnings, no question.

    Raises:
        NotFoundError: no such address, or its person left the shop or was deactivated.
    """
    with house.read() as connection:
        usable = token[:LONGEST_TOKEN] == token
        owner = invitations.feed_owner(connection, _hash(token)) if usable else None
        rows = people_pages.people_of(connection, owner[1], person_id=owner[0]) if owner else ()
        if owner is None or not rows or not rows[0].active:
            raise NotFoundError(
                "there is no calendar at this address.",
                remedy="Make a new address on the calendar page.",
            )
        given = assignment_people.assignments_for(connection, *owner)
    entries = [_entry(one, link) for one in given]
    return calendar_of(entries, title="Assignments", now=now)


def _entry(one: StoredAssignment, link: str) -> Entry:
    """Return the due date, or where there is none the opening."""
    due = one.due_at is not None
    return Entry(
        uid=f"assignment-{one.id}@quizsvc",
        title=f"{'Due' if due else 'Opens'}: {one.title}",
        words=f"{one.form.value.capitalize()}. {one.words}".strip(),
        at=one.due_at or one.opens_at,
        until=None,
        link=link,
    )


def _hash(token: str) -> str:
    return sha256(f"calendar\x1f{token}".encode()).hexdigest()
