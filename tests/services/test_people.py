"""Adding people and shops."""

from __future__ import annotations

import pytest
from argon2 import extract_parameters
from sqlalchemy import text
from workshop import NOON, PASSWORD, hashed_password

from quizsvc.errors import ConflictError, InputError, NotAllowedError
from quizsvc.rules.actors import Role
from quizsvc.services import accounts, people
from quizsvc.services.passwords import _HASHER, _NOBODY
from quizsvc.services.people import NewPerson


def newcomer(**change) -> NewPerson:
    stated = {
        "name": "Eva  Invented ",
        "sign_in_name": " Eva ",
        "password_hash": hashed_password(),
        "roles": {Role.LEARNER, Role.INSTRUCTOR},
    }
    return NewPerson(**(stated | change))


def test_a_manager_adds_a_person_who_can_sign_in_with_all_roles(house, workshop):
    people.add_person(house, workshop.people["max"], newcomer(), now=NOON)

    token = accounts.sign_in(house, "eva", PASSWORD, now=NOON, source="192.0.2.1")
    actor = accounts.actor_for_token(house, token, now=NOON)

    assert actor.name == "Eva Invented"
    assert actor.roles == {Role.LEARNER, Role.INSTRUCTOR}
    assert actor.shop_id == workshop.shop_id


def test_the_audit_log_names_no_person_but_by_key(house, workshop):
    key = people.add_person(house, workshop.people["max"], newcomer(), now=NOON)

    with house.read() as connection:
        entry = connection.execute(
            text("SELECT subject, detail, actor_id FROM audit_entry ORDER BY number DESC LIMIT 1")
        ).one()
    assert entry.subject == f"person {key}"
    assert entry.detail == '{"roles":["instructor","learner"]}'
    assert entry.actor_id == workshop.people["max"].person_id


@pytest.mark.parametrize("name", ["ana", "ida"])
def test_learners_and_instructors_add_nobody(house, workshop, name):
    with pytest.raises(NotAllowedError):
        people.add_person(house, workshop.people[name], newcomer(), now=NOON)


@pytest.mark.parametrize("taken", ["ana", "ANA", " Ana "])
def test_a_sign_in_name_is_taken_once_whatever_its_case(house, workshop, taken):
    with pytest.raises(ConflictError, match="sign-in name"):
        people.add_person(house, workshop.people["max"], newcomer(sign_in_name=taken), now=NOON)


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"name": "  "}, "name"),
        ({"name": "x" * 201}, "name"),
        ({"sign_in_name": " "}, "sign-in name"),
        ({"roles": set()}, "roles"),
    ],
)
def test_what_is_missing_is_named(house, workshop, change, field):
    with pytest.raises(InputError) as refused:
        people.add_person(house, workshop.people["max"], newcomer(**change), now=NOON)

    assert refused.value.field == field


def test_two_shops_have_two_names(house):
    with pytest.raises(ConflictError, match="shop"), house.write() as connection:
        people.make_shop(connection, "Invented  Workshop", now=NOON)


@pytest.mark.parametrize("password", ["", "short", "x" * 201])
def test_a_password_too_short_or_too_long_is_refused_without_being_repeated(house, password):
    with pytest.raises(InputError) as refused:
        house.passwords.hashed(password)

    assert refused.value.field == "password"
    assert password not in str(refused.value) or not password


def test_the_hash_for_nobody_costs_what_a_real_one_costs():
    assert extract_parameters(_NOBODY) == extract_parameters(_HASHER.hash("some password"))
    assert extract_parameters(_NOBODY).memory_cost == 19 * 1024
