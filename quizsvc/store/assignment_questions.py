"""The questions of assignments."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import (
    CheckConstraint,
    Connection,
    ForeignKey,
    Index,
    UniqueConstraint,
    delete,
    func,
    insert,
    select,
    update,
)
from sqlalchemy.orm import Mapped, mapped_column

from quizsvc.store.columns import Base, Key, Slug, UtcAt, Word


class AssignmentQuestion(Base):
    """What is asked at a place: a family on a sheet revision, or a version of a bank item."""

    __tablename__ = "assignment_question"

    id: Mapped[Key]
    assignment_id: Mapped[int] = mapped_column(ForeignKey("assignment.id"))
    place: Mapped[int]
    topic: Mapped[Word]
    item_ref: Mapped[Slug]
    item_version: Mapped[int]
    level: Mapped[Word]
    kind: Mapped[Word]
    sheet_revision_id: Mapped[int | None] = mapped_column(ForeignKey("sheet_revision.id"))
    bank_item_version_id: Mapped[int | None] = mapped_column(ForeignKey("bank_item_version.id"))
    voided_at: Mapped[UtcAt | None]  # counts for nobody since
    void_reason: Mapped[str | None]

    __table_args__ = (
        UniqueConstraint("assignment_id", "place"),
        CheckConstraint(
            "(sheet_revision_id IS NULL) <> (bank_item_version_id IS NULL)",
            name="from_sheet_or_bank",
        ),
        Index(None, "item_ref"),
    )


@dataclass(frozen=True, slots=True)
class StoredQuestion:
    id: int
    place: int
    topic: str
    item_ref: str
    item_version: int
    level: str
    kind: str
    sheet_revision_id: int | None
    bank_item_version_id: int | None
    voided_at: datetime | None
    void_reason: str | None


_QUESTION_COLUMNS = (
    AssignmentQuestion.id,
    AssignmentQuestion.place,
    AssignmentQuestion.topic,
    AssignmentQuestion.item_ref,
    AssignmentQuestion.item_version,
    AssignmentQuestion.level,
    AssignmentQuestion.kind,
    AssignmentQuestion.sheet_revision_id,
    AssignmentQuestion.bank_item_version_id,
    AssignmentQuestion.voided_at,
    AssignmentQuestion.void_reason,
)


def questions_of(connection: Connection, assignment_id: int) -> tuple[StoredQuestion, ...]:
    rows = connection.execute(
        select(*_QUESTION_COLUMNS)
        .where(AssignmentQuestion.assignment_id == assignment_id)
        .order_by(AssignmentQuestion.place)
    )
    return tuple(StoredQuestion(*row) for row in rows)


def question_counts(connection: Connection, assignment_ids: list[int]) -> dict[int, int]:
    rows = connection.execute(
        select(AssignmentQuestion.assignment_id, func.count())
        .where(AssignmentQuestion.assignment_id.in_(assignment_ids))
        .group_by(AssignmentQuestion.assignment_id)
    )
    return {row[0]: row[1] for row in rows}


def replace_questions(
    connection: Connection, assignment_id: int, questions: list[dict[str, object]]
) -> None:
    """Put these questions in the place of all there were; only while it is a draft."""
    connection.execute(
        delete(AssignmentQuestion).where(AssignmentQuestion.assignment_id == assignment_id)
    )
    if questions:
        connection.execute(
            insert(AssignmentQuestion),
            [{"assignment_id": assignment_id} | question for question in questions],
        )


def void_question(
    connection: Connection, assignment_id: int, place: int, *, reason: str, now: datetime
) -> bool:
    """Mark a question void; return whether it was not void before."""
    done = connection.execute(
        update(AssignmentQuestion)
        .where(
            AssignmentQuestion.assignment_id == assignment_id,
            AssignmentQuestion.place == place,
            AssignmentQuestion.voided_at.is_(None),
        )
        .values(voided_at=now, void_reason=reason)
    )
    return done.rowcount == 1
