"""A sitting skips no state and none that has ended opens again."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from itertools import product

import pytest

from quizsvc.errors import ConflictError, InputError
from quizsvc.rules.actors import Actor, Role
from quizsvc.rules.assignments import (
    Feedback,
    Form,
    Issue,
    Run,
    Standing,
    Terms,
    check_terms,
    in_progress,
    may_run,
    may_watch,
    tells_the_key,
    why_not_begin,
)
from quizsvc.rules.sittings import FINISHED, RUNNING, Deed, State, after, may

NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)
DAY = timedelta(days=1)


def test_what_has_ended_takes_no_deed_at_all():
    for state, deed in product(FINISHED, Deed):
        assert not may(state, deed)
        with pytest.raises(ConflictError, match="cannot"):
            after(state, deed)


def test_only_an_open_sitting_takes_answers():
    assert [state for state in State if may(state, Deed.SAVE)] == [State.OPEN]


def test_every_running_state_can_end_and_the_first_must_be_begun():
    for state in RUNNING:
        assert after(state, Deed.CLOSE) is State.CLOSED
        assert after(state, Deed.HAND_IN) is State.HANDED_IN
    assert not may(State.LAID_OUT, Deed.HAND_IN)
    assert after(State.LAID_OUT, Deed.BEGIN) is State.OPEN


def test_pause_and_go_on_undo_each_other():
    assert after(after(State.OPEN, Deed.PAUSE), Deed.GO_ON) is State.OPEN
    assert not may(State.PAUSED, Deed.PAUSE)
    assert not may(State.OPEN, Deed.GO_ON)


def standing(**changed) -> Standing:
    stated = {
        "issue": Issue.ISSUED,
        "opens_at": NOON,
        "due_at": NOON + DAY,
        "tries_left": 1,
        "running": False,
    }
    return Standing(**(stated | changed))


@pytest.mark.parametrize(
    ("changed", "now", "why"),
    [
        ({}, NOON, ""),
        ({"issue": Issue.WITHDRAWN}, NOON, "It is not given out."),
        ({}, NOON - DAY, "It is not open yet."),
        ({}, NOON + DAY, "It was due before now."),
        ({"tries_left": 0}, NOON, "There is no try left."),
        ({"tries_left": 0, "running": True}, NOON, ""),
    ],
)
def test_when_it_can_be_begun(changed, now, why):
    assert why_not_begin(standing(**changed), now) == why


def test_a_timed_test_goes_on_until_nobody_sits_it_and_it_was_due():
    def goes_on(*, sits, due, released=None, form=Form.TIMED_TEST):
        return in_progress(form, due_at=due, released_at=released, anybody_sits=sits, now=NOON)

    assert goes_on(sits=True, due=None)
    assert goes_on(sits=False, due=NOON + DAY)
    assert not goes_on(sits=False, due=NOON)
    assert not goes_on(sits=True, due=None, released=NOON)
    assert not goes_on(sits=True, due=None, form=Form.HOMEWORK)


def test_the_key_is_told_to_those_who_have_ended_and_not_before_its_time():
    assert not tells_the_key(Feedback.AT_END, finished=False, released_at=NOON, goes_on=False)
    assert not tells_the_key(Feedback.AT_END, finished=True, released_at=None, goes_on=True)
    assert tells_the_key(Feedback.AT_END, finished=True, released_at=None, goes_on=False)
    assert not tells_the_key(Feedback.ON_RELEASE, finished=True, released_at=None, goes_on=False)
    assert tells_the_key(Feedback.ON_RELEASE, finished=True, released_at=NOON, goes_on=False)


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"title": " "}, "title"),
        ({"tries": 0}, "tries"),
        ({"minutes": 601}, "minutes"),
        ({"due_at": NOON}, "due"),
        ({"form": Form.TIMED_TEST}, "minutes"),
        ({"invigilated": True}, "start by code"),
        ({"form": Form.TIMED_TEST, "minutes": 5, "feedback": Feedback.EACH}, "feedback"),
    ],
)
def test_terms_that_cannot_be_kept_are_refused_by_field(changed, field):
    stated = {"title": "T", "form": Form.HOMEWORK, "opens_at": NOON, "due_at": None}

    with pytest.raises(InputError) as refused:
        check_terms(Terms(**(stated | changed)))

    assert refused.value.field == field
    assert refused.value.remedy


def test_who_may_run_and_who_may_only_watch():
    def person(role, shop=1, key=5):
        return Actor(key, "P", shop, frozenset({role}))

    run = Run(shop_id=1, maker_id=9, class_id=3)
    leads, other = frozenset({3}), frozenset({4})

    assert may_run(person(Role.INSTRUCTOR), run, leads=leads)
    assert may_run(person(Role.INSTRUCTOR, key=9), run, leads=other)
    assert not may_run(person(Role.INSTRUCTOR), run, leads=other)
    assert not may_run(person(Role.INSTRUCTOR, shop=2), run, leads=leads)
    assert not may_run(person(Role.LEARNER, key=9), run, leads=leads)
    assert may_watch(person(Role.MANAGER), run, leads=other)
    assert not may_watch(person(Role.MANAGER, shop=2), run, leads=other)
    assert not may_watch(person(Role.ADMINISTRATOR), run, leads=other)
