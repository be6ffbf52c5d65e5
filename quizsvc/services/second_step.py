"""The second step of signing in: the password was right, the code is awaited.

What stands between the two is kept on the server under a token of the browser's. It is no
session, lasts minutes, and makes one session at most.
"""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection

from quizsvc.errors import NotFoundError
from quizsvc.rules import guessing
from quizsvc.rules.audit import Action
from quizsvc.rules.second_factor import HALF_WAY_FOR
from quizsvc.services import guess_brake, typed_codes
from quizsvc.services.auditing import note
from quizsvc.services.guess_brake import LONGEST_SOURCE, hashed
from quizsvc.services.house import House
from quizsvc.services.new_session import TOKEN_BYTES, open_session
from quizsvc.services.security_events import Event, tell
from quizsvc.services.typed_codes import TypedCode
from quizsvc.store import people, second_factors
from quizsvc.store.second_factors import StoredFactor

LONGEST_TOKEN = 200  # characters


@dataclass(frozen=True, slots=True)
class HalfWay:
    """What is given instead of a session while a code is awaited."""

    token: str


def go_half_way(connection: Connection, person_id: int, *, now: datetime) -> HalfWay:
    token = secrets.token_urlsafe(TOKEN_BYTES)
    second_factors.add_half(
        connection,
        token_hash=hashed(token),
        person_id=person_id,
        now=now,
        ends_at=now + HALF_WAY_FOR,
    )
    tell(Event.CODE_AWAITED, person=person_id)
    return HalfWay(token)


def is_half_way(house: House, token: str, *, now: datetime) -> bool:
    """Return whether a code is awaited from whoever holds the token."""
    with house.read() as connection:
        return _behind(connection, token, now) is not None


def finish(house: House, token: str, typed: TypedCode, *, now: datetime, source: str) -> str:
    """Return a new session's token for half a sign-in and its code.

    Raises:
        NotFoundError: half a sign-in that is over, used, or never was.
        NotAllowedError: the code is wrong or was used before; never says which.
        UnavailableError: too many wrong codes; says when to try again.
    """
    source = source[:LONGEST_SOURCE]
    with house.write() as connection:
        factor = _factor_behind(connection, token, now)
        keys = _keys(factor.person_id, source)
        last = guess_brake.count_attempt(
            connection, keys, factor.person_id, source, limits=guessing.CODES, now=now
        )
        if last:
            _note_braked(connection, factor.person_id, now)
    matched = typed_codes.match(house, factor, typed, now=now)
    with house.write() as connection:
        if not second_factors.end_half(connection, hashed(token)):
            raise _over()
        shop_id = people.latest_shop_of(connection, factor.person_id)
        typed_codes.use(connection, factor.person_id, matched, shop_id=shop_id, now=now)
        guess_brake.forgive(connection, keys)
        opened = open_session(connection, house, factor.person_id, source=source, now=now)
    tell(Event.SIGNED_IN, person=factor.person_id)
    return opened


def _factor_behind(connection: Connection, token: str, now: datetime) -> StoredFactor:
    person_id = _behind(connection, token, now)
    factor = second_factors.factor_of(connection, person_id) if person_id else None
    if factor is None:
        raise _over()
    return factor


def _behind(connection: Connection, token: str, now: datetime) -> int | None:
    if not token or len(token) > LONGEST_TOKEN:
        return None
    return second_factors.half_behind(connection, hashed(token), now=now)


def _note_braked(connection: Connection, person_id: int, now: datetime) -> None:
    """Note the attempt that, should it fail, closes the way: somebody may know the password."""
    note(
        connection,
        None,
        Action.CODES_BRAKED,
        f"person {person_id}",
        now=now,
        shop_id=people.latest_shop_of(connection, person_id),
    )


def _keys(person_id: int, source: str) -> guessing.Keys:
    # No sign-in name has capitals in it, so that nobody's failed sign-ins are counted here.
    return guessing.keys_of(f"CODE {person_id}", source)


def _over() -> NotFoundError:
    return NotFoundError(
        "this sign-in waited too long for its code.",
        field="sign-in",
        value="over",
        remedy="Sign in again.",
    )
