"""Codes as people type them: matched outside of a transaction, used up within one."""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection

from quizsvc.errors import NotAllowedError
from quizsvc.rules.audit import Action
from quizsvc.rules.second_factor import SECRET_BYTES, as_letters, matching_step, plain_recovery_code
from quizsvc.services import recovery_codes
from quizsvc.services.auditing import note
from quizsvc.services.house import House
from quizsvc.services.sealing import opened, sealed
from quizsvc.services.security_events import Event, tell
from quizsvc.store import second_factors
from quizsvc.store.second_factors import StoredFactor

SEALED_AS = "second factors"


@dataclass(frozen=True, slots=True)
class TypedCode:
    """A code from an app, or a recovery code in its place."""

    code: str = ""
    recovery: str = ""


@dataclass(frozen=True, slots=True)
class Matched:
    """What a typed code may stand for; whether it still counts shows when it is used."""

    step: int | None = None
    code_hash: str | None = None


def draw_secret(house: House, person_id: int) -> str:
    """Return a new secret, sealed for its owner."""
    secret = as_letters(secrets.token_bytes(SECRET_BYTES))
    return sealed(house, SEALED_AS, _owner(person_id), secret)


def secret_of(house: House, factor: StoredFactor) -> str:
    return opened(
        house,
        SEALED_AS,
        _owner(factor.person_id),
        factor.sealed,
        what="the secret of this second factor",
        otherwise="let the second factor be reset",
    )


def match(house: House, factor: StoredFactor, typed: TypedCode, *, now: datetime) -> Matched:
    """Compare a typed code with what it should be; a recovery code only costs a slow hash."""
    if typed.recovery.strip() and factor.salt is not None:
        code = plain_recovery_code(typed.recovery)
        return Matched(code_hash=recovery_codes.hashed(code, factor.salt))
    return Matched(step=matching_step(secret_of(house, factor), typed.code, now=now))


def use(
    connection: Connection, person_id: int, matched: Matched, *, shop_id: int | None, now: datetime
) -> None:
    """Use a code up.

    Raises:
        NotAllowedError: it is wrong, or was used before; never says which.
    """
    if matched.code_hash is not None:
        used = second_factors.use_recovery_code(connection, person_id, matched.code_hash, now=now)
        if used:
            left = second_factors.recovery_codes_left(connection, person_id)
            subject = f"person {person_id}"
            note(
                connection,
                None,
                Action.RECOVERY_CODE_USED,
                subject,
                now=now,
                shop_id=shop_id,
                left=left,
            )
    else:
        step = matched.step
        used = step is not None and second_factors.use_step(connection, person_id, step)
    if not used:
        tell(Event.CODE_FAILED, person=person_id)
        raise wrong_code()


def wrong_code() -> NotAllowedError:
    return NotAllowedError(
        "this code does not count.",
        field="code",
        remedy="Each code counts once. Wait for the next one, and check the clock of the phone.",
    )


def _owner(person_id: int) -> str:
    return f"person {person_id}"
