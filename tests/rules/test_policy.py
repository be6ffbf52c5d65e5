"""Who may do what: the policy as a table, and how a refusal reads."""

from __future__ import annotations

import pytest

from quizsvc.errors import NotAllowedError
from quizsvc.rules.actors import Actor, Role
from quizsvc.rules.permissions import POLICY, May, allows, owns, require


def actor(*roles: Role) -> Actor:
    return Actor(1, "Ana", 1, frozenset(roles), "Invented Workshop")


def test_every_deed_stands_in_the_policy():
    assert set(POLICY) == set(May)
    assert all(POLICY.values())


EVERYBODY = {May.PRACTISE, May.SEE_OWN_RECORD}


LEADS = {May.SEE_CLASS_RECORDS, May.KEEP_CLASSES, May.WATCH, May.SEE_READINESS, May.ORDER_BRIDGING}
CERTIFIES = {May.SEE_CERTIFICATION, May.KEEP_SCHEMES, May.JUDGE, May.SIGN_OFF, May.DECIDE}


@pytest.mark.parametrize(
    ("role", "more"),
    [
        (Role.LEARNER, set()),
        (
            Role.INSTRUCTOR,
            LEADS | CERTIFIES | {May.WRITE_ITEMS, May.WRITE_SHEETS, May.ASSIGN, May.ADMIT},
        ),
        (
            Role.MANAGER,
            LEADS
            | CERTIFIES
            | {May.SEE_SHOP_RECORDS, May.KEEP_PEOPLE, May.KEEP_JOBS}
            | {May.KEEP_CERTIFICATES, May.KEEP_KEYS},
        ),
        (
            Role.ADMINISTRATOR,
            {May.KEEP_PEOPLE, May.KEEP_CLASSES, May.MAKE_SHOPS, May.READ_AUDIT}
            | {May.KEEP_KEYS, May.EXPORT_PERSON, May.ERASE_PERSON},
        ),
    ],
)
def test_each_role_may_do_just_this(role, more):
    assert {deed for deed in May if allows(actor(role), deed)} == EVERYBODY | more


def test_several_roles_together_may_do_what_any_of_them_may():
    both = actor(Role.LEARNER, Role.MANAGER)

    assert allows(both, May.SEE_SHOP_RECORDS)
    assert not allows(both, May.WRITE_ITEMS)


def test_no_role_may_do_nothing():
    assert not any(allows(actor(), deed) for deed in May)


def test_a_refusal_says_what_and_who_may():
    with pytest.raises(NotAllowedError) as refused:
        require(actor(Role.LEARNER), May.KEEP_PEOPLE)

    assert "add people and give roles" in refused.value.problem
    assert "manager or administrator in Invented Workshop" in refused.value.remedy


def test_what_belongs_to_another_person_is_not_ones_own():
    assert owns(actor(Role.LEARNER), 1)
    assert not owns(actor(Role.MANAGER), 2)
