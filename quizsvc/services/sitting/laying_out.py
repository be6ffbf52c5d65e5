"""Lay the questions of a sitting out: draw each item, keep it whole, decide the order."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

from sqlalchemy import Connection

from quizsvc.errors import ConflictError, InputError
from quizsvc.items.choosing import Draw
from quizsvc.items.model import Kind, Level
from quizsvc.services.house import SEED_BITS, House
from quizsvc.services.pictures import picture_bytes
from quizsvc.services.recipes import Recipe, draw
from quizsvc.services.sitting.frozen_items import FrozenItem, freeze
from quizsvc.store import adding, assignment_questions, sitting_items
from quizsvc.store.assignment_questions import StoredQuestion
from quizsvc.store.assignments import StoredAssignment
from quizsvc.store.shown_items import KeptPicture, ShownItem

SEEDS_TRIED = 5


@dataclass(frozen=True, slots=True)
class LaidOut:
    """A question with its item, ready to be stored."""

    question_id: int
    seed: int
    item: FrozenItem


def lay_out(
    connection: Connection, house: House, assignment: StoredAssignment
) -> tuple[LaidOut, ...]:
    """Return the questions in the order one person gets them; void ones are left out.

    Draws figures: for a reading connection, outside any transaction that writes.
    """
    questions = [
        question
        for question in assignment_questions.questions_of(connection, assignment.id)
        if question.voided_at is None
    ]
    laid = [_laid(connection, house, assignment, question) for question in questions]
    if assignment.shuffled:
        return Draw("order of a sitting", house.seeds()).shuffled(laid)
    return tuple(laid)


def recipe_at(question: StoredQuestion, seed: int) -> Recipe:
    return Recipe(
        question.item_ref,
        question.item_version,
        Level(question.level),
        Kind(question.kind),
        seed,
        question.sheet_revision_id,
        question.bank_item_version_id,
    )


def seed_for_all(assignment: StoredAssignment, question: StoredQuestion) -> int:
    """Return the seed of the numbers that everybody gets alike, and the maker sees."""
    return Draw("for all", assignment.seed, question.id).integer(0, (1 << SEED_BITS) - 1)


def keep(connection: Connection, sitting_id: int, laid: tuple[LaidOut, ...]) -> None:
    """Store what was laid out for a sitting that has just been made."""
    for one in laid:
        keep_item(connection, one.item)
    sitting_items.add_items(
        connection,
        [
            {
                "sitting_id": sitting_id,
                "number": number,
                "question_id": one.question_id,
                "seed": one.seed,
                "shown_hash": one.item.hash,
                "typed": "{}",
                "sequence": 0,
                "look_again": False,
            }
            for number, one in enumerate(laid, 1)
        ],
    )


def _laid(
    connection: Connection, house: House, assignment: StoredAssignment, question: StoredQuestion
) -> LaidOut:
    for _ in range(SEEDS_TRIED if assignment.own_numbers else 1):
        seed = house.seeds() if assignment.own_numbers else seed_for_all(assignment, question)
        try:
            item = draw(house.shelf, connection, recipe_at(question, seed))
        except InputError:
            continue  # this seed gives no fair numbers; nearly every other one does
        return LaidOut(question.id, seed, freeze(item, partial(picture_bytes, house)))
    raise ConflictError(
        "a question of this assignment can no longer be drawn.",
        field=f"question {question.place}",
        value=question.item_ref,
        remedy="The instructor takes it out, or gives out a new assignment.",
    )


def keep_item(connection: Connection, item: FrozenItem) -> None:
    if item.picture is not None:
        adding.add_if_new(
            connection,
            KeptPicture,
            hash=item.picture.hash,
            media_type=item.picture.media_type,
            content=item.picture.content,
        )
    adding.add_if_new(
        connection,
        ShownItem,
        hash=item.hash,
        content=item.content,
        figure=item.figure,
        solution=item.solution,
        picture_hash=item.picture.hash if item.picture else None,
    )
