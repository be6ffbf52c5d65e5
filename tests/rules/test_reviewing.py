"""The life of a hand-written item, and who may approve it."""

import pytest

from quizsvc.errors import ConflictError, NotAllowedError
from quizsvc.rules.actors import Actor, Role
from quizsvc.rules.permissions import may_change_bank
from quizsvc.rules.reviewing import Deed, ItemState, possible, require_second_person, state_after


@pytest.mark.parametrize(
    ("deed", "state", "after"),
    [
        (Deed.SENT, ItemState.DRAFT, ItemState.IN_REVIEW),
        (Deed.RETURNED, ItemState.IN_REVIEW, ItemState.DRAFT),
        (Deed.APPROVED, ItemState.IN_REVIEW, ItemState.APPROVED),
        (Deed.WITHDRAWN, ItemState.APPROVED, ItemState.WITHDRAWN),
    ],
)
def test_a_version_goes_from_draft_over_review_to_practice_and_out_again(deed, state, after):
    assert state_after(deed, state) is after


@pytest.mark.parametrize(
    ("deed", "state"),
    [
        (Deed.APPROVED, ItemState.DRAFT),
        (Deed.APPROVED, ItemState.APPROVED),
        (Deed.SENT, ItemState.IN_REVIEW),
        (Deed.SENT, ItemState.WITHDRAWN),
        (Deed.WITHDRAWN, ItemState.WITHDRAWN),
    ],
)
def test_no_step_is_skipped_and_nothing_comes_back_from_withdrawn(deed, state):
    with pytest.raises(ConflictError, match=state.value):
        state_after(deed, state)
    assert deed not in possible(state)


def test_whoever_wrote_a_part_of_it_does_not_approve_it():
    with pytest.raises(NotAllowedError, match="Another instructor"):
        require_second_person(7, {None, 7})

    require_second_person(8, {None, 7})


def test_a_shared_bank_is_changed_only_where_one_shop_is_all_there_is():
    ida = Actor(1, "Ida", 3, frozenset({Role.INSTRUCTOR}))
    ana = Actor(2, "Ana", 3, frozenset({Role.LEARNER}))

    assert may_change_bank(ida, 3, only_shop=False)
    assert may_change_bank(ida, None, only_shop=True)
    assert not may_change_bank(ida, None, only_shop=False)
    assert not may_change_bank(ida, 4, only_shop=True)
    assert not may_change_bank(ana, 3, only_shop=True)
