"""What tests of the second factor do again and again."""

from __future__ import annotations

from datetime import datetime, timedelta
from hashlib import sha256

import pytest
from workshop import NOON, PASSWORD

from quizsvc.rules.second_factor import code_at, step_at
from quizsvc.services import accounts, recovery_codes, second_factor, second_step, typed_codes
from quizsvc.services.second_factor import Proof
from quizsvc.services.typed_codes import TypedCode
from quizsvc.store import second_factors

HERE, ELSEWHERE = "192.0.2.10", "198.51.100.7"  # documentation addresses, RFC 5737
STEP = timedelta(seconds=30)


@pytest.fixture(autouse=True)  # in modules that import it
def light_hashes(monkeypatch) -> None:
    """Hash recovery codes fast: the slow hash has tests of its own, and the browser's use it."""
    monkeypatch.setattr(
        recovery_codes, "hashed", lambda code, salt: sha256(f"{salt}{code}".encode()).hexdigest()
    )


def code_of(house, actor, now: datetime) -> str:
    """Return what the person's app shows."""
    with house.read() as connection:
        factor = second_factors.factor_of(connection, actor.person_id)
    return code_at(typed_codes.secret_of(house, factor), step_at(now))


def wrong_code_of(house, actor, now: datetime) -> str:
    """Return six digits that no step near by has."""
    near = {code_of(house, actor, now + steps * STEP) for steps in range(-3, 4)}
    return next(text for text in (f"{n:06}" for n in range(20)) if text not in near)


def proof(house, actor, now: datetime, *, password=PASSWORD, code=None, recovery="") -> Proof:
    code = code_of(house, actor, now) if code is None else code
    return Proof(password, TypedCode(code, recovery))


def turned_on(house, actor, *, now: datetime = NOON) -> tuple[str, ...]:
    """Set a second factor up as its owner would; return the recovery codes."""
    second_factor.begin(house, actor, now=now)
    shown = proof(house, actor, now)
    return second_factor.turn_on(house, actor, shown, now=now, source=HERE)


def half_way(house, name="ana", *, now: datetime, source=HERE) -> str:
    """Sign in by password; return the token that awaits a code."""
    half = accounts.sign_in(house, name, PASSWORD, now=now, source=source)
    assert isinstance(half, second_step.HalfWay)
    return half.token


def finish(house, token, code="", *, recovery="", now: datetime, source=HERE) -> str:
    return second_step.finish(house, token, TypedCode(code, recovery), now=now, source=source)
