"""Answers marked again: beside the responses, with the people concerned and their standing."""

import pytest
from sqlalchemy import text
from sqlalchemy.exc import DBAPIError
from written_items import CHOICE, RIGHT, WRONG, answered, approved, decided, put, saved, with_key
from written_items import with_bank as make_bank

from quizsvc.errors import ConflictError
from quizsvc.rules.reviewing import Deed
from quizsvc.scoring.standing import uncalibrated
from quizsvc.services import background, practise, remark, review
from quizsvc.services.auditing import broken_at
from quizsvc.services.replay import Counted, recompute, replay
from quizsvc.services.shown import Given
from quizsvc.store import calibrations, competence, jobs, studies


@pytest.fixture
def iris(workshop):
    return workshop.people["iris"]


@pytest.fixture
def item(workshop, ida, iris):
    make_bank(workshop.house, ida, workshop.now)
    return approved(workshop.house, ida, iris, workshop.now)


def standing(house, person):
    with house.read() as connection:
        topics = competence.topics_of(connection, person.person_id)
        return competence.general_of(connection, person.person_id), topics


def corrected(workshop, item, writer, approver, *, mark_again=True):
    house, now = workshop.house, workshop.later(days=1)
    what = saved(
        house, writer, now, with_key(CHOICE, WRONG), item_id=item.item_id, based_on=item.version
    )
    decided(house, writer, item.item_id, Deed.SENT, what.version, now)
    return decided(
        house,
        approver,
        item.item_id,
        Deed.APPROVED,
        what.version,
        now,
        words="The key was wrong.",
        mark_again=mark_again,
    )


def test_a_corrected_key_marks_answers_again_and_lists_whom_it_concerns(
    workshop, item, ida, iris, ana
):
    house, now, ben = workshop.house, workshop.now, workshop.people["ben"]
    token = answered(house, ana, now, WRONG)
    answered(house, ben, now, RIGHT)
    assert not practise.outcome(house, ana, token, now=now).correct

    remark_id = corrected(workshop, item, iris, ida)

    found = remark.remark_page(house, ida, item.item_id, remark_id)
    assert [(one.person, one.was_correct, one.correct) for one in found.people] == [
        ("Ana", False, True),
        ("Ben", True, False),
    ]
    outcome = practise.outcome(house, ana, token, now=now)
    assert outcome.correct
    assert outcome.right_words == WRONG
    assert "key of this question was corrected" in outcome.remarked
    assert broken_at(house) is None
    with house.read() as connection:
        deeds = connection.scalars(
            text("SELECT detail FROM audit_entry WHERE action = 'answers marked again'")
        ).all()
    assert len(deeds) == 1
    assert f'"people":[{ana.person_id},{ben.person_id}]' in deeds[0]


def test_the_standing_after_it_is_that_of_the_answers_as_they_count_now(
    workshop, item, ida, iris, ana
):
    house, now = workshop.house, workshop.now
    answered(house, ana, now, WRONG)

    corrected(workshop, item, iris, ida)

    expected = replay([Counted("safety", uncalibrated("apply", 0.25), correct=True, at=now)])
    general, topics = standing(house, ana)
    assert general.mean == pytest.approx(expected.general.mean)
    assert general.mean > 0
    assert topics["safety"].mean == pytest.approx(expected.topics["safety"].mean)
    assert (topics["safety"].answers, topics["safety"].right_answers) == (1, 1)


def test_an_item_withdrawn_as_faulty_no_longer_counts(workshop, item, ida, iris, ana):
    house, now = workshop.house, workshop.now
    token = answered(house, ana, now, WRONG)

    decided(
        house, iris, item.item_id, Deed.WITHDRAWN, 1, now, words="Two are right.", mark_again=True
    )

    assert standing(house, ana) == (None, {})
    assert "no longer counts" in practise.outcome(house, ana, token, now=now).remarked
    assert "no longer counts" in practise.history(house, ana, now=now).entries[0].remarked
    page = review.item_page(house, ida, item.item_id)
    assert page.offered is None
    assert [(people, answers) for _, people, answers in page.remarks] == [(1, 1)]


def test_an_item_withdrawn_while_somebody_thinks_about_it_counts_for_nothing(
    workshop, item, iris, ana
):
    house, now = workshop.house, workshop.now
    token = put(house, ana, now)

    decided(house, iris, item.item_id, Deed.WITHDRAWN, 1, now, words="Two are right.")

    with pytest.raises(ConflictError, match="replaced since it was put to you"):
        practise.answer(house, ana, token, Given(choices=(1,)), now=now)
    assert standing(house, ana) == (None, {})


def test_an_item_withdrawn_as_outdated_leaves_answers_as_they_are(workshop, item, iris, ana):
    house, now = workshop.house, workshop.now
    answered(house, ana, now, RIGHT)
    before = standing(house, ana)

    decided(house, iris, item.item_id, Deed.WITHDRAWN, 1, now, words="No longer in use.")

    assert standing(house, ana) == before


def test_the_reviewer_is_told_what_approval_would_do_and_may_leave_answers(
    workshop, item, ida, iris, ana
):
    house = workshop.house
    answered(house, ana, workshop.now, WRONG)
    before = standing(house, ana)
    what = saved(
        house, iris, workshop.now, with_key(CHOICE, WRONG), item_id=item.item_id, based_on=1
    )
    decided(house, iris, item.item_id, Deed.SENT, what.version, workshop.now)

    told = review.item_page(house, ida, item.item_id).key_correction
    decided(house, ida, item.item_id, Deed.APPROVED, what.version, workshop.now)

    assert (told.answers, told.people, told.same_question) == (1, 1, True)
    assert standing(house, ana) == before


