"""A new session, once everything that was asked for is right."""

from __future__ import annotations

import secrets
from datetime import datetime, timedelta

from sqlalchemy import Connection

from quizsvc.errors import NotAllowedError
from quizsvc.services.guess_brake import hashed
from quizsvc.services.house import House
from quizsvc.store import people, sessions

TOKEN_BYTES = 32
KEPT_AFTER_END = timedelta(days=90)


def open_session(
    connection: Connection, house: House, person_id: int, *, source: str, now: datetime
) -> str:
    """Return the token of a new session, in the shop the person joined last.

    Raises:
        NotAllowedError: they belong to no shop.
    """
    shop_id = people.latest_shop_of(connection, person_id)
    if shop_id is None:
        raise NotAllowedError(
            "you belong to no shop at present.",
            field="sign-in",
            remedy="Ask the manager of your shop to add you.",
        )
    token = secrets.token_urlsafe(TOKEN_BYTES)
    sessions.forget_old(connection, before=now - KEPT_AFTER_END)
    sessions.add_session(
        connection,
        token_hash=hashed(token),
        person_id=person_id,
        shop_id=shop_id,
        now=now,
        ends_at=now + timedelta(hours=house.settings.session_hours),
        source=source,
    )
    return token
