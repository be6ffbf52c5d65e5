"""Whom a shop asks for a second factor, resetting one, and what is kept of it."""

from __future__ import annotations

import io
import json
from datetime import timedelta
from zipfile import ZipFile

import pytest
from second_steps import (
    HERE,
    STEP,
    code_of,
    finish,
    half_way,
    light_hashes,
    turned_on,
)
from sqlalchemy import text
from workshop import NOON, PASSWORD, hashed_password

from quizsvc.errors import ConflictError, NotAllowedError, NotFoundError
from quizsvc.rules.actors import Actor, Role
from quizsvc.services import (
    accounts,
    auditing,
    privacy,
    reset_second_factor,
    second_factor_rule,
)
from quizsvc.services.people import NewPerson, enrol
from quizsvc.store import people

LATER = NOON + timedelta(minutes=10)
__all__ = ["light_hashes"]  # a fixture
ASKED = {Role.INSTRUCTOR, Role.MANAGER, Role.ADMINISTRATOR}


@pytest.fixture
def chief(workshop):
    """An administrator of the shop."""
    new = NewPerson("Adi", "adi", hashed_password(), {Role.ADMINISTRATOR})
    with workshop.house.write() as connection:
        key = enrol(connection, None, workshop.shop_id, new, now=NOON)
    return Actor(key, "Adi", workshop.shop_id, frozenset({Role.ADMINISTRATOR}))


def signed_in(house, name, now=NOON) -> Actor:
    token = accounts.sign_in(house, name, PASSWORD, now=now, source=HERE)
    return accounts.actor_for_token(house, token, now=now)


def noted(house, action: str) -> int:
    with house.read() as connection:
        return connection.execute(
            text("SELECT count(*) FROM audit_entry WHERE action = :action"), {"action": action}
        ).scalar_one()


def test_by_default_nobody_is_asked(house, max_):
    assert not any(line.asked for line in second_factor_rule.rule(house, max_))
    assert not signed_in(house, "ida").owes_second_factor


def test_who_holds_an_asked_role_owes_one_from_the_next_request_on(house, max_):
    session = accounts.sign_in(house, "ida", PASSWORD, now=NOON, source=HERE)
    second_factor_rule.ask_of(house, max_, ASKED, now=NOON)

    assert accounts.actor_for_token(house, session, now=NOON).owes_second_factor
    assert not signed_in(house, "ana").owes_second_factor
    second_factor_rule.ask_of(house, max_, (), now=NOON)
    assert not accounts.actor_for_token(house, session, now=NOON).owes_second_factor
    assert noted(house, "second factor asked of roles") == 2


def test_who_has_one_owes_nothing(house, max_, ida):
    second_factor_rule.ask_of(house, max_, ASKED, now=NOON)
    session = accounts.sign_in(house, "ida", PASSWORD, now=NOON, source=HERE)

    turned_on(house, ida)

    assert not accounts.actor_for_token(house, session, now=NOON).owes_second_factor


def test_another_shop_asks_nothing_of_people_here(house, workshop):
    oda = workshop.people["oda"]
    other = Actor(oda.person_id, "Oda", oda.shop_id, frozenset({Role.MANAGER}))
    second_factor_rule.ask_of(house, other, set(Role), now=NOON)

    assert not signed_in(house, "ida").owes_second_factor
    assert signed_in(house, "oda").owes_second_factor


def test_setting_it_as_it_stands_is_not_noted(house, max_):
    for _ in range(2):
        second_factor_rule.ask_of(house, max_, ASKED, now=NOON)

    assert noted(house, "second factor asked of roles") == 1


def test_the_rule_is_kept_by_managers_and_administrators(house, ida, ana, chief):
    for who in (ida, ana):
        with pytest.raises(NotAllowedError):
            second_factor_rule.ask_of(house, who, ASKED, now=NOON)
        with pytest.raises(NotAllowedError):
            second_factor_rule.rule(house, who)
    second_factor_rule.ask_of(house, chief, ASKED, now=NOON)

    lines = {line.role: line for line in second_factor_rule.rule(house, chief)}
    assert {role for role, line in lines.items() if line.asked} == ASKED


