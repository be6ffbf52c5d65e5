"""What a class has answered: per item, over a period, as it counts now."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, case, func, select

from quizsvc.store.classes import ClassMember, Part
from quizsvc.store.corrections import NONE, corrections, differences
from quizsvc.store.offers import Response
from quizsvc.store.remarks import RemarkedResponse


@dataclass(frozen=True, slots=True)
class ItemRecord:
    item_ref: str
    topic: str
    answers: int
    wrong: int


def items_of_class(
    connection: Connection, class_id: int, *, since: datetime
) -> tuple[ItemRecord, ...]:
    """Return how the learners of a class answered each item since a time."""
    learners = select(ClassMember.person_id).where(
        ClassMember.class_id == class_id,
        ClassMember.part == Part.LEARNER.value,
        ClassMember.left_at.is_(None),
    )
    wrong = func.sum(case((Response.correct.is_(True), 0), else_=1))
    rows = connection.execute(
        select(Response.item_ref, Response.topic, func.count(), wrong)
        .where(Response.person_id.in_(learners), Response.answered_at >= since)
        .group_by(Response.item_ref, Response.topic)
        .order_by(Response.item_ref)
    ).all()
    changed = differences(Response.item_ref, Response.topic).where(
        RemarkedResponse.person_id.in_(learners), Response.answered_at >= since
    )
    again = corrections(connection, changed)
    records = []
    for item_ref, topic, answers, first_wrong in rows:
        change = again.get((item_ref, topic), NONE)
        counted = int(answers) + change.answers
        # Of those that no longer count, the wrong ones are no longer wrong either.
        not_right = int(first_wrong) + change.answers - change.right
        records.append(ItemRecord(item_ref, topic, counted, not_right))
    return tuple(one for one in records if one.answers)
