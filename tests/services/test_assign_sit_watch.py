"""An assignment from building it to its result, with a clock that stands until it is moved."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from classroom import BLANK, answer_all_right, give_out, make_room, right_given, save, stored_count
from workshop import NOON

from quizsvc.errors import ConflictError, InputError, NotAllowedError, NotFoundError
from quizsvc.rules.assignments import Feedback
from quizsvc.rules.sittings import State
from quizsvc.services import practise
from quizsvc.services.assigning import drafting, giving_out, questions
from quizsvc.services.assigning import pages as assignment_pages
from quizsvc.services.shown import Given
from quizsvc.services.sitting import beginning, closing, due_pages, question_pages, saving_answers
from quizsvc.services.watching import clocks, kept_sittings, live_view, results, room_code


@pytest.fixture
def room(workshop):
    return make_room(workshop)


@pytest.fixture
def test_id(room):
    return give_out(room, BLANK["test"])


def begin(room, actor, assignment_id, now=NOON, place="desk", code=""):
    return beginning.begin(room.house, actor, assignment_id, code=code, place=place, now=now)


def minutes(number: float):
    return NOON + timedelta(minutes=number)


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


def test_all_the_same_numbers_or_own_ones(room):
    def shown(*, own: bool) -> list[set[str]]:
        terms = replace(BLANK["test"], own_numbers=own, title=f"own {own}")
        made = drafting.draft(
            room.house, room.ida, terms, drafting.Audience(room.class_id), now=NOON
        )
        for family in ("piston-drop", "displacement", "chain-length"):
            questions.add_family(
                room.house, room.ida, made, family_id=family, sheet="demo-inline-four", level=None
            )
        giving_out.issue(room.house, room.ida, made, now=NOON)
        prompts = []
        for actor in (room.ana, room.ben):
            token = begin(room, actor, made)
            pages = [
                question_pages.page(room.house, actor, token, number=n, place="desk", now=NOON)
                for n in (1, 2, 3)
            ]
            prompts.append({page.item.prompt for page in pages})
        return prompts

    alike, own = shown(own=False), shown(own=True)

    assert alike[0] == alike[1]
    assert own[0] != own[1]


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


def test_proposals_follow_a_blueprint_and_what_the_class_gets_wrong(room):
    made = drafting.draft(
        room.house, room.ida, BLANK["home"], drafting.Audience(room.class_id), now=NOON
    )
    questions.add_by_blueprint(
        room.house, room.ida, made, {"cycle": 2, "marks": 1, "wear": 0}, sheet="demo-inline-four"
    )
    topics = [
        one.topic_title for one in assignment_pages.look(room.house, room.ida, made).questions
    ]
    assert topics == ["Strokes and firing order"] * 2 + ["Timing marks"]
    with pytest.raises(InputError, match="answered nothing"):
        questions.add_by_mistakes(room.house, room.ida, made, count=2, sheet=None, now=NOON)

    wrong = give_out(room, replace(BLANK["home"], title="wrong"), ("percent",))
    for actor in (room.ana, room.ben):
        token = begin(room, actor, wrong)
        save(room, actor, token, 1, Given(number="99"), now=minutes(1))
        closing.hand_in(room.house, actor, token, now=minutes(2))
    questions.add_by_mistakes(room.house, room.ida, made, count=2, sheet=None, now=minutes(3))

    added = assignment_pages.look(room.house, room.ida, made).questions[3:]
    assert [one.topic_title for one in added] == ["Chains and belts"] * 2


def test_what_is_given_out_keeps_its_questions(room, test_id):
    with pytest.raises(ConflictError, match="given out"):
        questions.remove(room.house, room.ida, test_id, 1)
    with pytest.raises(ConflictError, match="stay as they are"):
        drafting.change(
            room.house,
            room.ida,
            test_id,
            replace(BLANK["test"], minutes=60),
            drafting.Audience(room.class_id),
            now=NOON,
        )
    later = replace(BLANK["test"], due_at=NOON + timedelta(days=1), title="Renamed")
    drafting.change(
        room.house, room.ida, test_id, later, drafting.Audience(room.class_id), now=NOON
    )
    assert assignment_pages.look(room.house, room.ida, test_id).terms == later


def test_answers_not_checked_one_by_one_come_into_the_record_at_the_end(room):
    home = give_out(room, replace(BLANK["home"], feedback=Feedback.EACH))
    token = begin(room, room.ana, home)
    save(room, room.ana, token, 1, right_given(room, token, 1), now=minutes(1))
    save(room, room.ana, token, 2, right_given(room, token, 2), now=minutes(1))
    saving_answers.check(room.house, room.ana, token, 1, place="desk", now=minutes(2))

    closing.hand_in(room.house, room.ana, token, now=minutes(2))

    assert stored_count(room.house, "response") == 2
    assert practise.history(room.house, room.ana, now=minutes(3)).total == 2
