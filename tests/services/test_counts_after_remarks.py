"""Class lists, searches and evidence follow the newest mark; the first one stays to be read."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from classroom import BLANK
from written_items import CHOICE, RIGHT, WRONG, answered, approved, decided, saved, with_key
from written_items import with_bank as make_bank

from quizsvc.rules.reviewing import Deed
from quizsvc.services import practise, review, search_items
from quizsvc.services.assigning import drafting, giving_out, questions
from quizsvc.services.assigning.drafting import Audience
from quizsvc.services.search_items import Difficulty, Query
from quizsvc.store import class_record, classes, evidence_of_change
from quizsvc.store.classes import Part

REF = "bank:ours/arm-held"


@pytest.fixture
def item(workshop):
    """An item answered by Ana as its key says is wrong, and by Ben as it says is right."""
    people, now = workshop.people, workshop.now
    make_bank(workshop.house, people["ida"], now)
    what = approved(workshop.house, people["ida"], people["iris"], now)
    answered(workshop.house, people["ana"], now, WRONG)
    answered(workshop.house, people["ben"], now, RIGHT)
    return what


@pytest.fixture
def class_id(workshop):
    with workshop.house.write() as connection:
        found = classes.add_class(connection, workshop.shop_id, "A", now=workshop.now)
        ana = workshop.people["ana"].person_id
        classes.add_member(connection, found, ana, Part.LEARNER, now=workshop.now)
    return found


def correct_key(workshop, item, right=WRONG):
    """Give the item another key and mark the answers again by it."""
    house, now = workshop.house, workshop.later(days=1)
    iris, ida = workshop.people["iris"], workshop.people["ida"]
    data = with_key(CHOICE, right)
    pages = review.item_page(house, ida, item.item_id)
    what = saved(house, iris, now, data, item_id=item.item_id, based_on=pages.newest.version)
    decided(house, iris, item.item_id, Deed.SENT, what.version, now)
    decided(
        house, ida, item.item_id, Deed.APPROVED, what.version, now,
        words="The key was wrong.", mark_again=True,
    )  # fmt: skip


def find_faulty(workshop, item):
    decided(
        workshop.house, workshop.people["ida"], item.item_id, Deed.WITHDRAWN, item.version,
        workshop.later(days=1), words="Two are right.", mark_again=True,
    )  # fmt: skip


def of_class(workshop, class_id):
    since = workshop.now - timedelta(days=30)
    with workshop.house.read() as connection:
        records = class_record.items_of_class(connection, class_id, since=since)
    return [(one.answers, one.wrong) for one in records if one.item_ref == REF]


def of_shop(workshop):
    with workshop.house.read() as connection:
        rows = evidence_of_change.answered_item(connection, REF, workshop.shop_id)
    return [(one.name, one.answers, one.right) for one in rows]


def found_with(workshop, difficulty):
    query = Query(words="tensioner", difficulty=difficulty.value)
    return search_items.search(workshop.house, workshop.people["ida"], query, now=workshop.now)


def test_a_class_list_follows_the_newest_mark(workshop, item, class_id):
    before = of_class(workshop, class_id)

    correct_key(workshop, item)

    assert before == [(1, 1)]
    assert of_class(workshop, class_id) == [(1, 0)]


def test_of_several_corrections_only_the_newest_counts(workshop, item, class_id):
    correct_key(workshop, item)
    correct_key(workshop, item, right="Its bolt is oiled well")

    assert of_class(workshop, class_id) == [(1, 1)]
    assert of_shop(workshop) == [("Ana", 1, 0), ("Ben", 1, 0)]


def test_a_class_list_leaves_out_an_item_found_faulty(workshop, item, class_id):
    find_faulty(workshop, item)

    assert of_class(workshop, class_id) == []


def test_evidence_of_who_answered_follows_the_newest_mark(workshop, item):
    before = of_shop(workshop)

    correct_key(workshop, item)

    assert before == [("Ana", 1, 0), ("Ben", 1, 1)]
    assert of_shop(workshop) == [("Ana", 1, 1), ("Ben", 1, 0)]


def test_evidence_still_names_who_answered_an_item_found_faulty(workshop, item):
    find_faulty(workshop, item)

    assert of_shop(workshop) == [("Ana", 1, 0), ("Ben", 1, 0)]


def test_the_page_of_an_item_counts_answers_as_they_count_now(workshop, item):
    ben, house = workshop.people["ben"], workshop.house
    answered(house, ben, workshop.later(minutes=1), RIGHT)
    before = review.item_page(house, workshop.people["ida"], item.item_id).use

    correct_key(workshop, item)

    after = review.item_page(house, workshop.people["ida"], item.item_id).use
    assert (before.answers, before.right_share) == (3, pytest.approx(2 / 3))
    assert (after.answers, after.right_share) == (3, pytest.approx(1 / 3))


def test_an_item_found_faulty_has_no_share_of_right_answers(workshop, item):
    find_faulty(workshop, item)

    use = review.item_page(workshop.house, workshop.people["ida"], item.item_id).use
    assert (use.answers, use.right_share) == (0, None)


def test_a_search_by_difficulty_follows_the_newest_mark(workshop, item):
    ana, house = workshop.people["ana"], workshop.house
    for n in range(6):
        answered(house, ana, workshop.later(minutes=n), WRONG)
    hard, easy = found_with(workshop, Difficulty.HARD), found_with(workshop, Difficulty.EASY)

    correct_key(workshop, item)

    assert (hard.total, easy.total) == (1, 0)
    assert (
        found_with(workshop, Difficulty.HARD).total,
        found_with(workshop, Difficulty.EASY).total,
    ) == (0, 1)


def test_a_learner_sees_both_marks_and_why(workshop, item):
    ana, house = workshop.people["ana"], workshop.house

    correct_key(workshop, item)

    entry = next(
        one for one in practise.history(house, ana, now=workshop.now).entries if one.remarked
    )
    outcome = practise.outcome(house, ana, entry.token, now=workshop.now)
    for shown in (entry, outcome):
        assert (shown.correct, shown.right_words) == (True, WRONG)
        assert (shown.first.correct, shown.first.right_words) == (False, RIGHT)
        assert (shown.first.why, shown.first.at) == ("The key was wrong.", workshop.now)
        assert shown.first.counts


@pytest.mark.usefixtures("item")
def test_an_answer_never_marked_again_has_one_mark(workshop):
    ana, house = workshop.people["ana"], workshop.house

    entries = practise.history(house, ana, now=workshop.now).entries

    assert entries
    assert all(one.first is None and not one.remarked for one in entries)


def test_the_history_tells_no_key_of_an_item_that_a_test_in_progress_asks(workshop, item):
    ana, ida, house = workshop.people["ana"], workshop.people["ida"], workshop.house
    correct_key(workshop, item)
    with house.write() as connection:
        group = classes.add_class(connection, workshop.shop_id, "B", now=workshop.now)
        ben = workshop.people["ben"].person_id
        classes.add_member(connection, group, ida.person_id, Part.INSTRUCTOR, now=workshop.now)
        classes.add_member(connection, group, ben, Part.LEARNER, now=workshop.now)
    terms = replace(BLANK["test"], opens_at=workshop.now, due_at=workshop.now + timedelta(days=1))
    test = drafting.draft(house, ida, terms, Audience(group), now=workshop.now)
    questions.add_bank_item(house, ida, test, item_ref=REF)
    giving_out.issue(house, ida, test, now=workshop.now)

    entries = practise.history(house, ana, now=workshop.now).entries

    (entry,) = [one for one in entries if one.first]
    assert RIGHT not in str(entry)
    assert entry.right_words.startswith("told again")
