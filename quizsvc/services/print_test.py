"""Print a test: the questions of an assignment in several variants, answer sheets, keys."""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from functools import partial

from sqlalchemy import Connection

from quizsvc.errors import InputError, NotFoundError, QuizsvcError
from quizsvc.items.choosing import Draw
from quizsvc.items.family import all_families
from quizsvc.items.markdown import plain_words
from quizsvc.items.model import Item, Kind, Level
from quizsvc.paper.answer_sheet import (
    LETTERS,
    QUESTIONS,
    SheetCode,
    SheetWords,
    answer_piles_pdf,
)
from quizsvc.paper.question_sheet import PaperQuestion, PaperTest, key_pdf, question_pdf
from quizsvc.rules.actors import Actor
from quizsvc.rules.audit import Action
from quizsvc.rules.permissions import May, require
from quizsvc.services.assigning.access import runs
from quizsvc.services.assigning.pages import Line, list_run
from quizsvc.services.auditing import note
from quizsvc.services.frozen_items import FrozenItem, freeze, thaw
from quizsvc.services.house import House
from quizsvc.services.laying_out import keep_item
from quizsvc.services.pictures import picture_bytes
from quizsvc.services.recipes import Recipe, draw, item_hash
from quizsvc.store import (
    assignment_people,
    assignment_questions,
    printed_tests,
    shown_items,
)
from quizsvc.store.assignment_people import Taker
from quizsvc.store.assignment_questions import StoredQuestion
from quizsvc.store.assignments import StoredAssignment
from quizsvc.store.printed_tests import StoredCopy, StoredItem, StoredTest

PAPER_BYTES = 16  # 128 bits: the name of the paper in the codes cannot be guessed
MOST_VARIANTS = 8
SEEDS_TRIED = 8
VARIANT_NAMES = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
_ON_PAPER = (Kind.ONE_CHOICE, Kind.SEVERAL_CHOICES)


class Document(StrEnum):
    QUESTIONS = "questions"
    ANSWERS = "answer-sheets"
    KEY = "key"


@dataclass(frozen=True, slots=True)
class PrintedLine:
    """A printed test in the list."""

    id: int
    title: str
    variants: int
    made_at: datetime
    copies: int
    counted: int


@dataclass(frozen=True, slots=True)
class PaperPlace:
    """What can be printed, and what was."""

    assignments: tuple[Line, ...]
    printed: tuple[PrintedLine, ...]


@dataclass(frozen=True, slots=True)
class PrintedView:
    """A printed test as its page shows it."""

    id: int
    title: str
    variants: tuple[str, ...]
    questions: int
    made_at: datetime
    copies: tuple[StoredCopy, ...]

    def count(self, state: str) -> int:
        return sum(one.state == state for one in self.copies)


def paper_place(house: House, actor: Actor, *, now: datetime) -> PaperPlace:
    """Return the actor's assignments and the tests printed in the shop from those they run."""
    require(actor, May.ASSIGN)
    given = list_run(house, actor, now=now)
    theirs = {line.id for line in given}
    with house.read() as connection:
        found = [
            one
            for one in printed_tests.tests_of_shop(connection, actor.shop_id)
            if one.assignment_id in theirs
        ]
        counts = printed_tests.sheets_counted(connection, [one.id for one in found])
    return PaperPlace(
        tuple(line for line in given if line.questions),
        tuple(
            PrintedLine(one.id, one.title, one.variants, one.made_at, *counts.get(one.id, (0, 0)))
            for one in found
        ),
    )


def print_test(
    house: House, actor: Actor, assignment_id: int, *, variants: int, now: datetime
) -> int:
    """Lay out an assignment on paper for everybody it is for; return the printed test's key.

    Questions that cannot be answered by filling a box are asked as a choice where the family
    can, and left out otherwise.

    Raises:
        InputError: that many variants, nothing to print, or nobody to print for.
        NotFoundError: there is no such assignment the actor may run.
    """
    if not 1 <= variants <= MOST_VARIANTS:
        raise InputError(
            f"a test has 1 to {MOST_VARIANTS} variants.",
            field="variants",
            value=variants,
            remedy=f"Give a number up to {MOST_VARIANTS}.",
        )
    with house.read() as connection:
        held = runs(connection, actor, assignment_id)
        recipes = _recipes(connection, held)
        takers = assignment_people.takers_of(connection, held)
        _refuse_nothing(held, recipes, takers)
        laid = [_variant(connection, house, recipes, number) for number in range(variants)]
    with house.write() as connection:
        test_id = printed_tests.add_test(
            connection,
            paper=secrets.token_hex(PAPER_BYTES),
            shop_id=actor.shop_id,
            assignment_id=held.id,
            maker_id=actor.person_id,
            title=held.title,
            variants=variants,
            made_at=now,
        )
        _keep(connection, test_id, laid, takers)
        note(
            connection,
            actor,
            Action.TEST_PRINTED,
            f"printed test {test_id}",
            now=now,
            assignment=held.id,
            variants=variants,
            copies=len(takers),
        )
    return test_id


