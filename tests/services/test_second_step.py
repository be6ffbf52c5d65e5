"""Signing in with a code: nothing is open before it, it counts once, and guessing is braked."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from threading import Thread

import pytest
from second_steps import (
    ELSEWHERE,
    HERE,
    STEP,
    code_of,
    finish,
    half_way,
    light_hashes,
    turned_on,
    wrong_code_of,
)
from sqlalchemy import text, update
from workshop import NOON, PASSWORD

from quizsvc.errors import NotAllowedError, NotFoundError, UnavailableError
from quizsvc.rules.actors import Role
from quizsvc.services import accounts, auditing, invite, second_step
from quizsvc.store import second_factors
from quizsvc.store.people import Person
from quizsvc.store.second_factors import HalfSignedIn

LATER = NOON + timedelta(minutes=10)
ANEW = "a vice below the window"


pytestmark = pytest.mark.usefixtures("codes")
__all__ = ["light_hashes"]  # a fixture


@pytest.fixture
def codes(house, ana) -> tuple[str, ...]:
    """Ana has a second factor; these are her recovery codes."""
    return turned_on(house, ana)


def count(house, table: str) -> int:
    with house.read() as connection:
        return connection.execute(text(f"SELECT count(*) FROM {table}")).scalar_one()  # noqa: S608


def actions(house) -> list[str]:
    with house.read() as connection:
        rows = connection.execute(text("SELECT action FROM audit_entry ORDER BY number"))
        return list(rows.scalars())


def test_without_a_second_factor_the_password_alone_opens_a_session(house):
    token = accounts.sign_in(house, "ben", PASSWORD, now=NOON, source=HERE)

    assert accounts.actor_for_token(house, token, now=NOON)


def test_with_one_the_right_password_opens_nothing_yet(house):
    token = half_way(house, now=LATER)

    assert count(house, "signed_in") == 0
    assert accounts.actor_for_token(house, token, now=LATER) is None


def test_password_and_code_together_open_a_session(house, ana):
    token = half_way(house, now=LATER)

    session = finish(house, token, code_of(house, ana, LATER), now=LATER)

    assert accounts.actor_for_token(house, session, now=LATER).person_id == ana.person_id


def test_half_a_sign_in_makes_one_session_at_most(house, ana):
    token = half_way(house, now=LATER)
    finish(house, token, code_of(house, ana, LATER), now=LATER)

    next_step = LATER + STEP
    with pytest.raises(NotFoundError, match="waited too long"):
        finish(house, token, code_of(house, ana, next_step), now=next_step)
    assert count(house, "signed_in") == 1


def test_half_a_sign_in_ends_after_five_minutes(house, ana):
    token = half_way(house, now=LATER)

    assert second_step.is_half_way(house, token, now=LATER + timedelta(minutes=4, seconds=59))
    over = LATER + timedelta(minutes=5)
    assert not second_step.is_half_way(house, token, now=over)
    with pytest.raises(NotFoundError):
        finish(house, token, code_of(house, ana, over), now=over)


@pytest.mark.parametrize("token", ["", "x" * 43, "y" * 5000])
def test_without_the_browsers_token_no_code_helps(house, ana, token):
    half_way(house, now=LATER)

    with pytest.raises(NotFoundError):
        finish(house, token, code_of(house, ana, LATER), now=LATER)


def test_only_the_hash_of_the_token_is_stored(house):
    token = half_way(house, now=LATER)

    with house.read() as connection:
        (stored,) = connection.execute(text("SELECT token_hash FROM half_signed_in")).scalars()
    assert token not in stored


@pytest.mark.parametrize("steps", [-1, 0, 1])
def test_a_phone_may_be_one_step_slow_or_fast(house, ana, steps):
    token = half_way(house, now=LATER)

    assert finish(house, token, code_of(house, ana, LATER + steps * STEP), now=LATER)


@pytest.mark.parametrize("steps", [-2, 2])
def test_two_steps_are_too_far(house, ana, steps):
    token = half_way(house, now=LATER)

    with pytest.raises(NotAllowedError):
        finish(house, token, code_of(house, ana, LATER + steps * STEP), now=LATER)


def test_a_code_counts_once_and_none_before_it_counts_any_more(house, ana):
    code = code_of(house, ana, LATER)
    finish(house, half_way(house, now=LATER), code, now=LATER)

    for seen in (code, code_of(house, ana, LATER - STEP)):
        with pytest.raises(NotAllowedError, match="does not count"):
            finish(house, half_way(house, now=LATER), seen, now=LATER)
    soon = LATER + STEP
    assert finish(house, half_way(house, now=soon), code_of(house, ana, soon), now=soon)


def test_the_code_that_turned_it_on_signs_nobody_in(house, ana):
    token = half_way(house, now=NOON)

    with pytest.raises(NotAllowedError):
        finish(house, token, code_of(house, ana, NOON), now=NOON)


def test_of_two_sign_ins_with_one_code_at_once_one_gets_in(house, ana):
    code, tokens = code_of(house, ana, LATER), [half_way(house, now=LATER) for _ in range(4)]
    came = []

    def try_it(token):
        try:
            came.append(finish(house, token, code, now=LATER))
        except NotAllowedError:
            came.append(None)

    threads = [Thread(target=try_it, args=(token,)) for token in tokens]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len([session for session in came if session]) == 1
    assert count(house, "signed_in") == 1


def test_wrong_used_and_misshapen_codes_are_refused_in_the_same_words(house, ana, codes):
    recovery = codes[0]
    used = code_of(house, ana, LATER)
    finish(house, half_way(house, now=LATER), used, now=LATER)
    soon = LATER + STEP
    finish(house, half_way(house, now=soon), recovery=recovery, now=soon)
    said = set()
    for attempt in (
        {"code": used},
        {"code": "12"},
        {"code": ""},
        {"recovery": recovery},
        {"recovery": "AAAA-BBBB-CCCC-DDDD"},
        {"recovery": "no such thing"},
    ):
        token = half_way(house, now=soon)
        source = HERE if "recovery" in attempt else ELSEWHERE
        with pytest.raises(NotAllowedError) as refusal:
            finish(house, token, **attempt, now=soon, source=source)
        said.add(str(refusal.value))

    assert len(said) == 1


def test_a_recovery_code_stands_in_once_and_that_is_noted(house, codes):
    token = half_way(house, now=LATER)
    session = finish(house, token, recovery=codes[3].lower().replace("-", " "), now=LATER)

    assert accounts.actor_for_token(house, session, now=LATER)
    with pytest.raises(NotAllowedError):
        finish(house, half_way(house, now=LATER), recovery=codes[3], now=LATER)
    assert finish(house, half_way(house, now=LATER), recovery=codes[4], now=LATER)
    assert actions(house).count("recovery code used") == 2
    assert auditing.broken_at(house) is None


def fail(house, ana, times: int, *, source=HERE, now=LATER) -> None:
    for _ in range(times):
        token, code = half_way(house, now=now, source=source), wrong_code_of(house, ana, now)
        with pytest.raises(NotAllowedError):
            finish(house, token, code, now=now, source=source)


def test_five_wrong_codes_close_the_way_for_a_quarter_of_an_hour(house, ana):
    fail(house, ana, 5)
    token = half_way(house, now=LATER)

    with pytest.raises(UnavailableError, match="in 15 minutes"):
        finish(house, token, code_of(house, ana, LATER), now=LATER)
    assert "many wrong codes after a right password" in actions(house)
    after = LATER + timedelta(minutes=16)
    assert finish(house, half_way(house, now=after), code_of(house, ana, after), now=after)


def test_a_right_password_between_does_not_forgive_wrong_codes(house, ana):
    """Else whoever has the password would have as many codes as they like."""
    for _ in range(5):
        half_way(house, now=LATER)
        fail(house, ana, 1)

    with pytest.raises(UnavailableError):
        finish(house, half_way(house, now=LATER), code_of(house, ana, LATER), now=LATER)


def test_ten_wrong_codes_from_anywhere_close_it_but_not_where_the_owner_signs_in(house, ana):
    finish(house, half_way(house, now=LATER), code_of(house, ana, LATER), now=LATER)
    for n in range(2):
        fail(house, ana, 5, source=f"198.51.100.{n}")

    soon = LATER + STEP
    token, code = half_way(house, now=soon, source="203.0.113.9"), code_of(house, ana, soon)
    with pytest.raises(UnavailableError):
        finish(house, token, code, now=soon, source="203.0.113.9")
    assert finish(house, half_way(house, now=soon), code_of(house, ana, soon), now=soon)


def test_parallel_guesses_all_count(house, monkeypatch):
    tried = []
    monkeypatch.setattr(second_step.typed_codes, "match", lambda *_, **__: _nothing(tried))
    tokens = [half_way(house, now=LATER) for _ in range(12)]

    def guess(token):
        with pytest.raises((NotAllowedError, UnavailableError)):
            finish(house, token, "123456", now=LATER)

    threads = [Thread(target=guess, args=(token,)) for token in tokens]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert len(tried) == 5


def _nothing(tried: list[int]):
    tried.append(1)
    return second_step.typed_codes.Matched()


def test_a_deactivated_person_gets_no_further(house, ana):
    token = half_way(house, now=LATER)
    with house.write() as connection:
        connection.execute(update(Person).where(Person.id == ana.person_id).values(active=False))

    with pytest.raises(NotFoundError):
        finish(house, token, code_of(house, ana, LATER), now=LATER)


def test_a_link_for_a_forgotten_password_leaves_the_second_factor_on(house, ana, workshop):
    """OWASP ASVS 5.0, 6.4.3: a reset password goes round no second factor."""
    chief = replace(workshop.people["max"], roles=frozenset({Role.ADMINISTRATOR}))
    waiting = half_way(house, now=LATER)
    wanted = invite.Wanted("Ana", Role.LEARNER, person_id=ana.person_id)
    link = invite.invite(house, chief, wanted, now=LATER)
    invite.join_new(house, link, name="", sign_in_name="", password=ANEW, now=LATER)

    half = accounts.sign_in(house, "ana", ANEW, now=LATER, source=HERE)

    assert isinstance(half, second_step.HalfWay)
    code = code_of(house, ana, LATER)
    with pytest.raises(NotFoundError):  # what awaited a code by the former password is over
        finish(house, waiting, code, now=LATER)
    assert finish(house, half.token, code, now=LATER)


def test_under_another_secret_key_it_says_what_to_do_and_lets_nobody_in(house, ana):
    token, code = half_way(house, now=LATER), code_of(house, ana, LATER)
    house.settings = type(house.settings)(
        house.settings.instance, house.settings.database_url, secret_key="y" * 64
    )

    with pytest.raises(UnavailableError, match="another secret key"):
        finish(house, token, code, now=LATER)
    assert count(house, "signed_in") == 0


def test_halves_that_are_over_are_swept_up(house):
    half_way(house, now=LATER)
    half_way(house, now=LATER + timedelta(minutes=6), source=ELSEWHERE)

    with house.read() as connection:
        halves = connection.execute(second_factors.select(HalfSignedIn.token_hash)).all()
    assert len(halves) == 1
