"""Signing in and out, and the brake on guessing."""

from __future__ import annotations

from datetime import timedelta
from statistics import median
from threading import Thread
from time import perf_counter

import pytest
from argon2 import PasswordHasher
from sqlalchemy import delete, select, text, update
from workshop import NOON, PASSWORD

from quizsvc.errors import NotAllowedError, UnavailableError
from quizsvc.rules.actors import Role
from quizsvc.services import accounts
from quizsvc.store.people import Membership, Person
from quizsvc.store.sessions import SignedIn

HERE = "192.0.2.10"  # documentation addresses, RFC 5737
ELSEWHERE = "198.51.100.7"


def sign_in(house, name="ana", password=PASSWORD, *, now=NOON, source=HERE):
    return accounts.sign_in(house, name, password, now=now, source=source)


def fail(house, times: int, *, name="ana", source=HERE, now=NOON) -> None:
    for _ in range(times):
        with pytest.raises(NotAllowedError):
            sign_in(house, name, "not this one", source=source, now=now)


def test_the_right_password_opens_a_session_for_the_person_and_shop(house, ana):
    token = sign_in(house)

    actor = accounts.actor_for_token(house, token, now=NOON)

    assert actor.person_id == ana.person_id
    assert actor.roles == {Role.LEARNER}
    assert actor.shop_name == "Invented Workshop"


@pytest.mark.parametrize("name", ["ANA", "  ana ", "Ana"])
def test_case_and_spaces_around_the_name_do_not_matter(house, name):
    assert sign_in(house, name)


@pytest.mark.parametrize(("name", "password"), [("ana", "wrong"), ("nobody", PASSWORD), ("", "")])
def test_a_refusal_does_not_say_whether_the_name_exists(house, name, password):
    with pytest.raises(NotAllowedError, match="name and password do not go together"):
        sign_in(house, name, password)


def test_a_password_with_more_behind_it_is_another_password(house, ana):
    longest = "a word " * 28 + "abcd"  # 200 characters, the most there may be
    with house.write() as connection:
        held = update(Person).where(Person.id == ana.person_id)
        connection.execute(held.values(password_hash=house.passwords.hashed(longest)))

    with pytest.raises(NotAllowedError):
        sign_in(house, password=longest + "x")
    assert sign_in(house, password=longest)


def test_a_hash_by_older_parameters_is_renewed_at_the_next_sign_in(house, ana):
    older = PasswordHasher(time_cost=1, memory_cost=8 * 1024, parallelism=1).hash(PASSWORD)
    with house.write() as connection:
        held = update(Person).where(Person.id == ana.person_id)
        connection.execute(held.values(password_hash=older))

    with pytest.raises(NotAllowedError):
        sign_in(house, password="not this one")
    assert stored_hash(house, ana) == older
    assert sign_in(house)
    newer = stored_hash(house, ana)
    assert "m=19456,t=2,p=1" in newer
    assert sign_in(house)
    assert stored_hash(house, ana) == newer


def stored_hash(house, who) -> str:
    with house.read() as connection:
        return connection.scalar(select(Person.password_hash).where(Person.id == who.person_id))


def test_only_the_hash_of_a_token_is_stored(house):
    token = sign_in(house)

    with house.read() as connection:
        stored = connection.execute(select(SignedIn.token_hash)).scalar_one()

    assert len(token) >= 43
    assert token not in stored


def test_every_sign_in_gets_a_new_session(house):
    assert sign_in(house) != sign_in(house)


def test_signing_out_ends_the_session_on_the_server_at_once(house):
    token, other = sign_in(house), sign_in(house)

    accounts.sign_out(house, token, now=NOON)

    assert accounts.actor_for_token(house, token, now=NOON) is None
    assert accounts.actor_for_token(house, other, now=NOON)


@pytest.mark.parametrize("token", ["", "nonsense", "x" * 5000])
def test_a_token_that_is_none_belongs_to_nobody(house, token):
    accounts.sign_out(house, token, now=NOON)

    assert accounts.actor_for_token(house, token, now=NOON) is None


def test_a_session_ends_by_itself_after_the_stated_hours(house):
    token = sign_in(house)

    for hours in range(1, 12):  # in use all the time
        assert accounts.actor_for_token(house, token, now=NOON + timedelta(hours=hours))
    assert accounts.actor_for_token(house, token, now=NOON + timedelta(hours=11, minutes=59))
    assert accounts.actor_for_token(house, token, now=NOON + timedelta(hours=12)) is None


def test_a_session_left_alone_ends_earlier(house):
    token = sign_in(house)

    used_late = NOON + timedelta(minutes=119)
    assert accounts.actor_for_token(house, token, now=used_late)
    assert accounts.actor_for_token(house, token, now=used_late + timedelta(minutes=119))
    assert accounts.actor_for_token(house, token, now=used_late + timedelta(minutes=239)) is None


