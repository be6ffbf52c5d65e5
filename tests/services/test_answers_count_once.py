"""An answer counts once, for the person it was asked of, while it is fresh."""

from __future__ import annotations

import threading
from datetime import timedelta

import pytest
from sqlalchemy import select, text, update
from workshop import NOON

from quizsvc.errors import ConflictError, InputError, NotAllowedError, NotFoundError
from quizsvc.services import practise
from quizsvc.services.recipes import draw_offered
from quizsvc.services.shown import Given
from quizsvc.store.offers import Offer, Response, find_offer


@pytest.fixture
def token(house, ana):
    return practise.put_next(house, ana, topic="safety", now=NOON)


def stored_answers(house) -> int:
    with house.read() as connection:
        return connection.execute(text("SELECT count(*) FROM response")).scalar_one()


def competence_rows(house):
    with house.read() as connection:
        general = connection.execute(text("SELECT * FROM general_competence")).all()
        topics = connection.execute(text("SELECT * FROM topic_competence")).all()
    return general, topics


def test_a_second_submission_gets_the_first_outcome_and_changes_nothing(
    house, ana, token, workshop
):
    first = practise.answer(house, ana, token, Given(choices=(1,)), now=workshop.later(minutes=1))
    before = competence_rows(house)

    second = practise.answer(house, ana, token, Given(choices=(2,)), now=workshop.later(minutes=1))

    assert second == first
    assert stored_answers(house) == 1
    assert competence_rows(house) == before