def view(house: House, actor: Actor, test_id: int) -> PrintedView:
    with house.read() as connection:
        test = printed_by(connection, actor, test_id)
        copies = printed_tests.copies_of(connection, test_id)
        questions = len(printed_tests.items_of(connection, test_id, 1))
    return PrintedView(
        test.id,
        test.title,
        tuple(VARIANT_NAMES[: test.variants]),
        questions,
        test.made_at,
        copies,
    )


def document(house: House, actor: Actor, test_id: int, what: Document) -> bytes:
    """Return one of the three documents of a printed test as PDF."""
    with house.read() as connection:
        test = printed_by(connection, actor, test_id)
        if what is Document.ANSWERS:
            return _answer_sheets(connection, test)
        tests = tuple(
            _paper_test(connection, house, test, variant) for variant in range(1, test.variants + 1)
        )
    return question_pdf(tests) if what is Document.QUESTIONS else key_pdf(tests)


def printed_by(connection: Connection, actor: Actor, test_id: int) -> StoredTest:
    """Return a printed test of an assignment the actor runs; any other looks like none."""
    require(actor, May.ASSIGN)
    test = printed_tests.find_test(connection, test_id)
    if test is None or test.shop_id != actor.shop_id or test.assignment_id is None:
        raise NotFoundError(
            "there is no such printed test for you.",
            field="printed test",
            value=test_id,
            remedy="Choose one of the list.",
        )
    runs(connection, actor, test.assignment_id)
    return test


def items_shown(
    connection: Connection, test_id: int, variant: int
) -> tuple[tuple[StoredItem, Item], ...]:
    """Return the items of a variant as they were printed."""
    return tuple(
        (one, thaw(shown_items.content_of(connection, one.shown_hash)))
        for one in printed_tests.items_of(connection, test_id, variant)
    )


def _recipes(connection: Connection, held: StoredAssignment) -> list[StoredQuestion]:
    questions = assignment_questions.questions_of(connection, held.id)
    return [one for one in questions if one.voided_at is None and _kind_on_paper(one) is not None]


def _kind_on_paper(question: StoredQuestion) -> Kind | None:
    family = all_families().get(question.item_ref)
    kinds = family.kinds if family is not None else (Kind(question.kind),)
    return next((kind for kind in _ON_PAPER if kind in kinds), None)


def _refuse_nothing(
    held: StoredAssignment, recipes: list[StoredQuestion], takers: tuple[Taker, ...]
) -> None:
    if not recipes:
        raise InputError(
            "none of its questions can be answered by filling a box.",
            field="questions",
            value=held.title,
            remedy="Add questions with options to choose from.",
        )
    if len(recipes) > QUESTIONS:
        raise InputError(
            f"an answer sheet holds {QUESTIONS} questions.",
            field="questions",
            value=len(recipes),
            remedy="Make two assignments of it.",
        )
    if not takers:
        raise InputError(
            "it is for nobody, so there is no name for an answer sheet.",
            field="class",
            value=held.title,
            remedy="Give it to a class or to persons.",
        )


def _variant(
    connection: Connection, house: House, questions: list[StoredQuestion], number: int
) -> list[tuple[Recipe, FrozenItem]]:
    """Draw every question anew; from the second variant on they stand in another order."""
    drawn = [_drawn(connection, house, question) for question in questions]
    laid = [one for one in drawn if one is not None]
    if not laid:
        raise InputError("no question can be drawn any more.", field="questions", value=0)
    if number == 0:
        return laid
    return list(Draw("order on paper", house.seeds()).shuffled(laid))


