"""One's own second factor: set up, turned on by a first code, renewed, turned off.

Whoever changes it proves anew who they are, by password and code, whatever session they hold.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from urllib.parse import urlsplit

from sqlalchemy import Connection

from quizsvc.errors import ConflictError, NotAllowedError
from quizsvc.rules import guessing
from quizsvc.rules.actors import Actor
from quizsvc.rules.audit import Action
from quizsvc.rules.second_factor import SET_UP_FOR, grouped, key_address
from quizsvc.services import guess_brake, recovery_codes, typed_codes
from quizsvc.services.auditing import note
from quizsvc.services.guess_brake import LONGEST_SOURCE
from quizsvc.services.house import House
from quizsvc.services.security_events import Event, tell
from quizsvc.services.typed_codes import Matched, TypedCode
from quizsvc.store import held_back, people, people_pages, second_factors
from quizsvc.store.second_factors import StoredFactor

ISSUER = "quizsvc"


@dataclass(frozen=True, slots=True)
class Proof:
    """What somebody types to prove that it is they."""

    password: str
    typed: TypedCode


@dataclass(frozen=True, slots=True)
class Standing:
    """How it stands with one's second factor."""

    on_since: datetime | None
    codes_left: int
    begun: bool  # a secret was drawn and waits for its first code
    sign_in_name: str


@dataclass(frozen=True, slots=True)
class NewSecret:
    """A secret to be taken into an app: to scan, and in groups to type."""

    address: str
    groups: str


def standing(house: House, actor: Actor, *, now: datetime) -> Standing:
    with house.read() as connection:
        factor = second_factors.factor_of(connection, actor.person_id)
        left = second_factors.recovery_codes_left(connection, actor.person_id)
        name = _sign_in_name(connection, actor)
    on_since = factor.on_since if factor else None
    return Standing(on_since, left, _waits(factor, now), name)


def sits_a_test(house: House, actor: Actor) -> bool:
    """Return whether the actor sits a timed test, in which nothing hinders them."""
    with house.read() as connection:
        return held_back.sits_a_timed_test(connection, actor.person_id)


def begin(house: House, actor: Actor, *, now: datetime) -> None:
    """Draw a secret; it counts for nothing until a code from it was typed.

    Raises:
        ConflictError: a second factor is on.
    """
    drawn = typed_codes.draw_secret(house, actor.person_id)
    with house.write() as connection:
        if not second_factors.begin(connection, actor.person_id, drawn, now=now):
            raise _is_on()


def new_secret(house: House, actor: Actor, *, now: datetime) -> NewSecret | None:
    """Return the secret that waits for its first code, or None."""
    with house.read() as connection:
        factor = second_factors.factor_of(connection, actor.person_id)
        account = _sign_in_name(connection, actor) if factor else ""
    if factor is None or not _waits(factor, now):
        return None
    secret = typed_codes.secret_of(house, factor)
    host = urlsplit(house.settings.public_url).hostname or ""
    return NewSecret(
        key_address(secret, account=account, issuer=f"{ISSUER} {host}".strip()), grouped(secret)
    )


def turn_on(
    house: House, actor: Actor, proof: Proof, *, now: datetime, source: str
) -> tuple[str, ...]:
    """Let the secret count once a code from it is right; return the recovery codes.

    Raises:
        NotAllowedError: password and code are not both right.
        ConflictError: none was begun, or too long ago, or one is on.
    """
    factor, matched = _prove(house, actor, proof, now=now, source=source)
    if not _waits(factor, now):
        raise _is_on() if factor.on_since else _none_begun()
    codes, salt = recovery_codes.draw_codes(), recovery_codes.draw_salt()
    hashes = [recovery_codes.hashed(code, salt) for code in codes]
    if matched.step is None:
        tell(Event.CODE_FAILED, person=actor.person_id)
        raise _not_both()
    with house.write() as connection:
        if not second_factors.turn_on(
            connection,
            actor.person_id,
            sealed=factor.sealed,
            step=matched.step,
            salt=salt,
            now=now,
        ):
            raise _none_begun()
        second_factors.keep_recovery_codes(connection, actor.person_id, hashes, salt=salt)
        _forgive(connection, actor, source)
        note(connection, actor, Action.SECOND_FACTOR_ON, _subject(actor), now=now)
    tell(Event.SECOND_FACTOR_CHANGED, person=actor.person_id, to="on")
    return tuple(grouped(code, "-") for code in codes)