def test_use_is_noted_now_and_then_only_and_where_it_cannot_be_pages_are_still_read(
    house, monkeypatch
):
    token, tried = sign_in(house), []

    def fail(work):
        tried.append(work)
        raise UnavailableError("the disk is full.")

    monkeypatch.setattr(house, "write_together", fail)

    assert accounts.actor_for_token(house, token, now=NOON + timedelta(minutes=4))
    assert not tried
    assert accounts.actor_for_token(house, token, now=NOON + timedelta(minutes=6))
    assert tried


def test_a_role_taken_away_counts_at_the_next_request(house, ana):
    token = sign_in(house)
    with house.write() as connection:
        connection.execute(delete(Membership).where(Membership.person_id == ana.person_id))

    assert accounts.actor_for_token(house, token, now=NOON) is None


def test_a_deactivated_person_is_out_at_once_and_cannot_return(house, ana):
    token = sign_in(house)
    with house.write() as connection:
        connection.execute(update(Person).where(Person.id == ana.person_id).values(active=False))

    assert accounts.actor_for_token(house, token, now=NOON) is None
    with pytest.raises(NotAllowedError, match="do not go together"):
        sign_in(house)


def test_somebody_without_a_shop_is_told_whom_to_ask(house, ana):
    with house.write() as connection:
        connection.execute(delete(Membership).where(Membership.person_id == ana.person_id))

    with pytest.raises(NotAllowedError, match="manager"):
        sign_in(house)


def test_eight_failures_close_the_account_from_that_address_for_a_quarter_of_an_hour(house):
    fail(house, 8)

    with pytest.raises(UnavailableError, match="in 15 minutes"):
        sign_in(house)
    with pytest.raises(UnavailableError, match="in a minute"):
        sign_in(house, now=NOON + timedelta(minutes=14, seconds=30))
    assert sign_in(house, now=NOON + timedelta(minutes=15, seconds=1))


def test_guesses_from_elsewhere_do_not_lock_the_owner_out_of_a_known_address(house):
    sign_in(house, source=HERE)
    for n in range(5):
        fail(house, 8, source=f"198.51.100.{n}")

    with pytest.raises(UnavailableError):
        sign_in(house, source="203.0.113.1")
    assert sign_in(house, source=HERE)


def test_one_who_forgot_a_password_does_not_stop_the_class_behind_the_same_address(house):
    fail(house, 8, name="ben")

    assert sign_in(house, "ana")


def test_a_success_clears_the_failures_of_that_person_there(house):
    fail(house, 7)
    sign_in(house)

    fail(house, 7)

    assert sign_in(house)


def test_one_address_trying_many_names_is_stopped(house, monkeypatch):
    monkeypatch.setattr(house.passwords, "matches", lambda *_: False)
    for n in range(300):
        with pytest.raises(NotAllowedError):
            sign_in(house, f"name{n}", source=ELSEWHERE)

    with pytest.raises(UnavailableError):
        sign_in(house, "ana", source=ELSEWHERE)


def test_parallel_guesses_all_count(house, monkeypatch):
    checked = []
    monkeypatch.setattr(house.passwords, "matches", lambda *_: bool(checked.append(1)))

    def guess() -> None:
        with pytest.raises((NotAllowedError, UnavailableError)):
            sign_in(house, password="guess")

    threads = [Thread(target=guess) for _ in range(20)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert len(checked) == 8


def test_an_unknown_name_costs_the_same_password_check(house, monkeypatch):
    """The work is the same by construction; the times are compared only very roughly."""
    hashed = []
    real = house.passwords.matches
    monkeypatch.setattr(
        house.passwords, "matches", lambda *given: hashed.append(given) or real(*given)
    )

    def seconds(name: str) -> float:
        begun = perf_counter()
        with pytest.raises(NotAllowedError):
            sign_in(house, name, "guess")
        return perf_counter() - begun

    known = median(seconds("ana") for _ in range(5))
    unknown = median(seconds(f"nobody{n}") for n in range(5))

    assert len(hashed) == 10
    assert unknown > known / 4


def test_old_sessions_and_counts_are_swept_up(house):
    sign_in(house)
    fail(house, 1, name="ben")

    sign_in(house, now=NOON + timedelta(days=120))

    with house.read() as connection:
        assert connection.execute(text("SELECT count(*) FROM signed_in")).scalar_one() == 1
        names = connection.execute(text("SELECT count(*) FROM sign_in_failures")).scalar_one()
    assert names == 3  # account, source and both of the latest sign-in, back at zero


def test_a_clock_set_back_signs_nobody_out(house, ana):
    token = sign_in(house, now=NOON)

    actor = accounts.actor_for_token(house, token, now=NOON - timedelta(hours=1))

    assert actor.person_id == ana.person_id


def test_many_sign_ins_of_one_person_from_one_place_at_once_all_get_in(house):
    came, troubles = [], []

    def try_it():
        try:
            came.append(sign_in(house))
        except Exception as trouble:  # noqa: BLE001 - shown below
            troubles.append(trouble)

    threads = [Thread(target=try_it) for _ in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert troubles == []
    assert len(set(came)) == 6
