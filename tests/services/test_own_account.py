"""One's own password and sessions, and ending those of others."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from sqlalchemy import func, select
from workshop import NOON, PASSWORD, open_house

from quizsvc.errors import (
    ConflictError,
    InputError,
    NotAllowedError,
    NotFoundError,
    UnavailableError,
)
from quizsvc.rules.actors import Role
from quizsvc.services import accounts, invite, own_account
from quizsvc.services.invite import Wanted
from quizsvc.services.passwords import LONGEST
from quizsvc.store import people
from quizsvc.store.audit import AuditEntry

HERE = "192.0.2.10"  # documentation address, RFC 5737
NEW = "seven hens behind a fence"


def sign_in(house, name="ana", password=PASSWORD, now=NOON):
    return accounts.sign_in(house, name, password, now=now, source=HERE)


def change(house, who, *, present=PASSWORD, wanted=NEW, now=NOON):
    return own_account.change_password(
        house, who, present=present, wanted=wanted, now=now, source=HERE
    )


def end(house, who, token, which, *, present=PASSWORD, now=NOON):
    own_account.end_sessions(house, who, token, which, present=present, now=now, source=HERE)


def entries(house, action: str) -> int:
    with house.read() as connection:
        return connection.scalar(
            select(func.count()).select_from(AuditEntry).where(AuditEntry.action == action)
        )


def is_in(house, token, now=NOON) -> bool:
    return accounts.actor_for_token(house, token, now=now) is not None


def test_a_new_installation_has_nobody_who_could_sign_in(empty_database, tmp_path):
    fresh = open_house(empty_database, tmp_path, upgrade=True)
    with fresh.read() as connection:
        assert connection.scalar(select(func.count()).select_from(people.Person)) == 0
    for name in ("admin", "administrator", "root", "quizsvc", "demo"):
        with pytest.raises(NotAllowedError):
            sign_in(fresh, name, name)
    fresh.close()


def test_a_changed_password_ends_every_session_and_begins_one(house, ana):
    here, elsewhere = sign_in(house), sign_in(house)

    new = change(house, ana)

    assert [is_in(house, one) for one in (here, elsewhere, new)] == [False, False, True]
    assert sign_in(house, password=NEW)
    with pytest.raises(NotAllowedError):
        sign_in(house)
    assert entries(house, "password changed") == 1


def test_the_present_password_is_asked_and_guessing_it_is_braked(house, ana):
    for _ in range(8):
        with pytest.raises(NotAllowedError, match="not your present password"):
            change(house, ana, present="a guess of mine")
    with pytest.raises(UnavailableError, match="too many"):
        change(house, ana)

    assert sign_in(house)
    assert entries(house, "password changed") == 0


@pytest.mark.parametrize(
    ("wanted", "words"),
    [
        ("too short", "from 10 to 200 characters"),
        ("x" * (LONGEST + 1), "from 10 to 200 characters"),
        ("qwertyuiop", "found in leaks"),
        ("Password123", "found in leaks"),
        ("PASSWORD123", "found in leaks"),
        ("ana ana ana ana", "little more than names"),
        ("InventedWorkshop7", "little more than names"),
        ("timing-chain-42", "little more than names"),
    ],
)
def test_a_password_that_is_tried_first_is_refused(house, ana, wanted, words):
    token, actor = sign_in(house), replace(ana, shop_name="Invented Workshop")

    with pytest.raises(InputError, match=words) as refused:
        change(house, actor, wanted=wanted)

    assert wanted not in str(refused.value)
    assert is_in(house, token)


@pytest.mark.parametrize(
    "wanted",
    [
        "häuser im schnee ohne dach",
        "冬の山に雪が降る夜の静かな家",
        "🙂 tea and 🍞 bread",
        "8401736295 x",
        " two spaces  inside ",
        "y z" * 66,
    ],
)
def test_any_characters_and_any_mixture_will_do(house, ana, wanted):
    change(house, ana, wanted=wanted)

    assert sign_in(house, password=wanted)
    with pytest.raises(NotAllowedError):
        sign_in(house, password=wanted.upper() if wanted.upper() != wanted else wanted + "x")


def test_one_sees_where_one_is_signed_in_and_ends_one_or_all_others(house, ana):
    first = sign_in(house)
    later = NOON + timedelta(minutes=10)
    second, third = sign_in(house, now=later), sign_in(house, now=later)

    seen = own_account.own_sessions(house, ana, second, now=later)
    assert [one.here for one in seen].count(True) == 1
    assert {one.address for one in seen} == {HERE}
    old = next(one for one in seen if one.begun_at == NOON)
    assert first not in old.handle

    end(house, ana, second, old.handle, now=later)
    assert [is_in(house, one, later) for one in (first, second, third)] == [False, True, True]

    end(house, ana, second, own_account.ALL_OTHERS, now=later)
    assert [is_in(house, one, later) for one in (first, second, third)] == [False, True, False]
    assert len(own_account.own_sessions(house, ana, second, now=later)) == 1


def test_sessions_are_ended_by_password_only_and_only_ones_own(house, workshop, ana):
    token, other = sign_in(house), sign_in(house, "ben")
    (bens,) = own_account.own_sessions(house, workshop.people["ben"], other, now=NOON)

    with pytest.raises(NotAllowedError):
        end(house, ana, token, own_account.ALL_OTHERS, present="a guess of mine")
    with pytest.raises(NotFoundError):
        end(house, ana, token, bens.handle)

    assert is_in(house, other)


def test_whoever_keeps_people_signs_one_of_them_out_everywhere(house, workshop, ana):
    token = sign_in(house)

    own_account.end_sessions_of(house, workshop.people["max"], ana.person_id, now=NOON)

    assert not is_in(house, token)
    assert sign_in(house)
    assert entries(house, "sessions ended") == 1
    for name, error in (("ida", NotAllowedError), ("max", NotFoundError)):
        subject = workshop.people["oda" if name == "max" else "ana"].person_id
        with pytest.raises(error):
            own_account.end_sessions_of(house, workshop.people[name], subject, now=NOON)


def test_an_administrator_signs_everybody_of_the_shop_out_and_nobody_else(
    house, workshop, administrator
):
    here, there = sign_in(house), sign_in(house, "oda")
    with pytest.raises(NotAllowedError):
        own_account.end_sessions_of_all(house, workshop.people["max"], now=NOON)

    own_account.end_sessions_of_all(house, administrator, now=NOON)

    assert not is_in(house, here)
    assert is_in(house, there)


@pytest.fixture
def administrator(workshop):
    return replace(workshop.people["max"], roles=frozenset({Role.ADMINISTRATOR}))


def link(house, who, person, now=NOON):
    return invite.invite(house, who, Wanted("Ana", Role.LEARNER, None, person, 14), now=now)


def choose(house, token, *, password=NEW, now=NOON):
    invite.join_new(house, token, name="", sign_in_name="", password=password, now=now)


def test_a_forgotten_password_is_chosen_anew_by_a_link_that_works_once(house, administrator, ana):
    session, token = sign_in(house), link(house, administrator, ana.person_id)

    choose(house, token)

    assert not is_in(house, session)
    assert sign_in(house, password=NEW)
    assert entries(house, "password changed") == 1
    with pytest.raises(NotFoundError):
        choose(house, token, password="eight hens behind a fence")


def test_such_a_link_ends_within_a_day_and_with_the_next_one(house, administrator, ana):
    first = link(house, administrator, ana.person_id)
    second = link(house, administrator, ana.person_id)

    for token, now in ((first, NOON), (second, NOON + timedelta(days=1))):
        with pytest.raises(NotFoundError):
            choose(house, token, now=now)
    assert sign_in(house)


def test_only_an_administrator_makes_such_a_link_and_never_for_themselves(
    house, workshop, administrator, ana
):
    with pytest.raises(NotAllowedError, match="choose a forgotten password anew"):
        link(house, workshop.people["max"], ana.person_id)
    with pytest.raises(ConflictError, match="you have a password"):
        link(house, administrator, administrator.person_id)
    with pytest.raises(NotFoundError):
        link(house, administrator, workshop.people["oda"].person_id)


def test_nobody_resets_a_password_that_another_shop_relies_on_too(
    house, workshop, administrator, ana
):
    with house.write() as connection:
        there = workshop.people["oda"].shop_id
        people.add_roles(connection, ana.person_id, there, [Role.LEARNER], now=NOON)

    with pytest.raises(ConflictError, match="another shop too"):
        link(house, administrator, ana.person_id)
