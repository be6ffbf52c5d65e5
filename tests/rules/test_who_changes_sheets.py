"""Who may store revisions of an engine sheet."""

import pytest

from quizsvc.rules.actors import Actor, Role
from quizsvc.rules.permissions import may_change_sheet


def actor(role):
    return Actor(1, "Ida", 7, frozenset({role}))


@pytest.mark.parametrize(
    ("sheet_shop_id", "only_shop", "allowed"),
    [(7, False, True), (8, False, False), (None, True, True), (None, False, False)],
)
def test_an_instructor_changes_their_own_shops_sheets(sheet_shop_id, only_shop, allowed):
    instructor = actor(Role.INSTRUCTOR)

    assert may_change_sheet(instructor, sheet_shop_id, only_shop=only_shop) is allowed


@pytest.mark.parametrize("role", [Role.LEARNER, Role.MANAGER, Role.ADMINISTRATOR])
def test_nobody_else_changes_sheets(role):
    assert not may_change_sheet(actor(role), 7, only_shop=True)
