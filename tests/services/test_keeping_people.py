"""People: invitations, rosters, roles, leaving and coming, with the record kept."""

from __future__ import annotations

from datetime import timedelta

import pytest
from classroom import BLANK, give_out, make_room, save, stored_count
from sqlalchemy import text
from workshop import NOON, PASSWORD, hashed_password

from quizsvc.errors import ConflictError, InputError, NotAllowedError, NotFoundError
from quizsvc.rules.actors import Actor, Role
from quizsvc.services import (
    accounts,
    auditing,
    calendar_feed,
    invite,
    keep_classes,
    keep_people,
    keep_shops,
    practise,
    roster,
)
from quizsvc.services.invite import Wanted
from quizsvc.services.people import NewPerson, add_person, enrol
from quizsvc.services.roster import Fate
from quizsvc.services.shown import Given
from quizsvc.services.sitting import beginning, closing
from quizsvc.store.classes import Part

DAY = timedelta(days=1)


@pytest.fixture
def adam(house, workshop):
    """An administrator, put there as the program itself would."""
    new = NewPerson("Adam", "adam", hashed_password(), {Role.ADMINISTRATOR})
    with house.write() as connection:
        key = enrol(connection, None, workshop.shop_id, new, now=NOON)
    return Actor(key, "Adam", workshop.shop_id, frozenset({Role.ADMINISTRATOR}), "Workshop")


def sign_in(house, name, password=PASSWORD, now=NOON):
    return accounts.sign_in(house, name, password, now=now, source="here")


def test_an_invitation_opens_once_and_only_until_it_ends(house, max_):
    token = invite.invite(house, max_, Wanted("New One", Role.LEARNER, days=3), now=NOON)
    assert invite.look(house, token, now=NOON + 2 * DAY).shop_name == "Invented Workshop"
    with pytest.raises(NotFoundError, match="cannot be used"):
        invite.look(house, token, now=NOON + 3 * DAY)

    joined = {"name": "New One", "sign_in_name": "New.One", "password": PASSWORD}
    invite.join_new(house, token, **joined, now=NOON + DAY)

    assert sign_in(house, "new.one", now=NOON + DAY)
    with pytest.raises(NotFoundError, match="cannot be used"):
        invite.join_new(house, token, **joined | {"sign_in_name": "other"}, now=NOON + DAY)


def test_tokens_are_of_128_bits_and_stored_only_as_a_hash(house, max_):
    token = invite.invite(house, max_, Wanted("New One", Role.LEARNER), now=NOON)

    assert len(token) == 22  # 16 bytes in base 64 without padding
    with house.read() as connection:
        row = connection.execute(text("SELECT * FROM invitation")).one()
    assert token not in [str(value) for value in row]


def test_a_withdrawn_invitation_opens_nothing(house, max_):
    token = invite.invite(house, max_, Wanted("New One", Role.LEARNER), now=NOON)
    (held,) = invite.open_invitations(house, max_)

    invite.withdraw(house, max_, held.id, now=NOON)

    with pytest.raises(NotFoundError):
        invite.look(house, token, now=NOON)
    assert invite.open_invitations(house, max_) == ()


def test_a_person_may_change_shop_and_keeps_their_record(house, workshop, ana):
    room = make_room(workshop)
    token = beginning.begin(house, ana, give_out(room, BLANK["home"]), place="desk", now=NOON)
    save(room, ana, token, 1, Given(choices=(1,)), now=NOON)
    closing.hand_in(house, ana, token, now=NOON)
    oda = workshop.people["oda"]
    lead = Actor(oda.person_id, "Oda", oda.shop_id, frozenset({Role.MANAGER}))
    link = invite.invite(house, lead, Wanted("Ana", Role.LEARNER), now=NOON)

    invite.join_as(house, ana, link, leaving=True, now=NOON + DAY)

    moved = accounts.actor_for_token(house, sign_in(house, "ana", now=NOON + DAY), now=NOON + DAY)
    assert (moved.shop_id, moved.person_id) == (oda.shop_id, ana.person_id)
    assert practise.history(house, moved, now=NOON + DAY).total <= 1
    assert stored_count(house, "response") == practise.history(house, moved, now=NOON).total
    assert "ana" not in {
        one.sign_in_name for one in keep_people.list_people(house, workshop.people["max"])
    }