def _drawn(
    connection: Connection, house: House, question: StoredQuestion
) -> tuple[Recipe, FrozenItem] | None:
    kind = _kind_on_paper(question)
    for _ in range(SEEDS_TRIED):
        recipe = Recipe(
            question.item_ref,
            question.item_version,
            Level(question.level),
            kind or Kind(question.kind),
            house.seeds(),
            question.sheet_revision_id,
            question.bank_item_version_id,
        )
        try:
            item = draw(house.shelf, connection, recipe)
        except QuizsvcError:
            continue
        if 2 <= len(item.options) <= len(LETTERS):
            return recipe, freeze(item, partial(picture_bytes, house))
    return None


def _keep(
    connection: Connection,
    test_id: int,
    laid: list[list[tuple[Recipe, FrozenItem]]],
    takers: tuple[Taker, ...],
) -> None:
    rows = []
    for variant, items in enumerate(laid, 1):
        for number, (recipe, item) in enumerate(items, 1):
            keep_item(connection, item)
            rows.append(
                {
                    "test_id": test_id,
                    "variant": variant,
                    "number": number,
                    "item_ref": recipe.item_ref,
                    "item_version": recipe.item_version,
                    "level": recipe.level.value,
                    "kind": recipe.kind.value,
                    "sheet_revision_id": recipe.sheet_revision_id,
                    "bank_item_version_id": recipe.bank_item_version_id,
                    "seed": recipe.seed,
                    "shown_hash": item.hash,
                }
            )
    printed_tests.add_items(connection, rows)
    copies = [
        {
            "test_id": test_id,
            "copy": copy,
            "person_id": taker.person_id,
            "variant": (copy - 1) % len(laid) + 1,
            "answers": "{}",
        }
        for copy, taker in enumerate(takers, 1)
    ]
    printed_tests.add_copies(connection, copies)


def _answer_sheets(connection: Connection, test: StoredTest) -> bytes:
    """Return the sheets variant by variant, so that each pile fits its pile of questions."""
    parts = []
    copies = printed_tests.copies_of(connection, test.id)
    for variant in range(1, test.variants + 1):
        options = options_of(items_shown(connection, test.id, variant))
        sheets = tuple(
            (
                SheetCode(test.paper, one.copy),
                SheetWords(test.title, one.name, VARIANT_NAMES[variant - 1]),
            )
            for one in copies
            if one.variant == variant
        )
        if sheets:
            parts.append((sheets, options))
    return answer_piles_pdf(tuple(parts))


def options_of(items: tuple[tuple[StoredItem, Item], ...]) -> tuple[int, ...]:
    return tuple(len(item.options) for _, item in items)


def _paper_test(connection: Connection, house: House, test: StoredTest, variant: int) -> PaperTest:
    return PaperTest(
        test.title,
        VARIANT_NAMES[variant - 1],
        f"Printed {test.made_at.day} {test.made_at:%B %Y}",
        tuple(
            _paper_question(connection, house, stored, item)
            for stored, item in items_shown(connection, test.id, variant)
        ),
    )


def _paper_question(
    connection: Connection, house: House, stored: StoredItem, item: Item
) -> PaperQuestion:
    drawn = _with_figure(connection, house, stored, item)
    picture = shown_items.picture_of(connection, stored.shown_hash)
    return PaperQuestion(
        prompt=plain_words(item.prompt),
        options=tuple(option.text for option in item.options),
        right="".join(
            letter for letter, option in zip(LETTERS, item.options, strict=False) if option.correct
        ),
        worked=tuple(step.text for step in item.steps),
        several=item.kind is Kind.SEVERAL_CHOICES,
        figure=drawn.figure() if drawn.figure else None,
        picture=picture[1] if picture else None,
        caution=item.caution,
    )


def _with_figure(connection: Connection, house: House, stored: StoredItem, item: Item) -> Item:
    """Return the item with its figure as shapes, which only drawing it again gives.

    An item whose family has changed since is printed again without its figure: better none
    than another one.
    """
    recipe = Recipe(
        stored.item_ref,
        stored.item_version,
        Level(stored.level),
        Kind(stored.kind),
        stored.seed,
        stored.sheet_revision_id,
        stored.bank_item_version_id,
    )
    try:
        drawn = draw(house.shelf, connection, recipe)
    except QuizsvcError:
        return item
    return drawn if item_hash(drawn) == item_hash(item) else item
