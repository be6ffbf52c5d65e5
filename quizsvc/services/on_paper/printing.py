"""Print a test: lay the questions of an assignment out on paper in several variants."""

from __future__ import annotations

import secrets
from datetime import datetime
from functools import partial

from sqlalchemy import Connection

from quizsvc.errors import InputError, QuizsvcError
from quizsvc.items.choosing import Draw
from quizsvc.items.family import all_families
from quizsvc.items.model import Kind, Level
from quizsvc.paper.answer_sheet import LETTERS, QUESTIONS
from quizsvc.rules.actors import Actor
from quizsvc.rules.audit import Action
from quizsvc.services.assigning.access import runs
from quizsvc.services.auditing import note
from quizsvc.services.house import House
from quizsvc.services.pictures import picture_bytes
from quizsvc.services.recipes import Recipe, draw
from quizsvc.services.sitting.frozen_items import FrozenItem, freeze
from quizsvc.services.sitting.laying_out import keep_item
from quizsvc.store import assignment_people, assignment_questions, printed_tests
from quizsvc.store.assignment_people import Taker
from quizsvc.store.assignment_questions import StoredQuestion
from quizsvc.store.assignments import StoredAssignment

PAPER_BYTES = 16  # 128 bits: the name of the paper in the codes cannot be guessed
MOST_VARIANTS = 8
SEEDS_TRIED = 8
_ON_PAPER = (Kind.ONE_CHOICE, Kind.SEVERAL_CHOICES)


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
                recipe.columns()
                | {
                    "test_id": test_id,
                    "variant": variant,
                    "number": number,
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
