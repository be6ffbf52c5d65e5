"""Sitting an assignment from beginning to result, with a clock that stands until it is moved."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from at_the_desk import begin, minutes
from classroom import BLANK, answer_all_right, give_out, right_given, save, stored_count
from workshop import NOON

from quizsvc.errors import ConflictError, InputError, NotAllowedError
from quizsvc.rules.assignments import Feedback
from quizsvc.rules.sittings import State
from quizsvc.services import practise
from quizsvc.services.shown import Given
from quizsvc.services.sitting import closing, due_pages, question_pages, saving_answers
from quizsvc.services.watching import kept_sittings, live_view, results


def test_homework_goes_from_the_instructor_to_a_result_and_into_the_record(room):
    home = give_out(room, BLANK["home"])
    assert [one.state for one in due_pages.due_for(room.house, room.ana, now=NOON)] == ["to do"]
    token = begin(room, room.ana, home)

    answer_all_right(room, room.ana, token, minutes(5))
    closing.hand_in(room.house, room.ana, token, now=minutes(6))

    review = question_pages.review(room.house, room.ana, token, now=minutes(7))
    assert (review.told, review.points, review.out_of) == (True, 5, 5)
    assert all(answer.correct for answer in review.answers)
    seen = live_view.live(room.house, room.ida, home, now=minutes(7))
    assert [(row.name, row.points) for row in seen.rows] == [("Ana", 5), ("Ben", None)]
    assert stored_count(room.house, "response") == 5
    assert practise.history(room.house, room.ana, now=minutes(8)).total == 5


def test_handing_in_twice_counts_once(room):
    token = begin(room, room.ana, give_out(room, BLANK["home"]))
    answer_all_right(room, room.ana, token, minutes(1))

    for later in (2, 3, 4):
        closing.hand_in(room.house, room.ana, token, now=minutes(later))
        closing.count_all_told(room.house, now=minutes(later))

    assert stored_count(room.house, "response") == 5
    review = question_pages.review(room.house, room.ana, token, now=minutes(5))
    assert review.finished_at == minutes(2)


def test_feedback_after_each_question_fixes_the_answer_and_counts_it_once(room):
    home = give_out(room, replace(BLANK["home"], feedback=Feedback.EACH))
    token = begin(room, room.ana, home)
    save(room, room.ana, token, 1, right_given(room, token, 1), now=minutes(1))

    saving_answers.check(room.house, room.ana, token, 1, place="desk", now=minutes(2))

    page = question_pages.page(room.house, room.ana, token, number=1, place="desk", now=minutes(2))
    assert page.checked is not None
    assert page.checked.correct
    assert stored_count(room.house, "response") == 1
    with pytest.raises(ConflictError, match="was checked"):
        save(room, room.ana, token, 1, Given(choices=(2,)), sequence=2, now=minutes(3))
    closing.hand_in(room.house, room.ana, token, now=minutes(4))
    assert stored_count(room.house, "response") == 1


def test_a_test_cannot_be_checked_before_its_end(room, test_id):
    token = begin(room, room.ana, test_id)
    save(room, room.ana, token, 1, right_given(room, token, 1), now=minutes(1))

    with pytest.raises(NotAllowedError, match="not told yet"):
        saving_answers.check(room.house, room.ana, token, 1, place="desk", now=minutes(2))


def test_tries_are_counted_and_a_running_one_is_gone_on_with(room):
    home = give_out(room, replace(BLANK["home"], tries=2))
    first = begin(room, room.ana, home)
    assert begin(room, room.ana, home, now=minutes(1), place="phone") == first
    closing.hand_in(room.house, room.ana, first, now=minutes(2))

    second = begin(room, room.ana, home, now=minutes(3))
    closing.hand_in(room.house, room.ana, second, now=minutes(4))

    assert second != first
    with pytest.raises(ConflictError, match="no try left"):
        begin(room, room.ana, home, now=minutes(5))


def test_everything_is_handed_in_when_time_ends_with_nobody_connected(room, test_id):
    token = begin(room, room.ana, test_id)
    answer_all_right(room, room.ana, token, minutes(29))

    assert (
        closing.close_all_over(room.house, now=minutes(30)) == 0
    )  # the last answer may be on its way
    assert closing.close_all_over(room.house, now=minutes(45)) == 1
    assert closing.close_all_over(room.house, now=minutes(46)) == 0

    kept = kept_sittings.kept(room.house, room.ida, test_id, token, now=minutes(50))
    assert (kept.state, kept.points, kept.finished_at) == (State.CLOSED, 5, minutes(30))


def test_a_read_alone_closes_what_is_over(room, test_id):
    token = begin(room, room.ana, test_id)
    answer_all_right(room, room.ana, token, minutes(29))

    with pytest.raises(ConflictError, match="has ended"):
        question_pages.page(room.house, room.ana, token, number=1, place="desk", now=minutes(31))

    assert live_view.live(room.house, room.ida, test_id, now=minutes(31)).finished == 1


def test_homework_closes_when_it_is_due(room):
    home = give_out(room, BLANK["home"])
    token = begin(room, room.ana, home)
    due = NOON + timedelta(days=7)

    assert closing.close_all_over(room.house, now=due) == 1

    review = question_pages.review(room.house, room.ana, token, now=due)
    assert (review.state, review.finished_at) == (State.CLOSED, due)


def test_the_last_seconds_still_count_then_no_more(room, test_id):
    token = begin(room, room.ana, test_id)
    given = right_given(room, token, 1)

    save(room, room.ana, token, 1, given, now=minutes(30) + timedelta(seconds=4))

    with pytest.raises(ConflictError, match="time is over"):
        save(room, room.ana, token, 2, right_given(room, token, 2), now=minutes(30.2), sequence=1)
    review = kept_sittings.kept(room.house, room.ida, test_id, token, now=minutes(31))
    assert [one.correct for one in review.answers].count(True) == 1


def test_practice_is_shut_during_a_test_and_holds_its_bank_items_back_from_others(room):
    home = give_out(room, replace(BLANK["test"], title="Held back"), ("first-step",))
    begin(room, room.ana, home)

    with pytest.raises(ConflictError, match="sitting a test"):
        practise.put_next(room.house, room.ana, now=minutes(1))
    with pytest.raises(ConflictError, match="sitting a test"):
        practise.history(room.house, room.ana, now=minutes(1))
    with pytest.raises(InputError, match="nothing to practise"):
        practise.put_next(room.house, room.ben, topic="safety", now=minutes(1))

    closing.close_all_over(room.house, now=minutes(31))
    results.release(room.house, room.ida, home, now=minutes(32))
    assert practise.put_next(room.house, room.ben, topic="safety", now=minutes(33))


def test_answers_not_checked_one_by_one_come_into_the_record_at_the_end(room):
    home = give_out(room, replace(BLANK["home"], feedback=Feedback.EACH))
    token = begin(room, room.ana, home)
    save(room, room.ana, token, 1, right_given(room, token, 1), now=minutes(1))
    save(room, room.ana, token, 2, right_given(room, token, 2), now=minutes(1))
    saving_answers.check(room.house, room.ana, token, 1, place="desk", now=minutes(2))

    closing.hand_in(room.house, room.ana, token, now=minutes(2))

    assert stored_count(room.house, "response") == 2
    assert practise.history(room.house, room.ana, now=minutes(3)).total == 2
