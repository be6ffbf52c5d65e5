"""Running a test: the room's code, more time, pauses, a void question, the release."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from at_the_desk import begin, minutes
from classroom import BLANK, answer_all_right, give_out, right_given, save, stored_count
from workshop import NOON

from quizsvc.errors import ConflictError, InputError, NotAllowedError, NotFoundError
from quizsvc.services import practise
from quizsvc.services.shown import Given
from quizsvc.services.sitting import closing, due_pages, question_pages
from quizsvc.services.watching import clocks, live_view, results, room_code


def test_a_test_tells_nothing_before_it_is_released_then_everything(room, test_id):
    token = begin(room, room.ana, test_id)
    answer_all_right(room, room.ana, token, minutes(5))
    closing.hand_in(room.house, room.ana, token, now=minutes(6))

    before = question_pages.review(room.house, room.ana, token, now=minutes(7))
    assert (before.told, before.points, before.answers) == (False, None, ())
    assert practise.history(room.house, room.ana, now=minutes(7)).total == 0
    results.release(room.house, room.ida, test_id, now=minutes(8))

    after = question_pages.review(room.house, room.ana, token, now=minutes(9))
    assert (after.told, after.points, after.out_of) == (True, 5, 5)
    assert practise.history(room.house, room.ana, now=minutes(9)).total == 5


def test_a_room_is_entered_by_the_code_the_instructor_shows(room):
    test = give_out(room, replace(BLANK["test"], invigilated=True))
    with pytest.raises(NotAllowedError, match="not open yet"):
        begin(room, room.ana, test, code="BCDFGH")
    code = room_code.open_room(room.house, room.ida, test, now=NOON)
    with pytest.raises(NotAllowedError, match="not the code"):
        begin(room, room.ana, test, code="WRONG1")

    begin(room, room.ana, test, code=f" {code[:3].lower()} {code[3:]} ")
    room_code.close_room(room.house, room.ida, test)

    with pytest.raises(NotAllowedError, match="not open yet"):
        begin(room, room.ben, test, code=code)


def test_extra_time_for_one_person_is_theirs_alone(room, test_id):
    clocks.allow_extra(room.house, room.ida, test_id, room.ana.person_id, 15, now=NOON)

    ana, ben = begin(room, room.ana, test_id), begin(room, room.ben, test_id)

    ends = {
        actor.name: question_pages.page(
            room.house, actor, token, number=1, place="desk", now=NOON
        ).ends_at
        for actor, token in ((room.ana, ana), (room.ben, ben))
    }
    assert ends == {"Ana": minutes(45), "Ben": minutes(30)}
    assert due_pages.before(room.house, room.ana, test_id, now=NOON).minutes == 45


def test_pause_for_all_stops_the_clock_and_refuses_answers(room, test_id):
    token = begin(room, room.ana, test_id)
    assert clocks.pause_all(room.house, room.ida, test_id, now=minutes(10)) == 1
    with pytest.raises(ConflictError, match="paused"):
        save(room, room.ana, token, 1, Given(choices=(1,)), now=minutes(11))

    assert live_view.live(room.house, room.ida, test_id, now=minutes(600)).paused == 1
    clocks.go_on_all(room.house, room.ida, test_id, now=minutes(70))

    page = question_pages.page(room.house, room.ana, token, number=1, place="desk", now=minutes(70))
    assert page.left == timedelta(minutes=20)
    assert page.ends_at == minutes(90)


def test_added_minutes_reach_all_who_sit_and_nobody_who_has_ended(room, test_id):
    ana, ben = begin(room, room.ana, test_id), begin(room, room.ben, test_id)
    closing.hand_in(room.house, room.ben, ben, now=minutes(5))

    assert clocks.add_minutes(room.house, room.ida, test_id, 5, now=minutes(29)) == 1

    save(room, room.ana, ana, 1, right_given(room, ana, 1), now=minutes(34))
    with pytest.raises(InputError, match="more than nothing"):
        clocks.add_minutes(room.house, room.ida, test_id, 0, now=minutes(34))


def test_a_void_question_changes_results_already_there_and_stands_in_the_audit_log(room, test_id):
    token = begin(room, room.ana, test_id)
    answer_all_right(room, room.ana, token, minutes(1))
    closing.hand_in(room.house, room.ana, token, now=minutes(2))

    changed = results.void(
        room.house, room.ida, test_id, 2, "two options are right", now=minutes(3)
    )

    assert changed == 1
    assert results.void(room.house, room.ida, test_id, 2, "again", now=minutes(3)) == 0
    row = live_view.live(room.house, room.ida, test_id, now=minutes(4)).rows[0]
    assert (row.points, row.out_of) == (4, 4)
    results.release(room.house, room.ida, test_id, now=minutes(5))
    assert stored_count(room.house, "response") == 4
    review = question_pages.review(room.house, room.ana, token, now=minutes(6))
    assert [one.void_reason for one in review.answers if one.void] == ["two options are right"]


def test_strangers_find_nothing(room, test_id, workshop):
    token = begin(room, room.ana, test_id)
    oda, max_ = workshop.people["oda"], workshop.people["max"]

    for stranger in (room.ben, oda):
        with pytest.raises(NotFoundError):
            closing.hand_in(room.house, stranger, token, now=NOON)
    with pytest.raises(NotFoundError):
        begin(room, oda, test_id)
    with pytest.raises(NotAllowedError):
        live_view.live(room.house, room.ana, test_id, now=NOON)
    assert live_view.live(room.house, max_, test_id, now=NOON).may_run is False
    with pytest.raises(NotAllowedError):
        clocks.pause_all(room.house, max_, test_id, now=NOON)
