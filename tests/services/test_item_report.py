"""Items studied from the log in the background, and read back page by page."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from answer_log import fill_log
from classroom import BLANK, answer_all_right, give_out, make_room, save
from workshop import NOON

from quizsvc.errors import ConflictError, NotAllowedError, NotFoundError
from quizsvc.items.topics import TOPICS
from quizsvc.services import background, form_report, item_report, studies_due
from quizsvc.services.shown import Given
from quizsvc.services.sitting import beginning, closing

LATER = NOON + timedelta(days=1)


@pytest.fixture
def log(workshop):
    found = fill_log(workshop, people=60, items=6, seed=2)
    studies_due.study_due(workshop.house, now=LATER, least=1)
    return found


def test_every_answered_item_stands_in_the_list(workshop, log):
    found = item_report.item_list(workshop.house, workshop.people["ida"])

    assert {line.item_ref for line in found.lines} == set(log.items)
    assert all(line.answers == 60 for line in found.lines)
    assert found.picture is not None


def test_the_list_can_be_narrowed_to_a_topic(workshop, log):
    topic = item_report.item_list(workshop.house, workshop.people["ida"]).lines[0]

    narrowed = item_report.item_list(
        workshop.house, workshop.people["ida"], topic=_topic_id(topic.topic_title)
    )

    assert {line.topic_title for line in narrowed.lines} == {topic.topic_title}
    assert log.items


def _topic_id(title):
    return next(topic.id for topic in TOPICS if topic.title == title)


def test_an_item_page_says_each_thing_in_a_sentence_with_what_to_do(workshop, log):
    page = item_report.item_page(workshop.house, workshop.people["ida"], log.items[0])

    told = page.told
    for words in (
        *(told.difficulty, told.link, told.options, told.curve, told.fit),
        *(told.fairness, told.drift, told.exposure),
    ):
        assert words.says.endswith(".")
        assert words.do.endswith(".")
    assert page.enough
    assert page.study.studied.answers == 60
    assert page.study.numbers


def test_studying_again_takes_in_only_new_answers(workshop, log):
    assert studies_due.study_due(workshop.house, now=LATER, least=1) == 0
    assert studies_due.study_when_due(workshop.house, LATER) == 0
    assert log.items


def test_a_study_can_be_asked_for_and_is_done_in_the_background(workshop):
    fill_log(workshop, people=3, items=2, seed=4)
    studies_due.ask_for_study(workshop.house, workshop.people["ida"], now=NOON)

    assert background.run_next(workshop.house, lambda: LATER)

    assert len(item_report.item_list(workshop.house, workshop.people["ida"]).lines) == 2


def test_an_item_nobody_answered_is_not_known(workshop):
    with pytest.raises(NotFoundError):
        item_report.item_page(workshop.house, workshop.people["ida"], "piston-drop")


def test_learners_see_no_studies(workshop, log):
    with pytest.raises(NotAllowedError):
        item_report.item_list(workshop.house, workshop.people["ana"])
    with pytest.raises(NotAllowedError):
        item_report.item_page(workshop.house, workshop.people["ana"], log.items[0])


def test_other_shops_see_none_of_it(workshop, log):
    elsewhere = replace(workshop.people["ida"], shop_id=workshop.people["oda"].shop_id)

    assert item_report.item_list(workshop.house, elsewhere).lines == ()
    assert log.items


def test_a_test_that_too_few_have_finished_is_not_analysed(workshop):
    room = make_room(workshop)
    assignment = give_out(room, BLANK["home"])

    with pytest.raises(ConflictError, match="at least 5 people"):
        form_report.form_report(room.house, room.ida, assignment)


def test_a_finished_test_tells_its_reliability_and_each_question(workshop, monkeypatch):
    room = make_room(workshop)
    assignment = give_out(room, BLANK["home"])
    monkeypatch.setattr(form_report, "FEWEST_PEOPLE", 2)
    for person in (room.ana, room.ben):
        token = beginning.begin(room.house, person, assignment, place="desk", now=NOON)
        if person is room.ana:
            answer_all_right(room, person, token, NOON)
        else:
            save(room, person, token, 3, Given(number="9"), now=NOON)
        closing.hand_in(room.house, person, token, now=NOON)

    found = form_report.form_report(room.house, room.ida, assignment)

    assert (found.people, len(found.questions), found.mean) == (2, 5, 2.5)
    assert found.kr20 == pytest.approx(1.0)  # one all right, one all wrong
    assert all(question.share == 0.5 for question in found.questions)