def test_a_role_taken_away_counts_at_the_next_request(house, max_, workshop):
    ida = workshop.people["ida"]
    token = sign_in(house, "ida")
    keep_people.set_roles(house, max_, ida.person_id, frozenset({Role.LEARNER}), now=NOON)

    now_held = accounts.actor_for_token(house, token, now=NOON).roles

    assert now_held == {Role.LEARNER}
    assert auditing.broken_at(house) is None


def test_deactivating_ends_every_session_and_the_calendar_and_keeps_the_record(house, max_, ana):
    token = sign_in(house, "ana")
    feed = calendar_feed.new_feed(house, ana, now=NOON)

    keep_people.deactivate(house, max_, ana.person_id, now=NOON)

    assert accounts.actor_for_token(house, token, now=NOON) is None
    with pytest.raises(NotAllowedError):
        sign_in(house, "ana")
    with pytest.raises(NotFoundError):
        calendar_feed.feed(house, feed, link="", now=NOON)
    keep_people.reactivate(house, max_, ana.person_id, now=NOON)
    assert sign_in(house, "ana")


def test_only_administrators_make_administrators_and_one_always_stays(house, max_, adam, ana):
    both = frozenset({Role.LEARNER, Role.ADMINISTRATOR})
    with pytest.raises(NotAllowedError, match="administrator"):
        keep_people.set_roles(house, max_, ana.person_id, both, now=NOON)
    with pytest.raises(NotAllowedError):
        invite.invite(house, max_, Wanted("X", Role.ADMINISTRATOR), now=NOON)
    with pytest.raises(ConflictError, match="without an administrator"):
        keep_people.set_roles(house, adam, adam.person_id, frozenset({Role.LEARNER}), now=NOON)

    keep_people.set_roles(house, adam, ana.person_id, both, now=NOON)
    keep_people.set_roles(house, adam, adam.person_id, frozenset({Role.LEARNER}), now=NOON)


def test_people_of_other_shops_are_out_of_reach(house, max_, workshop):
    oda = workshop.people["oda"]

    for deed in (
        lambda: keep_people.person(house, max_, oda.person_id),
        lambda: keep_people.deactivate(house, max_, oda.person_id, now=NOON),
        lambda: keep_people.set_roles(
            house, max_, oda.person_id, frozenset({Role.LEARNER}), now=NOON
        ),
        lambda: invite.invite(
            house, max_, Wanted("Oda", Role.LEARNER, person_id=oda.person_id), now=NOON
        ),
    ):
        with pytest.raises(NotFoundError):
            deed()


def test_a_manager_gets_no_password_link_to_an_account_that_has_a_password(house, max_, ana):
    with pytest.raises(NotAllowedError, match="forgotten password"):
        invite.invite(house, max_, Wanted("Ana", Role.LEARNER, person_id=ana.person_id), now=NOON)


def test_instructors_keep_only_the_classes_they_lead(house, workshop, max_):
    ida = workshop.people["ida"]
    hers = keep_classes.make_class(house, ida, "Hers", now=NOON)
    others = keep_classes.make_class(house, max_, "Others", now=NOON)

    assert [one.name for one in keep_classes.list_classes(house, ida)] == ["Hers"]
    with pytest.raises(NotFoundError):
        keep_classes.class_page(house, ida, others)
    ana = workshop.people["ana"].person_id
    with pytest.raises(ConflictError, match="no instructor"):
        keep_classes.put_into_class(house, ida, hers, ana, Part.INSTRUCTOR, now=NOON)
    keep_classes.put_into_class(house, ida, hers, ana, Part.LEARNER, now=NOON)
    members = keep_classes.class_page(house, max_, hers).members
    assert [(one.name, one.part) for one in members] == [
        ("Ida", Part.INSTRUCTOR),
        ("Ana", Part.LEARNER),
    ]


ROSTER = b"""name,sign_in_name,role,class
New One,new.one,learner,Evening
Ana Other,ana,learner,Evening
Ben,ben,learner,
Oda,oda,learner,Evening
New One,NEW.ONE,learner,
"""


