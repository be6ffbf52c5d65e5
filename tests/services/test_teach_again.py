"""What to teach again: ideas held and cleared, by class; lessons; who may see it."""

from __future__ import annotations

from datetime import timedelta

import pypdfium2
import pytest
from workshop import NOON

from quizsvc.errors import InputError, NotAllowedError, NotFoundError
from quizsvc.items.family import all_families
from quizsvc.items.misconception import all_misconceptions
from quizsvc.items.model import Kind, Level
from quizsvc.scoring.marking import Answer, ideas_of
from quizsvc.services import lesson as lessons
from quizsvc.services import teach_again as service
from quizsvc.services.answering import answer_offer
from quizsvc.services.next_item import Chosen
from quizsvc.services.practise import offer
from quizsvc.services.recipes import Recipe, draw
from quizsvc.store import held_ideas, sheets

FAMILY = "tooth-degrees"


def one_choice(room, seed):
    """Return a drawn item of the family with its recipe."""
    with room.house.read() as connection:
        revision = sheets.latest_published(connection, room.ida.shop_id)[0]
        family = all_families()[FAMILY]
        recipe = Recipe(
            FAMILY, family.version, Level(family.levels[0]), Kind.ONE_CHOICE, seed, revision.id
        )
        return recipe, draw(room.house.shelf, connection, recipe)


def answer(room, person, seed, idea, now=NOON):
    """Answer an item by an idea, or right where ``idea`` is None; return whether it could show."""
    recipe, item = one_choice(room, seed)
    wanted = next(
        (
            n
            for n, one in enumerate(item.options)
            if (one.correct if idea is None else one.misconception == idea)
        ),
        None,
    )
    if wanted is None:
        return False
    with room.house.write() as connection:
        token = offer(connection, person, Chosen(recipe, item, "asked"), now=now)
        answer_offer(connection, token, item, Answer(choices=(wanted,)), now=now)
    return True


def seeds_showing(room, idea, count):
    found = []
    for seed in range(1, 400):
        _, item = one_choice(room, seed)
        if idea in ideas_of(item):
            found.append(seed)
            if len(found) == count:
                return found
    raise AssertionError(idea)


@pytest.fixture
def idea(room):
    _, item = one_choice(room, 1)
    return ideas_of(item)[0]


def report(room, actor=None, days=30, now=NOON):
    return service.report(room.house, actor or room.ida, room_class(room), days=days, now=now)


def room_class(room):
    return service.classes_to_see(room.house, room.ida)[0].id


def test_an_idea_is_held_by_name_until_two_right_answers_where_it_would_mislead(room, idea):
    first, second, third = seeds_showing(room, idea, 3)
    answer(room, room.ana, first, idea)

    held = report(room)
    answer(room, room.ana, second, None)
    still = report(room)
    answer(room, room.ana, third, None)
    cleared = report(room)

    (one,) = held.ideas
    assert (one.idea.id, [h.name for h in one.holders]) == (idea, ["Ana"])
    assert one.share == 0.5
    assert len(still.ideas) == 1
    assert cleared.ideas == ()


def test_showing_it_again_holds_it_again(room, idea):
    seeds = seeds_showing(room, idea, 4)
    answer(room, room.ana, seeds[0], idea)
    answer(room, room.ana, seeds[1], None)
    answer(room, room.ana, seeds[2], idea)
    answer(room, room.ana, seeds[3], None)

    (one,) = report(room).ideas
    assert one.holders[0].shown == 2


def test_the_idea_held_by_most_stands_first(room, idea):
    _, item = one_choice(room, 1)
    other = next(one for one in ideas_of(item) if one != idea)
    answer(room, room.ana, 1, idea)
    answer(room, room.ben, 1, other)
    answer(room, room.ana, seeds_showing(room, other, 2)[1], other)

    assert [(one.idea.id, len(one.holders)) for one in report(room).ideas] == [
        (other, 2),
        (idea, 1),
    ]


def test_only_the_period_counts(room, idea):
    answer(room, room.ana, seeds_showing(room, idea, 1)[0], idea)
    later = NOON + timedelta(days=20)

    assert report(room, days=7, now=later).ideas == ()
    assert len(report(room, days=30, now=later).ideas) == 1


def test_topics_say_how_the_class_stands_with_its_uncertainty(room, idea):
    answer(room, room.ana, seeds_showing(room, idea, 1)[0], idea)

    weakest = report(room).topics[0]
    assert weakest.topic.id == all_families()[FAMILY].topic
    assert weakest.group.low < weakest.group.chance < weakest.group.high
    assert "1 answered" in weakest.standing.words


def test_a_class_without_answers_is_told_so(room):
    found = report(room)

    assert found.ideas == ()
    assert all(one.group is None for one in found.topics)


def test_an_unknown_period_or_class_is_refused(room):
    with pytest.raises(InputError, match="period"):
        report(room, days=11)
    with pytest.raises(NotFoundError):
        service.report(room.house, room.ida, 999, days=30, now=NOON)


def test_learners_and_other_shops_see_nothing(room, workshop):
    with pytest.raises(NotAllowedError):
        service.classes_to_see(room.house, room.ana)
    with pytest.raises(NotFoundError):
        service.report(room.house, workshop.people["iris"], room_class(room), days=30, now=NOON)


def test_a_manager_sees_every_class(room, workshop):
    assert service.classes_to_see(room.house, workshop.people["max"])


def test_a_lesson_sheet_shows_the_idea_a_case_and_three_items(room, idea):
    made = lessons.lesson(room.house, room.ida, idea)

    assert made.idea == all_misconceptions()[idea]
    assert idea in ideas_of(made.shown.item)
    assert made.shown.misled != made.shown.right
    assert made.shown.solution is not None
    assert len(made.practice) == 3
    assert all(idea in ideas_of(one.item) for one in made.practice)


def test_a_lesson_prints_with_answers_on_a_page_of_their_own(room, idea):
    pdf = pypdfium2.PdfDocument(lessons.lesson_as_pdf(room.house, room.ida, idea))
    pages = [page.get_textpage().get_text_range() for page in pdf]
    pdf.close()

    assert "What one might think" in pages[0]
    assert "Answers" in pages[-1]
    assert "Answers" not in "".join(pages[:-1])


@pytest.mark.parametrize("name", ["no-such-idea", ""])
def test_a_lesson_about_nothing_is_refused(room, name):
    with pytest.raises(NotFoundError):
        lessons.lesson(room.house, room.ida, name)


def test_rows_of_a_person_can_be_forgotten(room, idea):
    answer(room, room.ana, seeds_showing(room, idea, 1)[0], idea)
    with room.house.write() as connection:
        held_ideas.forget(connection, room.ana.person_id)

    assert report(room).ideas == ()
