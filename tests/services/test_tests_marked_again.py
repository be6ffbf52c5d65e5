"""A key was wrong and tests were sat by it: what would change, doing it, and what people see."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import timedelta
from threading import Barrier

import pytest
from classroom import BLANK
from sat_again import (
    CORRECTED,
    FIRST_KEY,
    REF,
    WHY,
    correct_key,
    crew_with_item,
    give_out,
    mark,
    plan,
    scheme_that_asks_it,
    sit,
    sit_for_certificate,
)
from sqlalchemy import text
from sqlalchemy.exc import DBAPIError
from workshop import NOON
from written_items import decided

from quizsvc.errors import ConflictError, InputError, NotAllowedError, NotFoundError
from quizsvc.rules.actors import Actor, Role
from quizsvc.rules.assignments import Feedback, Form, Terms
from quizsvc.rules.reviewing import Deed
from quizsvc.rules.tests_again import Remedy, Shift
from quizsvc.services import practise
from quizsvc.services.auditing import broken_at
from quizsvc.services.background import run_next
from quizsvc.services.certifying import (
    appeals,
    cases,
    certificate_pages,
    changed_results,
    deciding,
)
from quizsvc.services.sitting import closing, question_pages
from quizsvc.services.tests_again.doing import Done
from quizsvc.services.watching import kept_sittings, live_view, results
from quizsvc.store import competence, form_marks, sat_questions

LATER = NOON + timedelta(days=1)
AT_END = replace(BLANK["test"], feedback=Feedback.AT_END, due_at=NOON + timedelta(hours=2))


@pytest.fixture
def crew_and_item(workshop):
    return crew_with_item(workshop)


@pytest.fixture
def crew(crew_and_item):
    return crew_and_item[0]


@pytest.fixture
def item_id(crew_and_item):
    return crew_and_item[1]


@pytest.fixture
def sat(crew):
    """A test that Ana sat as its key says is wrong, Ben as it says is right; all is told."""
    test = give_out(crew, AT_END)
    tokens = sit(crew, test, crew.ana, CORRECTED), sit(crew, test, crew.ben, FIRST_KEY)
    closing.count_all_told(crew.house, now=AT_END.due_at)
    return test, *tokens


def stored(house, words, **values):
    with house.read() as connection:
        return [tuple(row) for row in connection.execute(text(words), values)]


def points(crew, test):
    rows = live_view.live(crew.house, crew.ida, test, now=LATER).rows
    return {row.name: (row.points, row.out_of) for row in rows}


def told(crew):
    """Return who is written to about what, of what this is about."""
    return stored(
        crew.house,
        "SELECT person.name, subject FROM outgoing_message JOIN person ON person.id = person_id "
        "WHERE subject LIKE '%marked again%' OR subject LIKE '%has changed%' "
        "ORDER BY person.name, subject",
    )


def test_before_anything_is_done_the_instructor_sees_what_would_change(crew, item_id, sat):
    before = plan(crew, item_id)
    correct_key(crew, item_id, CORRECTED, LATER)

    found = plan(crew, item_id)

    assert before.lines == ()
    seen = [
        (one.asked.person, one.now.points, one.marked.points, one.void.points, one.void.out_of)
        for one in found.lines
    ]
    assert seen == [("Ana", 1, 2, 1, 1), ("Ben", 2, 1, 1, 1)]
    assert (found.has_key, found.right_words, found.reworded) == (True, CORRECTED, False)
    assert points(crew, sat[0]) == {"Ana": (1, 2), "Ben": (2, 2)}


def test_marked_again_the_new_result_stands_beside_the_first(crew, item_id, sat):
    test, ana, _ = sat
    correct_key(crew, item_id, CORRECTED, LATER)

    done = mark(crew, item_id, LATER)

    assert (done.sittings, done.changed) == (2, 2)
    assert points(crew, test) == {"Ana": (2, 2), "Ben": (1, 2)}
    review = question_pages.review(crew.house, crew.ana, ana, now=LATER)
    (again,) = review.again
    assert (review.points, review.out_of) == (2, 2)
    assert (again.points_before, again.points, again.by, again.why, again.at) == (
        *(1, 2, "Ida", WHY),
        LATER,
    )
    answer = next(one for one in review.answers if one.number == again.number)
    assert (answer.correct, answer.right_words) == (True, CORRECTED)
    assert (answer.first.correct, answer.first.right_words) == (False, FIRST_KEY)
    assert broken_at(crew.house) is None


def test_what_was_shown_and_marked_first_is_kept(crew, item_id, sat):
    wanted = "SELECT shown_hash, correct, right_words, given FROM sitting_item ORDER BY 1, 2, 3"
    before = stored(crew.house, wanted)
    correct_key(crew, item_id, CORRECTED, LATER)

    mark(crew, item_id, LATER)

    assert stored(crew.house, wanted) == before
    kept = kept_sittings.kept(crew.house, crew.ida, sat[0], sat[1], now=LATER)
    (answer,) = [one for one in kept.answers if one.again]
    assert (answer.correct, answer.right_words) == (False, FIRST_KEY)
    assert (answer.again[0].correct, answer.again[0].right_words) == (True, CORRECTED)


@pytest.mark.parametrize("table", ["sitting_remark", "sitting_mark"])
@pytest.mark.parametrize("change", ["UPDATE {} SET {} = {}", "DELETE FROM {}"])
@pytest.mark.usefixtures("sat")
def test_what_was_marked_again_is_never_changed(crew, item_id, table, change):
    correct_key(crew, item_id, CORRECTED, LATER)
    mark(crew, item_id, LATER)
    column = {"sitting_remark": "why", "sitting_mark": "points"}[table]

    with pytest.raises(DBAPIError, match="never changed"), crew.house.write() as connection:
        connection.execute(text(change.format(table, column, column)))


def test_declared_void_the_question_counts_for_nobody(crew, item_id, sat):
    test, ana, _ = sat
    correct_key(crew, item_id, CORRECTED, LATER)

    done = mark(crew, item_id, LATER, remedy=Remedy.VOID)

    assert (done.sittings, done.changed) == (2, 2)
    assert points(crew, test) == {"Ana": (1, 1), "Ben": (1, 1)}
    review = question_pages.review(crew.house, crew.ana, ana, now=LATER)
    (again,) = review.again
    assert (again.remedy, again.out_of_before, again.out_of) == (Remedy.VOID, 2, 1)
    assert [one.void_reason for one in review.answers if one.void] == [WHY]
    assert plan(crew, item_id).lines == ()
    actions = stored(crew.house, "SELECT action FROM audit_entry ORDER BY number DESC LIMIT 2")
    assert {row[0] for row in actions} == {"tests marked again", "question voided"}


def test_a_question_marked_again_can_be_declared_void_after_all(crew, item_id, sat):
    correct_key(crew, item_id, CORRECTED, LATER)
    mark(crew, item_id, LATER)

    mark(crew, item_id, LATER, remedy=Remedy.VOID, why="Both ways are wrong.")

    assert points(crew, sat[0]) == {"Ana": (1, 1), "Ben": (1, 1)}
    again = question_pages.review(crew.house, crew.ana, sat[1], now=LATER).again
    results = [(one.points_before, one.out_of_before, one.points, one.out_of) for one in again]
    assert results == [(1, 2, 2, 2), (2, 2, 1, 1)]


def test_a_second_correction_marks_by_the_newest_key(crew, item_id, sat):
    correct_key(crew, item_id, CORRECTED, LATER)
    mark(crew, item_id, LATER)
    correct_key(crew, item_id, FIRST_KEY, LATER)

    done = mark(crew, item_id, LATER, why="The first key was right after all.")

    assert done.changed == 2
    assert points(crew, sat[0]) == {"Ana": (1, 2), "Ben": (2, 2)}
    assert len(question_pages.review(crew.house, crew.ben, sat[2], now=LATER).again) == 2


@pytest.mark.usefixtures("sat")
def test_doing_it_twice_is_refused(crew, item_id):
    correct_key(crew, item_id, CORRECTED, LATER)
    seen = plan(crew, item_id).seen
    mark(crew, item_id, LATER)

    with pytest.raises(ConflictError, match="changed since you looked"):
        mark(crew, item_id, LATER, seen=seen)
    with pytest.raises(ConflictError, match="no finished test is left"):
        mark(crew, item_id, LATER)


def test_of_two_who_do_it_at_once_one_is_refused(crew, item_id, sat):
    correct_key(crew, item_id, CORRECTED, LATER)
    seen = plan(crew, item_id).seen
    both = Barrier(2)

    def do(actor):
        both.wait()
        try:
            return mark(crew, item_id, LATER, by=actor, seen=seen)
        except ConflictError as refusal:
            return refusal.problem

    with ThreadPoolExecutor(2) as pool:
        outcomes = list(pool.map(do, (crew.ida, crew.ina)))

    assert len([one for one in outcomes if isinstance(one, Done)]) == 1
    assert stored(crew.house, "SELECT count(*) FROM sitting_mark") == [(2,)]
    assert points(crew, sat[0]) == {"Ana": (2, 2), "Ben": (1, 2)}
    assert broken_at(crew.house) is None


def test_nothing_is_done_that_was_not_looked_at(crew, item_id, sat):
    correct_key(crew, item_id, CORRECTED, LATER)
    seen = plan(crew, item_id).seen
    results.void(crew.house, crew.ida, sat[0], 2, "The picture was missing.", now=LATER)

    with pytest.raises(ConflictError, match="changed since you looked"):
        mark(crew, item_id, LATER, seen=seen)

    assert stored(crew.house, "SELECT count(*) FROM sitting_mark") == [(0,)]


@pytest.mark.usefixtures("sat")
@pytest.mark.parametrize("why", ["", "  ", "x" * 301])
def test_a_reason_is_needed(crew, item_id, why):
    correct_key(crew, item_id, CORRECTED, LATER)

    with pytest.raises(InputError, match="reason"):
        mark(crew, item_id, LATER, why=why)


def test_everybody_whose_result_changed_is_told_once(crew, item_id, sat):
    correct_key(crew, item_id, CORRECTED, LATER)
    mark(crew, item_id, LATER)

    subject = "A test of yours was marked again"
    assert sat
    assert told(crew) == [("Ana", subject), ("Ben", subject)]


def test_nobody_is_told_of_a_result_that_is_not_told_yet(crew, item_id):
    test = give_out(crew)
    token = sit(crew, test, crew.ana, CORRECTED)
    correct_key(crew, item_id, CORRECTED, LATER)

    mark(crew, item_id, LATER)

    assert told(crew) == []
    hidden = question_pages.review(crew.house, crew.ana, token, now=LATER)
    assert (hidden.points, hidden.again) == (None, ())
    results.release(crew.house, crew.ida, test, now=LATER)
    review = question_pages.review(crew.house, crew.ana, token, now=LATER)
    assert (review.points, len(review.again)) == (2, 1)


def record_of(crew, actor):
    entries = practise.history(crew.house, actor, now=LATER + timedelta(days=1)).entries
    return [(one.correct, one.first is not None) for one in entries if one.right_words == CORRECTED]


def right_answers(crew, actor):
    with crew.house.read() as connection:
        rows = competence.topics_of(connection, actor.person_id)
    return sum(row.right_answers for row in rows.values())


def test_the_answer_in_the_record_follows_its_test(crew, item_id, sat):
    before = right_answers(crew, crew.ana), right_answers(crew, crew.ben)
    correct_key(crew, item_id, CORRECTED, LATER)

    mark(crew, item_id, LATER)

    assert sat
    assert before == (1, 2)
    assert (right_answers(crew, crew.ana), right_answers(crew, crew.ben)) == (2, 1)
    assert record_of(crew, crew.ana) == [(True, True)]


def test_an_answer_marked_again_already_is_not_marked_twice(crew, item_id, sat):
    correct_key(crew, item_id, CORRECTED, LATER, mark_answers=True)

    mark(crew, item_id, LATER)

    assert sat
    assert stored(crew.house, "SELECT count(*) FROM remarked_response") == [(2,)]
    assert right_answers(crew, crew.ana) == 2


def test_an_answer_that_comes_into_the_record_later_follows_its_test_too(crew, item_id):
    test = give_out(crew)
    sit(crew, test, crew.ana, CORRECTED)
    correct_key(crew, item_id, CORRECTED, LATER)
    mark(crew, item_id, LATER)

    results.release(crew.house, crew.ida, test, now=LATER)
    run_next(crew.house, lambda: LATER)

    assert record_of(crew, crew.ana) == [(True, True)]
    assert right_answers(crew, crew.ana) == 2


def test_a_sitting_that_ends_after_the_correction_is_marked_again_later(crew, item_id):
    test = give_out(crew, AT_END)
    sit(crew, test, crew.ana, CORRECTED)
    sit(crew, test, crew.ben, CORRECTED, hand_in=False)
    correct_key(crew, item_id, CORRECTED, NOON + timedelta(minutes=10))
    mark(crew, item_id, NOON + timedelta(minutes=11))

    live_view.live(crew.house, crew.ida, test, now=LATER)  # Ben's time is over by then
    waiting = [one.asked.person for one in plan(crew, item_id).to_mark]
    mark(crew, item_id, LATER)

    assert waiting == ["Ben"]
    assert points(crew, test) == {"Ana": (2, 2), "Ben": (2, 2)}


def test_the_number_that_waits_is_that_of_the_plan(crew, item_id, sat):
    def waiting():
        found = plan(crew, item_id)
        with crew.house.read() as connection:
            return sat_questions.count_waiting(connection, crew.ida.shop_id, REF, found.used)

    assert sat
    before = waiting()
    correct_key(crew, item_id, CORRECTED, LATER)
    then = waiting()
    mark(crew, item_id, LATER)

    assert (before, then, waiting()) == (0, 2, 0)


def test_an_answer_that_has_no_meaning_in_the_corrected_item_stays(crew, item_id, sat):
    correct_key(crew, item_id, "Its pulley is marked up", LATER)
    assert [one.marked.points for one in plan(crew, item_id).lines] == [1, 1]

    mark(crew, item_id, LATER)

    # Ana's other answer was right; nobody chose what is right now.
    assert points(crew, sat[0]) == {"Ana": (1, 2), "Ben": (1, 2)}


def test_without_a_corrected_key_a_question_can_only_be_declared_void(crew, item_id, sat):
    decided(
        crew.house, crew.ida, item_id, Deed.WITHDRAWN, 1, LATER,
        words="Two are right.", mark_again=True,
    )  # fmt: skip
    give_up = plan(crew, item_id)
    assert (give_up.has_key, [line.left for line in give_up.lines]) == (False, ["", ""])

    with pytest.raises(ConflictError, match="no corrected key"):
        mark(crew, item_id, LATER)
    mark(crew, item_id, LATER, remedy=Remedy.VOID)

    assert points(crew, sat[0]) == {"Ana": (1, 1), "Ben": (1, 1)}


def test_homework_is_marked_again_like_a_test(crew, item_id):
    terms = Terms("Homework", Form.HOMEWORK, NOON, NOON + timedelta(days=7))
    token = sit(crew, give_out(crew, terms), crew.ana, CORRECTED)
    correct_key(crew, item_id, CORRECTED, LATER)

    mark(crew, item_id, LATER)

    after_due = NOON + timedelta(days=8)
    assert question_pages.review(crew.house, crew.ana, token, now=after_due).points == 2


def test_reports_of_a_test_read_the_newest_marks(crew, item_id):
    def right_of(test):
        tallies = results.tallies(crew.house, crew.ida, test)
        with crew.house.read() as connection:
            marks = form_marks.first_tries(connection, test)
        return [one.right for one in tallies], sum(one.correct for one in marks)

    test = give_out(crew, replace(AT_END, title="Another"))
    sit(crew, test, crew.ana, CORRECTED, now=NOON + timedelta(minutes=30))
    before = right_of(test)
    correct_key(crew, item_id, CORRECTED, LATER)

    mark(crew, item_id, LATER)

    assert before == ([0, 1], 1)
    assert right_of(test) == ([1, 1], 2)


@pytest.mark.usefixtures("sat")
def test_only_instructors_of_the_shop_may(crew, item_id, workshop):
    correct_key(crew, item_id, CORRECTED, LATER)
    oda = workshop.people["oda"]
    stranger = Actor(oda.person_id, "Oda", oda.shop_id, frozenset({Role.INSTRUCTOR}))

    for actor in (crew.ana, crew.max):
        with pytest.raises(NotAllowedError):
            mark(crew, item_id, LATER, by=actor)
    with pytest.raises(NotFoundError):
        mark(crew, item_id, LATER, by=stranger)


@pytest.mark.usefixtures("sat")
def test_nobody_marks_their_own_test_again(crew, item_id):
    correct_key(crew, item_id, CORRECTED, LATER)
    both = Actor(
        crew.ana.person_id, "Ana", crew.ana.shop_id, frozenset({Role.LEARNER, Role.INSTRUCTOR})
    )

    with pytest.raises(NotAllowedError, match="sat one of these tests yourself"):
        mark(crew, item_id, LATER, by=both)

    refusals = stored(
        crew.house, "SELECT detail FROM audit_entry WHERE action = 'certification refused'"
    )
    assert "yourself" in refusals[-1][0]


# Certificates.


@pytest.fixture
def decided_forms(crew):
    """Ana certified by what the wrong key says is right, Ben refused by what it says is wrong."""
    version = scheme_that_asks_it(crew)
    return (
        sit_for_certificate(crew, version, crew.ana, FIRST_KEY, certify=True),
        sit_for_certificate(crew, version, crew.ben, CORRECTED, certify=False),
    )


def states(crew, actor):
    lines = certificate_pages.own(crew.house, actor, now=LATER)
    return [line.state.value for line in lines]


def flagged(crew, actor=None):
    found = changed_results.to_decide(crew.house, actor or crew.max)
    return [(one.candidate, one.turned, one.decided_points, one.points) for one in found]


def test_the_plan_says_which_results_cross_the_cut(crew, item_id, decided_forms):
    correct_key(crew, item_id, CORRECTED, LATER)

    found = plan(crew, item_id)

    seen = [
        (one.asked.person, one.by_marking, one.by_voiding, one.certified) for one in found.lines
    ]
    # Declared void, two of three stay; the cut of 0.6 then asks for two.
    assert seen == [("Ana", Shift.FALLS, None, True), ("Ben", Shift.RISES, Shift.RISES, False)]
    assert decided_forms


def test_a_certificate_is_never_revoked_by_the_marking_itself(crew, item_id, decided_forms):
    correct_key(crew, item_id, CORRECTED, LATER)

    mark(crew, item_id, LATER)

    assert states(crew, crew.ana) == ["valid"]
    assert states(crew, crew.ben) == []
    assert flagged(crew) == [("Ana", Shift.FALLS, 3, 2), ("Ben", Shift.RISES, 2, 3)]
    assert ("Max", "A result you decided on has changed") in told(crew)
    assert decided_forms


def test_the_one_who_decides_takes_it_back_and_certifies_the_other(crew, item_id, decided_forms):
    ana, ben = decided_forms
    correct_key(crew, item_id, CORRECTED, LATER)
    mark(crew, item_id, LATER)

    deciding.decide(crew.house, crew.max, ana, certify=False, reason="Below the cut.", now=LATER)
    deciding.decide(crew.house, crew.max, ben, certify=True, reason="", now=LATER)

    assert states(crew, crew.ana) == ["revoked"]
    assert states(crew, crew.ben) == ["valid"]
    assert flagged(crew) == []
    assert broken_at(crew.house) is None


def test_a_decision_may_be_let_stand_with_a_reason(crew, item_id, decided_forms):
    ana, _ = decided_forms
    correct_key(crew, item_id, CORRECTED, LATER)
    mark(crew, item_id, LATER)

    changed_results.uphold(crew.house, crew.max, ana, "She showed it by hand.", now=LATER)

    assert states(crew, crew.ana) == ["valid"]
    assert [name for name, *_ in flagged(crew)] == ["Ben"]
    since = changed_results.since_decided(crew.house, crew.max, ana, now=LATER)
    assert (since.upheld.why, since.upheld.by) == ("She showed it by hand.", "Max")


def test_what_was_let_stand_asks_anew_when_the_result_changes_again(crew, item_id, decided_forms):
    ana, _ = decided_forms
    correct_key(crew, item_id, CORRECTED, LATER)
    mark(crew, item_id, LATER)
    changed_results.uphold(crew.house, crew.max, ana, "She showed it by hand.", now=LATER)
    with crew.house.read() as connection:
        test, place = connection.execute(
            text(
                "SELECT q.assignment_id, q.place FROM assignment_question q "
                "JOIN candidate_form f ON f.assignment_id = q.assignment_id "
                "JOIN sitting_item i ON i.question_id = q.id "
                "WHERE f.id = :form AND q.item_ref <> :ref AND i.correct"
            ),
            {"form": ana, "ref": REF},
        ).first()

    results.void(crew.house, crew.ida, test, place, "Its picture was missing.", now=LATER)

    assert ("Ana", Shift.FALLS, 3, 1) in flagged(crew)


def test_who_taught_the_candidate_does_not_let_it_stand_alone(crew, item_id, decided_forms):
    ana, _ = decided_forms
    correct_key(crew, item_id, CORRECTED, LATER)
    mark(crew, item_id, LATER)

    with pytest.raises(NotAllowedError, match="taught or assessed"):
        changed_results.uphold(crew.house, crew.ida, ana, "She knows it.", now=LATER)
    with pytest.raises(InputError, match="reason"):
        changed_results.uphold(crew.house, crew.max, ana, " ", now=LATER)


def test_a_decision_whose_result_did_not_cross_the_cut_is_not_upheld(crew, decided_forms):
    with pytest.raises(ConflictError, match="did not cross the cut"):
        changed_results.uphold(crew.house, crew.max, decided_forms[0], "It is so.", now=LATER)


def test_the_candidate_reads_both_results_and_why(crew, item_id, decided_forms):
    ana, _ = decided_forms
    correct_key(crew, item_id, CORRECTED, LATER)
    mark(crew, item_id, LATER)

    (own,) = appeals.own_results(crew.house, crew.ana, now=LATER)

    assert own.since is not None
    assert (own.since.first_points, own.since.points, own.since.out_of) == (3, 2, 4)
    assert [(one.by, one.why) for one in own.since.remarks] == [("Ida", WHY)]
    assert ("Ana", "A test of yours was marked again") in told(crew)
    assert cases.case(crew.house, crew.max, ana, now=LATER).changed