def renew_recovery_codes(
    house: House, actor: Actor, proof: Proof, *, now: datetime, source: str
) -> tuple[str, ...]:
    """Draw new recovery codes in place of the former ones, which count no more."""
    _, matched = _prove(house, actor, proof, now=now, source=source)
    codes, salt = recovery_codes.draw_codes(), recovery_codes.draw_salt()
    hashes = [recovery_codes.hashed(code, salt) for code in codes]
    with house.write() as connection:
        _use(connection, actor, matched, now)
        second_factors.keep_recovery_codes(connection, actor.person_id, hashes, salt=salt)
        _forgive(connection, actor, source)
        note(connection, actor, Action.RECOVERY_CODES_MADE, _subject(actor), now=now)
    tell(Event.SECOND_FACTOR_CHANGED, person=actor.person_id, to="new recovery codes")
    return tuple(grouped(code, "-") for code in codes)


def turn_off(house: House, actor: Actor, proof: Proof, *, now: datetime, source: str) -> None:
    """Do without a second factor from now on; its secret and recovery codes are gone."""
    _, matched = _prove(house, actor, proof, now=now, source=source)
    with house.write() as connection:
        _use(connection, actor, matched, now)
        second_factors.take_away(connection, actor.person_id)
        _forgive(connection, actor, source)
        note(connection, actor, Action.SECOND_FACTOR_OFF, _subject(actor), now=now)
    tell(Event.SECOND_FACTOR_CHANGED, person=actor.person_id, to="off")


def _prove(
    house: House, actor: Actor, proof: Proof, *, now: datetime, source: str
) -> tuple[StoredFactor, Matched]:
    """Check the password and match the code; both cost an attempt, whichever is wrong."""
    with house.write() as connection:
        factor = second_factors.factor_of(connection, actor.person_id)
        if factor is None:
            raise _none_begun()
        person = people.find_for_sign_in(connection, _sign_in_name(connection, actor))
        guess_brake.count_attempt(
            connection,
            _keys(actor, source),
            actor.person_id,
            source[:LONGEST_SOURCE],
            limits=guessing.CODES,
            now=now,
        )
    if not house.passwords.matches(proof.password, person.password_hash if person else None):
        tell(Event.PASSWORD_REFUSED, person=actor.person_id)
        raise _not_both()
    return factor, typed_codes.match(house, factor, proof.typed, now=now)


def _use(connection: Connection, actor: Actor, matched: Matched, now: datetime) -> None:
    try:
        typed_codes.use(connection, actor.person_id, matched, shop_id=actor.shop_id, now=now)
    except NotAllowedError:
        raise _not_both() from None


def _forgive(connection: Connection, actor: Actor, source: str) -> None:
    guess_brake.forgive(connection, _keys(actor, source))


def _keys(actor: Actor, source: str) -> guessing.Keys:
    # No sign-in name has capitals in it, so that nobody's failed sign-ins are counted here.
    return guessing.keys_of(f"PROOF {actor.person_id}", source[:LONGEST_SOURCE])


def _waits(factor: StoredFactor | None, now: datetime) -> bool:
    return (
        factor is not None
        and factor.on_since is None
        and factor.begun_at <= now < factor.begun_at + SET_UP_FOR
    )


def _sign_in_name(connection: Connection, actor: Actor) -> str:
    rows = people_pages.people_of(connection, actor.shop_id, person_id=actor.person_id)
    return (rows[0].sign_in_name or "") if rows else ""


def _subject(actor: Actor) -> str:
    return f"person {actor.person_id}"


def _not_both() -> NotAllowedError:
    return NotAllowedError(
        "password and code are not both right.",
        field="code",
        remedy="Nothing was changed. Each code counts once: wait for the next one.",
    )


def _is_on() -> ConflictError:
    return ConflictError(
        "your second factor is on already.",
        field="second factor",
        value="on",
        remedy="Turn it off first to set up another phone.",
    )


def _none_begun() -> ConflictError:
    return ConflictError(
        "there is no second factor waiting to be turned on.",
        field="second factor",
        value="none begun",
        remedy="Begin anew: a secret that was shown counts for half an hour.",
    )
