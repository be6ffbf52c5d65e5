"""How far sittings have come, and how they and their questions went."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, case, func, select

from quizsvc.store.assignment_questions import AssignmentQuestion
from quizsvc.store.people import Person
from quizsvc.store.sitting_items import SittingItem
from quizsvc.store.sitting_marks import CORRECT_NOW
from quizsvc.store.sittings import COLUMNS, Sitting, StoredSitting, sitting_from


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a sitting has come, for whoever watches."""

    sitting: StoredSitting
    name: str
    questions: int
    answered: int
    look_again: int


def progress_of(connection: Connection, assignment_id: int) -> tuple[Progress, ...]:
    """Return how far every sitting of an assignment has come, in one statement."""
    one = case((SittingItem.saved_at.is_not(None), 1), else_=0)
    marked = case((SittingItem.look_again, 1), else_=0)
    counts = (
        select(
            SittingItem.sitting_id,
            func.count().label("questions"),
            func.sum(one).label("answered"),
            func.sum(marked).label("again"),
        )
        .join(Sitting, Sitting.id == SittingItem.sitting_id)
        .where(Sitting.assignment_id == assignment_id)
        .group_by(SittingItem.sitting_id)
        .subquery()
    )
    rows = connection.execute(
        select(*COLUMNS, Person.name, counts.c.questions, counts.c.answered, counts.c.again)
        .join(counts, counts.c.sitting_id == Sitting.id)
        .join(Person, Person.id == Sitting.person_id)
        .where(Sitting.assignment_id == assignment_id)
        .order_by(Person.name, Sitting.person_id, Sitting.nth)
    )
    return tuple(_progress(row) for row in rows)


def score_of(connection: Connection, sitting_id: int) -> tuple[int, int]:
    """Return right answers, by their newest marks, and questions that count for somebody."""
    right = case((CORRECT_NOW.is_(True), 1), else_=0)
    row = connection.execute(
        select(func.coalesce(func.sum(right), 0), func.count())
        .join(AssignmentQuestion, AssignmentQuestion.id == SittingItem.question_id)
        .where(SittingItem.sitting_id == sitting_id, AssignmentQuestion.voided_at.is_(None))
    ).one()
    return int(row[0]), int(row[1])


def scores_in(
    connection: Connection, assignment_ids: Collection[int]
) -> dict[int, tuple[int, int]]:
    """Return what `score_of` says of every finished sitting of some assignments, by sitting."""
    counts = AssignmentQuestion.voided_at.is_(None)
    right = case((counts & CORRECT_NOW.is_(True), 1), else_=0)
    rows = connection.execute(
        select(SittingItem.sitting_id, func.sum(right), func.sum(case((counts, 1), else_=0)))
        .join(AssignmentQuestion, AssignmentQuestion.id == SittingItem.question_id)
        .join(Sitting, Sitting.id == SittingItem.sitting_id)
        .where(Sitting.assignment_id.in_(assignment_ids), Sitting.finished_at.is_not(None))
        .group_by(SittingItem.sitting_id)
    )
    return {row[0]: (int(row[1]), int(row[2])) for row in rows}


def tally(connection: Connection, assignment_id: int) -> list[tuple[int, int, int, int]]:
    """Return per question: its key, finished sittings, answered ones and right ones now."""
    answered = case((SittingItem.saved_at.is_not(None), 1), else_=0)
    right = case((CORRECT_NOW.is_(True), 1), else_=0)
    rows = connection.execute(
        select(SittingItem.question_id, func.count(), func.sum(answered), func.sum(right))
        .join(Sitting, Sitting.id == SittingItem.sitting_id)
        .where(Sitting.assignment_id == assignment_id, Sitting.finished_at.is_not(None))
        .group_by(SittingItem.question_id)
    )
    return [(int(row[0]), int(row[1]), int(row[2]), int(row[3])) for row in rows]


def _progress(row: Any) -> Progress:
    split = len(COLUMNS)
    name, *counts = row[split:]
    return Progress(sitting_from(row[:split]), name, *map(int, counts))
