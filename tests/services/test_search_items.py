"""Search among items, by words and by what they are."""

import pytest
from written_items import CHOICE, QUESTION, RIGHT, WRONG, answered, approved, decided, saved
from written_items import with_bank as make_bank

from quizsvc.errors import InputError, NotAllowedError
from quizsvc.rules.reviewing import Deed
from quizsvc.services.search_items import Difficulty, Query, Used, search


@pytest.fixture
def iris(workshop):
    return workshop.people["iris"]


def found(workshop, person, **query):
    page = search(workshop.house, person, Query(**query), now=workshop.now)
    return [one.card.item_ref.removeprefix("bank:workshop/") for one in page.items]


@pytest.mark.parametrize(
    ("words", "refs"),
    [
        ("timing drive", ["first-step"]),
        ("rattl cold", ["several"]),  # beginnings of words, anywhere in the item
        ("RADIATOR", ["match"]),
        ("disconnecting", ["order"]),  # another form of the word
        ("radiator rattle", []),  # all of the words
        ("'; DROP TABLE item_card; --", []),
        ('"grown* (percents', ["percent"]),
    ],
)
def test_words_are_found_in_every_part_of_an_item(workshop, ida, words, refs):
    assert found(workshop, ida, words=words) == refs


@pytest.mark.parametrize(
    ("query", "refs"),
    [
        ({"topic": "wear"}, ["several"]),
        ({"level": "recall"}, ["first-step", "match"]),
        ({"kind": "number"}, ["percent"]),
        ({"state": "draft"}, []),
        ({"bank": "workshop", "level": "recall", "topic": "cooling"}, ["match"]),
        ({"topic": "cycle"}, []),
    ],
)
def test_items_are_filtered_by_what_they_are(workshop, ida, query, refs):
    assert found(workshop, ida, **query) == refs


def test_approved_finds_what_practice_offers_though_a_newer_draft_stands_beside_it(
    workshop, ida, iris
):
    house, now = workshop.house, workshop.now
    make_bank(house, ida, now)
    what = approved(house, ida, iris, now)
    saved(house, ida, now, CHOICE | {"level": "recall"}, item_id=what.item_id, based_on=1)

    assert found(workshop, ida, bank="ours", state="approved") == ["bank:ours/arm-held"]
    assert found(workshop, ida, bank="ours", state="draft") == ["bank:ours/arm-held"]
    decided(house, iris, what.item_id, Deed.WITHDRAWN, 1, now, words="Outdated.")
    assert found(workshop, ida, bank="ours", state="approved") == []


def test_an_edit_is_found_by_its_new_words_and_not_by_its_old_ones(workshop, ida):
    house, now = workshop.house, workshop.now
    make_bank(house, ida, now)
    what = saved(house, ida, now)
    changed = CHOICE | {"prompt": QUESTION.replace("belt change", "guide swap")}
    saved(house, ida, now, changed, item_id=what.item_id, based_on=1)

    assert found(workshop, ida, words="guide swap") == ["bank:ours/arm-held"]
    assert found(workshop, ida, words="belt change") == []


def test_use_and_difficulty_are_those_of_the_answers(workshop, ida, iris, ana):
    house = workshop.house
    make_bank(house, ida, workshop.now)
    approved(house, ida, iris, workshop.now)
    for words in (WRONG, WRONG, WRONG, RIGHT, WRONG):
        answered(house, ana, workshop.later(hours=1), words)

    ref = ["bank:ours/arm-held"]
    assert found(workshop, ida, bank="ours", used=Used.LATELY) == ref
    assert found(workshop, ida, bank="ours", used=Used.NOT_LATELY) == []
    assert found(workshop, ida, bank="ours", difficulty=Difficulty.HARD) == ref
    assert found(workshop, ida, bank="ours", difficulty=Difficulty.EASY) == []
    workshop.later(days=40)
    assert found(workshop, ida, bank="ours", used=Used.NOT_LATELY) == ref
    assert found(workshop, ida, bank="ours", used=Used.LONG_AGO) == []
    use = search(house, ida, Query(bank="ours"), now=workshop.now).items[0].use
    assert (use.answers, use.right_share) == (5, pytest.approx(0.2))


def test_an_engine_sheet_asks_for_families_since_written_items_rest_on_none(workshop, ida):
    page = search(workshop.house, ida, Query(sheet="demo-inline-four"), now=workshop.now)

    assert page.items == ()
    assert {"pins-apart", "firing-interval"} <= {one.id for one in page.families}


def test_an_empty_search_and_a_page_too_far(workshop, ida):
    page = search(workshop.house, ida, Query(words="nothing like it"), now=workshop.now)

    assert (page.items, page.total, page.pages) == ((), 0, 1)
    with pytest.raises(InputError, match="no such page"):
        search(workshop.house, ida, Query(page=2), now=workshop.now)


def test_learners_do_not_search(workshop, ana):
    with pytest.raises(NotAllowedError):
        search(workshop.house, ana, Query(), now=workshop.now)
