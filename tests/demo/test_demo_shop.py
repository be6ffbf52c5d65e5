"""The demo: an invented shop made whole, kept, never mixed with a real one."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from sqlalchemy import text

from quizsvc.config import settings_from
from quizsvc.demo.keeping import ensure_demo
from quizsvc.demo.learner import invent_learner, right_answer
from quizsvc.demo.names import SHOP, invent_people
from quizsvc.errors import ConflictError
from quizsvc.items.family import NotForThisSheet, all_families, draw_item
from quizsvc.rules.actors import Role
from quizsvc.scoring.marking import mark
from quizsvc.services import accounts, practise
from quizsvc.services.auditing import broken_at
from quizsvc.services.house import House
from quizsvc.services.occupancy import occupied
from quizsvc.services.people import make_shop
from quizsvc.sheets.loading import shipped_sheets

NOW = datetime(2026, 3, 2, 12, tzinfo=UTC)


def silent(_what: str, _done: int, _total: int) -> None:
    return


def make(settings, *, learners=6, fresh=False):
    return ensure_demo(settings, learners=learners, fresh=fresh, now=NOW, progress=silent)


@pytest.fixture(scope="module")
def settings(tmp_path_factory):
    return settings_from({"QUIZSVC_INSTANCE": str(tmp_path_factory.mktemp("demo"))})


@pytest.fixture(scope="module")
def demo(settings):
    return make(settings)


@pytest.fixture
def house(settings, demo):
    assert demo.people == 12
    opened = House.open(settings)
    yield opened
    opened.close()


def counts(house, table: str) -> int:
    with house.read() as connection:
        return connection.execute(text(f"SELECT count(*) FROM {table}")).scalar_one()  # noqa: S608


def test_one_of_each_role_can_sign_in_and_sees_practice(house, demo):
    for role in Role:
        name = demo.sign_ins[role.value][1]
        token = accounts.sign_in(house, name, demo.password, now=NOW, source="192.0.2.1")
        actor = accounts.actor_for_token(house, token, now=NOW)

        assert actor.roles == {role}
        assert "demo" in actor.shop_name.casefold()
        assert practise.overview(house, actor, NOW).topics


def test_the_shop_is_marked_invented(house):
    with house.read() as connection:
        shop = connection.execute(text("SELECT name, invented FROM shop")).one()

    assert (shop.name, bool(shop.invented)) == (SHOP, True)


def test_every_answer_belongs_to_an_offer_of_the_last_three_months(house, demo):
    with house.read() as connection:
        first, last, answers = connection.execute(
            text("SELECT min(answered_at), max(answered_at), count(*) FROM response")
        ).one()

    assert answers == demo.answers > 6 * 30
    assert datetime.fromisoformat(first).replace(tzinfo=UTC) >= NOW - timedelta(days=92)
    assert datetime.fromisoformat(last).replace(tzinfo=UTC) <= NOW + timedelta(minutes=1)
    assert counts(house, "offer") == answers


def test_right_and_wrong_answers_and_misconceptions_all_occur(house):
    with house.read() as connection:
        right, wrong, ideas = connection.execute(
            text(
                "SELECT sum(CASE WHEN correct THEN 1 ELSE 0 END), "
                "sum(CASE WHEN correct THEN 0 ELSE 1 END), count(misconception) FROM response"
            )
        ).one()

    assert min(right, wrong, ideas) > 10


def test_every_past_answer_can_still_be_looked_at(house, demo):
    token = accounts.sign_in(
        house, demo.sign_ins["learner"][1], demo.password, now=NOW, source="192.0.2.1"
    )
    learner = accounts.actor_for_token(house, token, now=NOW)

    page = practise.history(house, learner, now=NOW)
    outcomes = [practise.outcome(house, learner, e.token, now=NOW) for e in page.entries]

    assert outcomes
    assert not any("replaced" in outcome.rationale for outcome in outcomes)
    assert all(outcome.after.answers == outcome.before.answers + 1 for outcome in outcomes)


def test_classes_have_an_instructor_and_all_the_learners(house):
    with house.read() as connection:
        rows = connection.execute(
            text("SELECT part, count(*) AS people FROM class_member GROUP BY part")
        ).all()

    assert dict(map(tuple, rows)) == {"instructor": 3, "learner": 6}


def test_the_audit_chain_of_a_new_demo_holds(house):
    assert broken_at(house) is None


def test_a_demo_that_is_there_is_kept_with_its_password(settings, demo):
    again = make(settings, learners=99)

    assert not again.made_now
    assert replace(again, made_now=True) == demo


def test_a_fresh_demo_has_new_sign_ins_and_takes_the_place_of_the_old(tmp_path):
    settings = settings_from({"QUIZSVC_INSTANCE": str(tmp_path)})
    first = make(settings, learners=1)

    second = make(settings, learners=2, fresh=True)

    assert second.made_now
    assert second.password != first.password
    assert second.people == first.people + 1
    left = {path.name for path in tmp_path.iterdir()}
    assert not any("making" in name for name in left)


def test_a_fresh_demo_is_refused_while_a_server_runs(tmp_path):
    settings = settings_from({"QUIZSVC_INSTANCE": str(tmp_path)})
    first = make(settings, learners=1)

    with occupied(tmp_path), pytest.raises(ConflictError, match="a server is running"):
        make(settings, learners=1, fresh=True)

    assert replace(make(settings), made_now=True) == first


@pytest.mark.parametrize("fresh", [False, True])
def test_a_database_with_a_real_shop_is_never_touched(tmp_path, fresh):
    settings = settings_from({"QUIZSVC_INSTANCE": str(tmp_path)})
    house = House.open(settings, upgrade=True)
    with house.write() as connection:
        make_shop(connection, "A Real Workshop", now=NOW)
    house.close()

    with pytest.raises(ConflictError, match="A Real Workshop"):
        make(settings, learners=1, fresh=fresh)


def test_a_demo_that_fails_in_the_making_leaves_no_database(tmp_path):
    settings = settings_from({"QUIZSVC_INSTANCE": str(tmp_path)})

    def fail(what: str, _done: int, _total: int) -> None:
        if what == "Three months of practice":
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        ensure_demo(settings, learners=2, fresh=False, now=NOW, progress=fail)

    assert not (tmp_path / "quizsvc.sqlite3").exists()
    assert make(settings, learners=1).made_now


def test_the_same_people_are_invented_every_time():
    assert invent_people(40) == invent_people(40)
    assert len({person.sign_in_name for person in invent_people(400)}) == 406


def test_a_simulated_learner_answers_every_family_right_or_wrong_as_meant():
    right = wrong = 0
    for family in all_families().values():
        for kind in family.kinds:
            for sheet in shipped_sheets().values():
                try:
                    item = draw_item(family, sheet, 1, kind=kind)
                except NotForThisSheet:
                    continue
                assert mark(item, right_answer(item)).correct, (family.id, kind)
                marked = mark(item, invent_learner(3)._wrong_answer(item))
                right += marked.correct
                wrong += not marked.correct
                break

    assert wrong > 50 * right
