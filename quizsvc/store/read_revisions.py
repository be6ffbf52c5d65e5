"""Who has read which revision of an engine sheet, and the quizzes that bridge a change."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import CheckConstraint, Connection, ForeignKey, Index, func, insert, select
from sqlalchemy.orm import Mapped, mapped_column

from quizsvc.rules.assignments import Issue
from quizsvc.store.assignment_people import AssignmentPerson
from quizsvc.store.assignment_questions import AssignmentQuestion
from quizsvc.store.assignments import Assignment
from quizsvc.store.columns import Base, Body, PersonKey, ShopKey, Slug, UtcAt
from quizsvc.store.people import Membership
from quizsvc.store.sheets import SheetRevision
from quizsvc.store.sittings import Sitting


class ReadRevision(Base):
    __tablename__ = "read_revision"

    person_id: Mapped[int] = mapped_column(ForeignKey("person.id"), primary_key=True)
    revision_id: Mapped[int] = mapped_column(
        ForeignKey("sheet_revision.id"), primary_key=True, index=True
    )
    read_at: Mapped[UtcAt]


class BridgingQuiz(Base):
    """An assignment made only of what changed, by a sheet's new revision or a withdrawn item."""

    __tablename__ = "bridging_quiz"

    assignment_id: Mapped[int] = mapped_column(ForeignKey("assignment.id"), primary_key=True)
    shop_id: Mapped[ShopKey]
    sheet_id: Mapped[Slug | None] = mapped_column(ForeignKey("sheet.id"))
    item_ref: Mapped[Slug | None]
    why: Mapped[Body]
    ordered_by: Mapped[PersonKey]
    ordered_at: Mapped[UtcAt]

    __table_args__ = (
        CheckConstraint("(sheet_id IS NULL) <> (item_ref IS NULL)", name="one_cause"),
        Index(None, "shop_id"),
    )


@dataclass(frozen=True, slots=True)
class BridgingLine:
    """A bridging quiz as its shop sees it; ``due`` and ``done`` count people."""

    assignment_id: int
    sheet_id: str | None
    item_ref: str | None
    why: str
    ordered_at: datetime
    due: frozenset[int]
    done: frozenset[int]


def mark_read(connection: Connection, person_id: int, revision_id: int, *, now: datetime) -> None:
    """Note that a person says they read a revision; saying it again changes nothing."""
    known = connection.scalar(
        select(ReadRevision.read_at).where(
            ReadRevision.person_id == person_id, ReadRevision.revision_id == revision_id
        )
    )
    if known is None:
        connection.execute(
            insert(ReadRevision).values(person_id=person_id, revision_id=revision_id, read_at=now)
        )


def newest_read(connection: Connection, shop_id: int) -> dict[tuple[int, str], int]:
    """Return the newest revision that anybody of a shop has read, by person and sheet."""
    rows = connection.execute(
        select(ReadRevision.person_id, SheetRevision.sheet_id, func.max(SheetRevision.revision))
        .join(SheetRevision, SheetRevision.id == ReadRevision.revision_id)
        .where(
            ReadRevision.person_id.in_(
                select(Membership.person_id).where(Membership.shop_id == shop_id)
            )
        )
        .group_by(ReadRevision.person_id, SheetRevision.sheet_id)
    )
    return {(row[0], row[1]): row[2] for row in rows}


def read_by(connection: Connection, person_id: int) -> dict[str, int]:
    """Return the newest revision a person has read, by sheet."""
    rows = connection.execute(
        select(SheetRevision.sheet_id, func.max(SheetRevision.revision))
        .join(ReadRevision, SheetRevision.id == ReadRevision.revision_id)
        .where(ReadRevision.person_id == person_id)
        .group_by(SheetRevision.sheet_id)
    )
    return {row[0]: row[1] for row in rows}


def add_bridging(connection: Connection, **columns: object) -> None:
    connection.execute(insert(BridgingQuiz).values(**columns))


def bridging_of(
    connection: Connection, shop_id: int, *, passing: float
) -> tuple[BridgingLine, ...]:
    """Return a shop's bridging quizzes that stand, newest first, with who is still to pass."""
    rows = connection.execute(
        select(
            BridgingQuiz.assignment_id,
            BridgingQuiz.sheet_id,
            BridgingQuiz.item_ref,
            BridgingQuiz.why,
            BridgingQuiz.ordered_at,
        )
        .join(Assignment, Assignment.id == BridgingQuiz.assignment_id)
        .where(BridgingQuiz.shop_id == shop_id, Assignment.issue == Issue.ISSUED.value)
        .order_by(BridgingQuiz.assignment_id.desc())
    ).all()
    keys = [row[0] for row in rows]
    asked = _by_assignment(
        connection.execute(
            select(AssignmentPerson.assignment_id, AssignmentPerson.person_id).where(
                AssignmentPerson.assignment_id.in_(keys), AssignmentPerson.assigned.is_(True)
            )
        ).all()
    )
    passed = _by_assignment(
        connection.execute(
            select(Sitting.assignment_id, Sitting.person_id).where(
                Sitting.assignment_id.in_(keys),
                Sitting.out_of > 0,
                Sitting.points >= passing * Sitting.out_of,
            )
        ).all()
    )
    return tuple(
        BridgingLine(
            *row,
            due=asked.get(row[0], frozenset()) - passed.get(row[0], frozenset()),
            done=asked.get(row[0], frozenset()) & passed.get(row[0], frozenset()),
        )
        for row in rows
    )


def topics_asked(connection: Connection, assignment_ids: list[int]) -> dict[int, frozenset[str]]:
    """Return the topics of the questions of assignments."""
    rows = connection.execute(
        select(AssignmentQuestion.assignment_id, AssignmentQuestion.topic).where(
            AssignmentQuestion.assignment_id.in_(assignment_ids)
        )
    ).all()
    return _by_assignment(rows)


def _by_assignment(pairs: Iterable[Any]) -> dict[int, frozenset[Any]]:
    found: dict[int, set[Any]] = {}
    for assignment_id, other in pairs:
        found.setdefault(assignment_id, set()).add(other)
    return {key: frozenset(others) for key, others in found.items()}
