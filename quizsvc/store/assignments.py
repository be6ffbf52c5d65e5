"""Assignments: their terms and whose they are."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import (
    CheckConstraint,
    Connection,
    ForeignKey,
    Index,
    String,
    insert,
    select,
    update,
)
from sqlalchemy.orm import Mapped, mapped_column

from quizsvc.rules.assignments import Feedback, Form, Issue
from quizsvc.store.columns import Base, Body, Key, Name, PersonKey, ShopKey, UtcAt, Word, one_of


class Assignment(Base):
    __tablename__ = "assignment"

    id: Mapped[Key]
    shop_id: Mapped[ShopKey]
    class_id: Mapped[int | None] = mapped_column(ForeignKey("training_class.id"))
    maker_id: Mapped[PersonKey]
    title: Mapped[Name]
    words: Mapped[Body]  # what the instructor tells those who take it
    form: Mapped[Word]
    issue: Mapped[Word]
    opens_at: Mapped[UtcAt]
    due_at: Mapped[UtcAt | None]
    tries: Mapped[int]
    minutes: Mapped[int | None]
    feedback: Mapped[Word]
    shuffled: Mapped[bool]
    own_numbers: Mapped[bool]
    invigilated: Mapped[bool]
    start_code: Mapped[str | None] = mapped_column(String(12))  # while the room is open
    seed: Mapped[int]  # of the numbers all get alike; never shown
    made_at: Mapped[UtcAt]
    released_at: Mapped[UtcAt | None]

    __table_args__ = (
        CheckConstraint(one_of("form", Form), name="known_form"),
        CheckConstraint(one_of("issue", Issue), name="known_issue"),
        CheckConstraint(one_of("feedback", Feedback), name="known_feedback"),
        CheckConstraint("tries >= 1", name="tries_from_one"),
        CheckConstraint("minutes IS NULL OR minutes >= 1", name="minutes_from_one"),
        CheckConstraint("due_at IS NULL OR due_at > opens_at", name="due_after_opening"),
        Index(None, "shop_id", "id"),
        Index(None, "class_id"),
    )


@dataclass(frozen=True, slots=True)
class StoredAssignment:
    id: int
    shop_id: int
    class_id: int | None
    maker_id: int
    title: str
    words: str
    form: Form
    issue: Issue
    opens_at: datetime
    due_at: datetime | None
    tries: int
    minutes: int | None
    feedback: Feedback
    shuffled: bool
    own_numbers: bool
    invigilated: bool
    start_code: str | None
    seed: int
    made_at: datetime
    released_at: datetime | None


COLUMNS = (
    Assignment.id,
    Assignment.shop_id,
    Assignment.class_id,
    Assignment.maker_id,
    Assignment.title,
    Assignment.words,
    Assignment.form,
    Assignment.issue,
    Assignment.opens_at,
    Assignment.due_at,
    Assignment.tries,
    Assignment.minutes,
    Assignment.feedback,
    Assignment.shuffled,
    Assignment.own_numbers,
    Assignment.invigilated,
    Assignment.start_code,
    Assignment.seed,
    Assignment.made_at,
    Assignment.released_at,
)


def add_assignment(connection: Connection, **columns: object) -> int:
    row = connection.execute(insert(Assignment).values(**columns).returning(Assignment.id))
    return row.scalar_one()


def change_assignment(connection: Connection, assignment_id: int, **columns: object) -> None:
    connection.execute(update(Assignment).where(Assignment.id == assignment_id).values(**columns))


def find_assignment(
    connection: Connection, assignment_id: int, *, lock: bool = False
) -> StoredAssignment | None:
    """Return it; with ``lock`` nobody else changes it until the transaction ends."""
    wanted = select(*COLUMNS).where(Assignment.id == assignment_id)
    row = connection.execute(wanted.with_for_update() if lock else wanted).first()
    return assignment_from(row) if row else None


def assignments_of_shop(connection: Connection, shop_id: int) -> tuple[StoredAssignment, ...]:
    """Return all of a shop, newest first."""
    rows = connection.execute(
        select(*COLUMNS).where(Assignment.shop_id == shop_id).order_by(Assignment.id.desc())
    )
    return tuple(assignment_from(row) for row in rows)


def assignment_from(row: Any) -> StoredAssignment:
    columns = dict(row._mapping)  # noqa: SLF001 - SQLAlchemy's public name
    columns["form"] = Form(columns["form"])
    columns["issue"] = Issue(columns["issue"])
    columns["feedback"] = Feedback(columns["feedback"])
    return StoredAssignment(**columns)
