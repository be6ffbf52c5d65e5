"""Writing items, every save a version; a second person approves; a bank taken away as TOML."""

import tomllib

import pytest
from workshop import BANK
from written_items import (
    CHOICE,
    QUESTION,
    RIGHT,
    WRONG,
    answered,
    approved,
    decided,
    saved,
    with_key,
)
from written_items import with_bank as make_bank

from quizsvc.errors import ConflictError, InputError, NotAllowedError, NotFoundError
from quizsvc.rules.actors import Actor, Role
from quizsvc.rules.reviewing import Deed, ItemState
from quizsvc.services import practise, review, write_items
from quizsvc.services.auditing import broken_at
from quizsvc.services.bank_texts import take_away

TWO_RIGHT = [CHOICE["options"][0], CHOICE["options"][1] | {"correct": True}]


@pytest.fixture
def iris(workshop):
    return workshop.people["iris"]


@pytest.fixture
def ours(workshop, ida):
    return make_bank(workshop.house, ida, workshop.now)


def prompts_put(house, learner, now, count=60):
    tokens = [practise.put_next(house, learner, topic="safety", now=now) for _ in range(count)]
    return {practise.open_offer(house, learner, token, now=now).prompt for token in tokens}


@pytest.mark.usefixtures("ours")
def test_an_item_reaches_practice_only_when_a_second_person_approved_it(workshop, ida, iris, ana):
    house, now = workshop.house, workshop.now
    what = saved(house, ida, now, said="first draft")
    assert QUESTION not in prompts_put(house, ana, now)

    decided(house, ida, what.item_id, Deed.SENT, 1, now)
    with pytest.raises(NotAllowedError, match="doesn't approve"):
        decided(house, ida, what.item_id, Deed.APPROVED, 1, now)
    assert QUESTION not in prompts_put(house, ana, now)
    decided(house, iris, what.item_id, Deed.APPROVED, 1, now, words="Well asked.")

    assert QUESTION in prompts_put(house, ana, now)
    page = review.item_page(house, ida, what.item_id)
    assert (page.shown.author, page.shown.reviewer) == ("Ida", "Iris")
    assert [one.deed for one in page.history] == [Deed.APPROVED, Deed.SENT, Deed.WRITTEN]
    assert page.history[0].words == "Well asked."
    assert broken_at(house) is None


@pytest.mark.usefixtures("ours")
def test_whoever_changed_a_draft_of_somebody_else_does_not_approve_it_either(workshop, ida, iris):
    house, now = workshop.house, workshop.now
    what = saved(house, ida, now)
    saved(house, iris, now, CHOICE | {"reference": "arithmetic"}, item_id=what.item_id, based_on=1)
    decided(house, ida, what.item_id, Deed.SENT, 2, now)

    for person in (ida, iris):
        with pytest.raises(NotAllowedError):
            decided(house, person, what.item_id, Deed.APPROVED, 2, now)


@pytest.mark.usefixtures("ours")
def test_editing_makes_a_new_version_and_earlier_answers_keep_theirs(workshop, ida, iris, ana):
    house, now = workshop.house, workshop.now
    what = approved(house, ida, iris, now)
    token = answered(house, ana, now, WRONG)
    changed = CHOICE | {"prompt": QUESTION.replace("What is done", "What does one do")}

    saved(house, ida, now, changed, item_id=what.item_id, based_on=1)

    assert practise.outcome(house, ana, token, now=now).prompt == QUESTION
    page = review.item_page(house, ida, what.item_id)
    assert [(one.version, one.state, one.current) for one in page.versions] == [
        (2, ItemState.DRAFT, False),
        (1, ItemState.APPROVED, True),
    ]
    assert [one.field for one in review.difference(house, ida, what.item_id, 1, 2).fields] == [
        "prompt"
    ]


@pytest.mark.usefixtures("ours")
def test_a_version_saved_over_by_another_person_is_told_and_both_are_kept(workshop, ida, iris):
    house, now = workshop.house, workshop.now
    what = saved(house, ida, now)

    first = saved(house, iris, now, CHOICE | {"level": "recall"}, item_id=what.item_id, based_on=1)
    second = saved(
        house, ida, now, CHOICE | {"level": "diagnose"}, item_id=what.item_id, based_on=1
    )

    assert first.overtook is None
    assert (second.version, second.overtook.version, second.overtook.author) == (3, 2, "Iris")
    page = review.item_page(house, ida, what.item_id)
    assert [one.version for one in page.versions] == [3, 2, 1]
    assert [one.version for one in page.beside] == [2]


@pytest.mark.usefixtures("ours")
def test_saving_what_is_there_already_makes_no_version(workshop, ida):
    what = saved(workshop.house, ida, workshop.now)

    again = saved(workshop.house, ida, workshop.now, item_id=what.item_id, based_on=1)

    assert again.unchanged
    assert again.version == 1


@pytest.mark.usefixtures("ours")
def test_an_id_that_is_taken_is_refused_and_an_item_keeps_its_own(workshop, ida):
    what = saved(workshop.house, ida, workshop.now)

    with pytest.raises(ConflictError, match="item of this id"):
        saved(workshop.house, ida, workshop.now)
    with pytest.raises(InputError, match="keeps its id"):
        saved(workshop.house, ida, workshop.now, CHOICE | {"id": "other"}, item_id=what.item_id)


