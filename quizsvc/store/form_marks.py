"""The marks of everybody's first finished try at an assignment."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import Connection, func, select

from quizsvc.rules.sittings import FINISHED
from quizsvc.store.assignment_questions import AssignmentQuestion
from quizsvc.store.sitting_items import SittingItem
from quizsvc.store.sitting_marks import CORRECT_NOW
from quizsvc.store.sittings import Sitting


@dataclass(frozen=True, slots=True)
class Mark:
    sitting_id: int
    question_id: int
    correct: bool


def first_tries(connection: Connection, assignment_id: int) -> tuple[Mark, ...]:
    """Return the newest mark for each question that counts; what was not answered is wrong."""
    first = (
        select(func.min(Sitting.id))
        .where(
            Sitting.assignment_id == assignment_id,
            Sitting.state.in_([state.value for state in FINISHED]),
        )
        .group_by(Sitting.person_id)
    )
    rows = connection.execute(
        select(SittingItem.sitting_id, SittingItem.question_id, CORRECT_NOW)
        .join(AssignmentQuestion, AssignmentQuestion.id == SittingItem.question_id)
        .where(SittingItem.sitting_id.in_(first), AssignmentQuestion.voided_at.is_(None))
        .order_by(SittingItem.sitting_id, SittingItem.question_id)
    )
    return tuple(Mark(row[0], row[1], bool(row[2])) for row in rows)
