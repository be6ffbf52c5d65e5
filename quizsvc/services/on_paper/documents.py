"""The documents of a printed test: questions, answer sheets and key, as PDF."""

from __future__ import annotations

from enum import StrEnum

from sqlalchemy import Connection

from quizsvc.errors import QuizsvcError
from quizsvc.items.markdown import plain_words
from quizsvc.items.model import Item, Kind, Level
from quizsvc.paper.answer_sheet import LETTERS, SheetCode, SheetWords, answer_piles_pdf
from quizsvc.paper.question_sheet import PaperQuestion, PaperTest, key_pdf, question_pdf
from quizsvc.rules.actors import Actor
from quizsvc.services.house import House
from quizsvc.services.on_paper.printed_items import (
    VARIANT_NAMES,
    items_shown,
    options_of,
    printed_by,
)
from quizsvc.services.recipes import Recipe, draw, item_hash
from quizsvc.store import printed_tests, shown_items
from quizsvc.store.printed_tests import StoredItem, StoredTest


class Document(StrEnum):
    QUESTIONS = "questions"
    ANSWERS = "answer-sheets"
    KEY = "key"


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