@pytest.mark.parametrize(
    ("change", "field", "problem"),
    [
        ({"prompt": ""}, "prompt", "at least 1 character"),
        ({"topic": "cooking"}, "topic", "no such topic"),
        ({"id": "Not An Id"}, "id", "pattern"),
        ({"options": CHOICE["options"][1:]}, "options", "no option is marked right"),
        ({"options": TWO_RIGHT}, "option 2 correct", "2 options are marked"),
    ],
)
def test_an_item_that_cannot_be_used_is_refused_naming_the_field(
    workshop, ours, ida, change, field, problem
):
    checked = write_items.check(workshop.house, ida, ours, CHOICE | change)

    assert not checked.usable
    grave = [one for one in checked.findings if one.grave]
    assert field in {one.field for one in grave}
    with pytest.raises(InputError, match=problem):
        saved(workshop.house, ida, workshop.now, CHOICE | change)


def test_an_item_goes_to_review_without_findings_or_with_reasons_to_keep_them(workshop, ours, ida):
    house, now = workshop.house, workshop.now
    longer = CHOICE["options"][0] | {"text": f"{RIGHT}, and only then does the lock come out of it"}
    data = CHOICE | {"options": [longer, *CHOICE["options"][1:]]}
    found = write_items.check(house, ida, ours, data).findings
    assert [one.check for one in found] == ["giveaway-length"]
    what = saved(house, ida, now, data)
    with pytest.raises(InputError, match="clearly the longest"):
        decided(house, ida, what.item_id, Deed.SENT, 1, now)

    kept = data | {"accepted": [{"check": "giveaway-length", "because": "It can't be shorter."}]}
    what = saved(house, ida, now, kept, item_id=what.item_id, based_on=1)
    decided(house, ida, what.item_id, Deed.SENT, 2, now)

    assert review.item_page(house, ida, what.item_id).shown.state is ItemState.IN_REVIEW


@pytest.mark.usefixtures("ours")
def test_an_item_that_asks_nearly_what_another_asks_is_told_which(workshop, ida):
    saved(workshop.house, ida, workshop.now)
    again = CHOICE | {"id": "again", "prompt": QUESTION.replace("belt change", "belt swap")}

    found = write_items.check(workshop.house, ida, "ours", again).findings

    assert [(one.check, one.field) for one in found] == [("near-duplicate", "prompt")]
    assert "arm-held in the bank ours" in found[0].problem
    kept = again | {"accepted": [{"check": "near-duplicate", "because": "One is for belts."}]}
    assert write_items.check(workshop.house, ida, "ours", kept).findings == ()


def test_the_preview_shows_what_a_learner_sees_and_the_key_apart(workshop, ours, ida):
    preview = write_items.check(workshop.house, ida, ours, CHOICE).preview

    assert {one.text for one in preview.put.options} == {one["text"] for one in CHOICE["options"]}
    assert preview.solved.right_words == RIGHT


@pytest.mark.usefixtures("ours")
def test_giving_back_and_withdrawing_ask_for_words(workshop, ida, iris):
    house, now = workshop.house, workshop.now
    what = saved(house, ida, now)
    decided(house, ida, what.item_id, Deed.SENT, 1, now)

    with pytest.raises(InputError, match="nothing is said"):
        decided(house, iris, what.item_id, Deed.RETURNED, 1, now)
    decided(house, iris, what.item_id, Deed.RETURNED, 1, now, words="Say which tool.")

    page = review.item_page(house, ida, what.item_id)
    assert page.shown.state is ItemState.DRAFT
    assert page.history[0].words == "Say which tool."


def test_a_bank_shared_by_several_shops_is_copied_from_and_not_changed(workshop, ours, ida):
    house, now = workshop.house, workshop.now
    with pytest.raises(NotAllowedError, match="shared by several shops"):
        write_items.draft_of(house, ida, 1)
    with pytest.raises(NotAllowedError, match="shared by several shops"):
        decided(house, ida, 1, Deed.WITHDRAWN, 1, now, words="Wrong.")

    copy = write_items.new_draft(house, ida, ours, "one choice", like=1)

    assert copy.data["id"] == "first-step-copy"
    assert copy.data["caution"] == "Keep fingers clear of the chain."
    assert saved(house, ida, now, copy.data).version == 1


def test_learners_managers_and_other_shops_see_nothing_of_it(workshop, ours, ida, ana):
    house, now = workshop.house, workshop.now
    what = saved(house, ida, now)
    for person in (ana, workshop.people["max"]):
        with pytest.raises(NotAllowedError):
            review.item_page(house, person, what.item_id)
        with pytest.raises(NotAllowedError):
            saved(house, person, now)
        with pytest.raises(NotAllowedError):
            take_away(house, person, ours, drafts=True)
    stranger = Actor(99, "Stranger", workshop.people["oda"].shop_id, frozenset({Role.INSTRUCTOR}))
    with pytest.raises(NotFoundError):
        review.item_page(house, stranger, what.item_id)
    with pytest.raises(NotFoundError):
        take_away(house, stranger, ours, drafts=True)


def test_an_export_holds_what_is_approved_or_with_drafts_the_newest(workshop, ours, ida, iris):
    house, now = workshop.house, workshop.now
    what = approved(house, ida, iris, now)
    saved(house, ida, now, with_key(CHOICE, WRONG), item_id=what.item_id, based_on=1)

    offered = tomllib.loads(take_away(house, ida, ours, drafts=False).text)
    newest = tomllib.loads(take_away(house, ida, ours, drafts=True).text)

    assert offered["items"][0]["version"] == 1
    assert newest["items"][0]["version"] == 2
    assert [one["text"] for one in newest["items"][0]["options"] if one.get("correct")] == [WRONG]


def test_a_bank_loaded_from_a_file_comes_back_as_the_file(workshop, ida):
    assert take_away(workshop.house, ida, "workshop", drafts=False).text == BANK
