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


# What each role may do, to be read and changed together with the policy: learner, instructor,
# manager, administrator.
TABLE = """
practise                                                     L I M A
see their own record                                         L I M A
see the records of a class                                   I M
see the records of everybody in the shop                     M
write items                                                  I
write engine sheets                                          I
add people and give roles                                    M A
say who needs a second factor to sign in                     M A
let somebody choose a forgotten password anew                A
sign everybody of the shop out                               A
make shops                                                   A
make classes and put people into them                        I M A
give out assignments and tests                               I
see how an assignment goes                                   I M
mark finished tests again after a key was corrected          I
read the audit log                                           A
see schemes, candidates and certificates                     I M
make schemes and approve those of others                     I M
judge questions in a panel                                   I M
admit candidates to a scheme's test                          I
sign off hands-on tasks                                      I M
decide about candidates                                      I M
suspend, revoke and renew certificates                       M
change the keys that sign certificates                       M A
see who is ready for which job                               I M
say what jobs ask of people, and who works on which shift    M
order a quiz about what changed                              I M
export all that is kept about another person                 A
erase a person                                               A
"""


def stated() -> dict[str, set[str]]:
    lines = [line.rsplit("  ", 1) for line in TABLE.strip().splitlines()]
    return {deed.strip(): set(roles.split()) for deed, roles in lines}


def test_the_policy_is_the_one_the_table_states():
    found = {deed.value: {role.value[0].upper() for role in POLICY[deed]} for deed in May}

    assert found == stated()


def test_a_learner_may_practise_and_see_their_own_record_and_nothing_else():
    learner = actor(Role.LEARNER)

    assert {deed for deed in May if allows(learner, deed)} == {May.PRACTISE, May.SEE_OWN_RECORD}


def test_an_administrator_as_such_neither_teaches_nor_decides():
    administrator = actor(Role.ADMINISTRATOR)

    for deed in (May.WRITE_ITEMS, May.ASSIGN, May.SIGN_OFF, May.DECIDE, May.KEEP_CERTIFICATES):
        assert not allows(administrator, deed)


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