def test_ten_submissions_at_once_store_one_answer_and_all_get_its_outcome(house, ana, token):
    outcomes, failures = [], []

    def submit(choice: int) -> None:
        try:
            given = Given(choices=(choice,))
            outcomes.append(practise.answer(house, ana, token, given, now=NOON))
        except Exception as failure:  # noqa: BLE001 - shown below
            failures.append(failure)

    threads = [threading.Thread(target=submit, args=(1 + n % 4,)) for n in range(10)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert not failures
    assert len(outcomes) == 10
    assert len(set(outcomes)) == 1
    assert stored_answers(house) == 1
    assert competence_rows(house)[1][0].answers == 1


def test_two_first_answers_of_one_person_at_once_both_count(house, ana):
    tokens = [practise.put_next(house, ana, topic=t, now=NOON) for t in ("safety", "procedure")]
    order = Given(choices=(1,)), Given(order=(1, 2, 3))
    failures = []

    def submit(token: str, given: Given) -> None:
        try:
            practise.answer(house, ana, token, given, now=NOON)
        except Exception as failure:  # noqa: BLE001 - shown below
            failures.append(failure)

    threads = [
        threading.Thread(target=submit, args=pair) for pair in zip(tokens, order, strict=True)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert not failures
    assert stored_answers(house) == 2
    assert competence_rows(house)[0][0].answers == 2


def test_another_persons_question_looks_like_none_at_all(house, workshop, token):
    ben, oda = workshop.people["ben"], workshop.people["oda"]

    for stranger in (ben, oda):
        with pytest.raises(NotFoundError) as foreign:
            practise.answer(house, stranger, token, Given(choices=(1,)), now=NOON)
        with pytest.raises(NotFoundError) as unknown:
            practise.open_offer(house, stranger, "0" * 32, now=NOON)
        assert foreign.value.problem == unknown.value.problem
    assert stored_answers(house) == 0


@pytest.mark.parametrize("wrong", ["", "x", "0" * 31, "é" * 32, "' OR 1=1 --", "0" * 32])
def test_a_token_that_is_none_is_refused_clearly(house, ana, wrong):
    with pytest.raises(NotFoundError, match="no such question"):
        practise.open_offer(house, ana, wrong, now=NOON)


def test_a_question_a_week_old_is_stale_and_counts_for_nothing(house, ana, token):
    late = NOON + timedelta(days=7, seconds=1)

    with pytest.raises(ConflictError, match="7 days"):
        practise.open_offer(house, ana, token, now=late)
    with pytest.raises(ConflictError, match="7 days"):
        practise.answer(house, ana, token, Given(choices=(1,)), now=late)

    assert stored_answers(house) == 0


def test_a_question_just_under_a_week_old_may_still_be_answered(house, ana, token):
    assert practise.answer(
        house, ana, token, Given(choices=(1,)), now=NOON + timedelta(days=6, hours=23)
    )


def test_an_answered_question_can_be_looked_at_for_ever(house, ana, token):
    outcome = practise.answer(house, ana, token, Given(choices=(1,)), now=NOON)

    years_later = NOON + timedelta(days=2000)

    assert practise.outcome(house, ana, token, now=years_later) == outcome
    assert practise.open_offer(house, ana, token, now=years_later).answered


def test_a_clock_set_back_loses_no_answer(house, ana, token):
    practise.answer(house, ana, token, Given(choices=(1,)), now=NOON)
    second = practise.put_next(house, ana, topic="safety", now=NOON)

    outcome = practise.answer(
        house, ana, second, Given(choices=(1,)), now=NOON - timedelta(hours=1)
    )

    assert outcome.after.answers == 2


def test_a_question_that_would_be_drawn_differently_now_is_not_marked(house, ana, token):
    with house.write() as connection:
        connection.execute(update(Offer).values(item_hash="0" * 64))

    with pytest.raises(ConflictError, match="replaced"):
        practise.answer(house, ana, token, Given(choices=(1,)), now=NOON)

    assert stored_answers(house) == 0


def test_an_answer_stands_even_when_its_question_has_been_replaced(house, ana, token):
    answered = practise.answer(house, ana, token, Given(choices=(1,)), now=NOON)
    with house.write() as connection:
        connection.execute(update(Offer).values(item_hash="0" * 64))

    later = practise.outcome(house, ana, token, now=NOON)

    assert (later.correct, later.given_words) == (answered.correct, answered.given_words)
    assert later.after == answered.after
    assert "replaced" in later.rationale
    assert practise.history(house, ana, now=NOON).total == 1


@pytest.mark.parametrize(
    "given",
    [
        Given(),
        Given(choices=(0,)),
        Given(choices=(5,)),
        Given(choices=(-1,)),
        Given(choices=(1, 2)),
        Given(number="1"),
        Given(order=(1, 2, 3, 4)),
    ],
)
def test_an_answer_that_fits_no_option_is_refused_and_leaves_the_question_open(
    house, ana, token, given
):
    with pytest.raises(InputError) as refused:
        practise.answer(house, ana, token, given, now=NOON)

    assert refused.value.field == "choice"
    assert refused.value.remedy
    assert not practise.open_offer(house, ana, token, now=NOON).answered


def test_neither_outcome_nor_solution_is_shown_before_the_answer(house, ana, token):
    with pytest.raises(ConflictError, match="not answered"):
        practise.outcome(house, ana, token, now=NOON)
    with pytest.raises(NotAllowedError):
        practise.figure(house, ana, token, solution=True, now=NOON)


def test_what_is_shown_before_the_answer_holds_no_key_seed_or_misconception(house, ana):
    for _ in range(40):
        token = practise.put_next(house, ana, now=NOON)
        with house.read() as connection:
            offer = find_offer(connection, token)
            item = draw_offered(house.shelf, connection, offer)

        shown = repr(practise.open_offer(house, ana, token, now=NOON))

        assert str(offer.seed) not in shown
        assert offer.item_hash not in shown
        for option in item.options:
            assert not option.misconception or option.misconception not in shown
            assert not option.rationale or option.rationale not in shown


def test_the_answer_is_kept_in_the_items_own_terms(house, ana, token):
    shown = practise.open_offer(house, ana, token, now=NOON)
    practise.answer(house, ana, token, Given(choices=(3,)), now=NOON)

    with house.read() as connection:
        stored = connection.execute(select(Response.given, Response.given_words)).one()

    assert stored.given == '{"choices": [2]}'
    assert stored.given_words == shown.options[2].text


def test_submitting_says_whether_the_answer_was_the_first(house, ana, token):
    given = Given(choices=(1,))

    assert practise.submit(house, ana, token, given, now=NOON)
    assert not practise.submit(house, ana, token, given, now=NOON)