def test_a_roster_is_reported_before_it_is_written_and_then_done_exactly_so(house, max_):
    planned = roster.report(house, max_, ROSTER)

    assert [(one.row.sign_in_name, one.fate) for one in planned.rows] == [
        ("new.one", Fate.NEW),
        ("ana", Fate.CHANGED),
        ("ben", Fate.SAME),
    ]
    assert "stays “Ana”, the roster says “Ana Other”" in planned.rows[1].words
    assert [(one.where, one.problem) for one in planned.faults] == [
        ("line 5", "somebody elsewhere has this sign-in name."),
        ("line 6", "it stands in the roster twice."),
    ]
    assert planned.new_classes == ("Evening",)
    assert stored_count(house, "training_class") == 0

    (welcome,) = roster.take_over(house, max_, planned.text, planned.terms, now=NOON)

    assert invite.look(house, welcome.token, now=NOON).sign_in_name == "new.one"
    invite.join_new(house, welcome.token, name="", sign_in_name="", password=PASSWORD, now=NOON)
    assert sign_in(house, "new.one")
    assert roster.report(house, max_, ROSTER).count(Fate.SAME) == 3
    assert "Evening" in roster.export(house, max_)


def test_a_roster_whose_terms_changed_meanwhile_is_not_written(house, max_):
    planned = roster.report(house, max_, ROSTER)
    keep_classes.make_class(house, max_, "Evening", now=NOON)

    with pytest.raises(ConflictError, match="changed since the report"):
        roster.take_over(house, max_, planned.text, planned.terms, now=NOON)

    assert "new.one" not in {one.sign_in_name for one in keep_people.list_people(house, max_)}


def test_learners_and_instructors_may_not_keep_people(house, ana, workshop):
    for stranger in (ana, workshop.people["ida"]):
        for deed in (
            lambda who: keep_people.list_people(house, who),
            lambda who: roster.report(house, who, ROSTER),
            lambda who: invite.invite(house, who, Wanted("X", Role.LEARNER), now=NOON),
            lambda who: add_person(house, who, NewPerson("X", "x", "h", {Role.LEARNER}), now=NOON),
        ):
            with pytest.raises(NotAllowedError):
                deed(stranger)


def test_bad_invitations_are_refused_by_field(house, max_):
    for wanted, field in (
        (Wanted(" ", Role.LEARNER), "name"),
        (Wanted("X", Role.LEARNER, days=0), "days"),
    ):
        with pytest.raises(InputError) as refused:
            invite.invite(house, max_, wanted, now=NOON)
        assert refused.value.field == field


def test_the_calendar_holds_what_is_due_and_no_question(house, workshop, ana):
    room = make_room(workshop)
    give_out(room, BLANK["home"])
    token = calendar_feed.new_feed(house, ana, now=NOON)

    content = calendar_feed.feed(house, token, link="http://here/", now=NOON).decode()

    assert "SUMMARY:Due: Homework" in content
    assert "timing drive" not in content
    newer = calendar_feed.new_feed(house, ana, now=NOON)
    with pytest.raises(NotFoundError):
        calendar_feed.feed(house, token, link="", now=NOON)
    calendar_feed.stop_feed(house, ana)
    with pytest.raises(NotFoundError):
        calendar_feed.feed(house, newer, link="", now=NOON)


def test_an_administrator_makes_a_shop_and_goes_on_there(house, adam, max_):
    with pytest.raises(NotAllowedError):
        keep_shops.new_shop(house, max_, "Second", now=NOON)
    token = sign_in(house, "adam")
    made = keep_shops.new_shop(house, adam, "Second", now=NOON)

    accounts.work_in(house, adam, token, made)

    there = accounts.actor_for_token(house, token, now=NOON)
    assert (there.shop_name, there.roles) == ("Second", {Role.ADMINISTRATOR})
    assert [(one.name, one.here) for one in keep_shops.my_shops(house, there)] == [
        ("Invented Workshop", False),
        ("Second", True),
    ]
    with pytest.raises(NotFoundError):
        accounts.work_in(house, max_, sign_in(house, "max"), made)