def test_it_says_how_many_of_a_role_have_one(house, max_, ida):
    turned_on(house, ida)

    lines = {line.role: line for line in second_factor_rule.rule(house, max_)}

    assert (lines[Role.INSTRUCTOR].having, lines[Role.INSTRUCTOR].people) == (1, 2)
    assert (lines[Role.LEARNER].having, lines[Role.LEARNER].people) == (0, 2)
    assert lines[Role.ADMINISTRATOR].people == 0


def test_resetting_ends_sessions_and_halves_and_is_noted(house, max_, ida):
    turned_on(house, ida)
    half = half_way(house, "ida", now=LATER)
    session = finish(house, half, code_of(house, ida, LATER), now=LATER)
    waiting, code = half_way(house, "ida", now=LATER), code_of(house, ida, LATER + STEP)

    reset_second_factor.reset(house, max_, ida.person_id, now=LATER)

    assert accounts.actor_for_token(house, session, now=LATER) is None
    with pytest.raises(NotFoundError):
        finish(house, waiting, code, now=LATER + STEP)
    assert signed_in(house, "ida", LATER)
    assert noted(house, "second factor reset") == 1
    assert auditing.broken_at(house) is None


def test_nobody_resets_their_own_or_one_that_is_not_there(house, max_, ana):
    turned_on(house, max_)

    with pytest.raises(ConflictError, match="your own"):
        reset_second_factor.reset(house, max_, max_.person_id, now=LATER)
    with pytest.raises(ConflictError, match="has no second factor"):
        reset_second_factor.reset(house, max_, ana.person_id, now=LATER)


def test_only_an_administrator_resets_an_administrators(house, max_, chief):
    turned_on(house, chief)

    with pytest.raises(NotAllowedError):
        reset_second_factor.reset(house, max_, chief.person_id, now=LATER)


def test_learners_and_instructors_reset_nobodys(house, ana, ida, workshop):
    turned_on(house, ana)

    for who in (ida, workshop.people["ben"]):
        with pytest.raises(NotAllowedError):
            reset_second_factor.reset(house, who, ana.person_id, now=LATER)


def test_somebody_of_another_shop_is_not_there_to_be_reset(house, workshop, ana):
    turned_on(house, ana)
    oda = workshop.people["oda"]
    stranger = Actor(oda.person_id, "Oda", oda.shop_id, frozenset({Role.ADMINISTRATOR}))

    for call in (reset_second_factor.of_person, reset_second_factor.reset):
        more = {"now": LATER} if call is reset_second_factor.reset else {}
        with pytest.raises(NotFoundError):
            call(house, stranger, ana.person_id, **more)


def test_somebody_of_two_shops_is_reset_by_neither_alone(house, max_, ana, workshop):
    turned_on(house, ana)
    with house.write() as connection:
        other = workshop.people["oda"].shop_id
        people.add_roles(connection, ana.person_id, other, [Role.MANAGER], now=NOON)

    with pytest.raises(ConflictError, match="another shop"):
        reset_second_factor.reset(house, max_, ana.person_id, now=LATER)


def test_the_program_resets_the_last_administrators_and_notes_it(house, chief):
    turned_on(house, chief)

    reset_second_factor.reset_by_program(house, " ADI ", now=LATER)

    assert signed_in(house, "adi", LATER).person_id == chief.person_id
    assert noted(house, "second factor reset") == 1
    with pytest.raises(NotFoundError):
        reset_second_factor.reset_by_program(house, "nobody", now=LATER)
    with pytest.raises(ConflictError):
        reset_second_factor.reset_by_program(house, "adi", now=LATER)


def test_an_export_tells_only_that_it_is_on_and_since_when(house, ana):
    turned_on(house, ana)
    half_way(house, now=LATER)

    made = privacy.export_person(house, ana, ana.person_id, now=LATER)

    with ZipFile(io.BytesIO(made.content)) as archive:
        tables = json.loads(archive.read("person.json"))["tables"]
    (told,) = tables["second_factor"]
    assert set(told) == {"person_id", "on_since"}
    assert told["on_since"] == NOON.isoformat()
    assert {"recovery_code", "half_signed_in"}.isdisjoint(tables)


def test_erasing_a_person_leaves_nothing_of_it(house, ana, chief):
    turned_on(house, ana)
    half_way(house, now=LATER)

    privacy.erase_person(house, chief, ana.person_id, "Ana", now=LATER)

    with house.read() as connection:
        for table in ("second_factor", "recovery_code", "half_signed_in"):
            assert not connection.execute(text(f"SELECT * FROM {table}")).all()  # noqa: S608