def test_an_answer_to_an_option_that_is_gone_is_left_as_it_is(workshop, item, ida, iris, ana):
    house, now = workshop.house, workshop.now
    answered(house, ana, now, WRONG)
    others = [one for one in CHOICE["options"] if one["text"] != WRONG]
    data = with_key(CHOICE | {"options": others}, others[1]["text"])
    what = saved(house, iris, now, data, item_id=item.item_id, based_on=1)
    decided(house, iris, item.item_id, Deed.SENT, what.version, now)

    remark_id = decided(house, ida, item.item_id, Deed.APPROVED, what.version, now, mark_again=True)

    assert remark.remark_page(house, ida, item.item_id, remark_id).people == ()


def test_replaying_answers_that_did_not_change_gives_the_standing_that_is_stored(workshop, ana):
    house = workshop.house
    for _ in range(12):
        now = workshop.later(days=2)
        token = practise.put_next(house, ana, topic="safety", now=now)
        kind = practise.open_offer(house, ana, token, now=now).kind
        if kind == "one choice":
            practise.answer(house, ana, token, Given(choices=(1,)), now=now)
    general, topics = standing(house, ana)

    recompute(house, ana.person_id)

    again, topics_again = standing(house, ana)
    assert again.mean == pytest.approx(general.mean)
    assert again.variance == pytest.approx(general.variance)
    assert topics_again["safety"].mean == pytest.approx(topics["safety"].mean)
    assert topics_again["safety"].answers == topics["safety"].answers > 3


def held_rows(house, person):
    with house.read() as connection:
        return connection.execute(
            text("SELECT * FROM held_idea WHERE person_id = :person ORDER BY idea"),
            {"person": person.person_id},
        ).all()


def test_replaying_answers_that_did_not_change_gives_the_ideas_that_are_held(workshop, ana):
    house = workshop.house
    for _ in range(30):
        now = workshop.later(days=1)
        token = practise.put_next(house, ana, topic="marks", now=now)
        if practise.open_offer(house, ana, token, now=now).kind == "one choice":
            practise.answer(house, ana, token, Given(choices=(2,)), now=now)
    before = held_rows(house, ana)

    recompute(house, ana.person_id)

    assert len(before) > 1
    assert held_rows(house, ana) == before


def test_an_idea_shown_only_by_a_faulty_key_is_no_longer_held(workshop, ida, iris, ana):
    house, now = workshop.house, workshop.now
    make_bank(house, ida, now)
    options = [
        one | {"misconception": "cam-for-crank"} if one["text"] == WRONG else one
        for one in CHOICE["options"]
    ]
    item = approved(house, ida, iris, now, CHOICE | {"options": options})
    answered(house, ana, now, WRONG)
    before = held_rows(house, ana)

    corrected(workshop, item, iris, ida)

    assert len(before) == 1
    assert held_rows(house, ana) == []


def test_marking_again_twice_writes_once(workshop, item, ida, iris, ana):
    house, now = workshop.house, workshop.now
    answered(house, ana, now, WRONG)
    remark_id = corrected(workshop, item, iris, ida)
    before = standing(house, ana)

    remark.begin(house, ida, remark_id, now=now)

    assert standing(house, ana) == before
    assert len(remark.remark_page(house, ida, item.item_id, remark_id).people) == 1
    with house.read() as connection:
        states = [
            one.state for one in jobs.latest(connection, ("mark again",), ida.shop_id, count=9)
        ]
    assert states == [background.JobState.DONE] * 2


@pytest.mark.parametrize("table", ["remark", "remarked_response", "item_note"])
@pytest.mark.parametrize("change", ["UPDATE {} SET {} = {}", "DELETE FROM {}"])
def test_what_was_decided_is_never_changed(workshop, item, ida, iris, ana, table, change):
    answered(workshop.house, ana, workshop.now, WRONG)
    corrected(workshop, item, iris, ida)
    column = {"remark": "why", "remarked_response": "right_words", "item_note": "words"}[table]

    with (
        pytest.raises(DBAPIError, match="never changed"),
        workshop.house.write() as connection,
    ):
        connection.execute(text(change.format(table, column, column)))


def test_a_replay_of_nothing_believes_nothing():
    assert replay([]).general is None


def studied(house, shop_id, item_ref):
    with house.read() as connection:
        answers = studies.latest_answers(connection, shop_id, item_ref, most=50)
        log = list(calibrations.log_upto(connection, calibrations.newest_response(connection)))
    return (
        [one.correct for one in answers],
        [one.correct for one in log if one.item_ref == item_ref],
    )


def test_studies_and_calibration_read_answers_as_they_count_now(workshop, item, ida, iris, ana):
    house = workshop.house
    answered(house, ana, workshop.now, WRONG)
    before = studied(house, ana.shop_id, "bank:ours/arm-held")

    corrected(workshop, item, iris, ida)

    assert before == ([False], [False])
    assert studied(house, ana.shop_id, "bank:ours/arm-held") == ([True], [True])


def test_answers_to_a_faulty_item_stay_out_of_studies_and_calibration(workshop, item, ida, ana):
    house = workshop.house
    answered(house, ana, workshop.now, WRONG)

    decided(
        house, ida, item.item_id, Deed.WITHDRAWN, item.version, workshop.now,
        mark_again=True, words="It is faulty.",
    )  # fmt: skip

    assert studied(house, ana.shop_id, "bank:ours/arm-held") == ([], [])
