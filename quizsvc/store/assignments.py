"""Assignments: their terms, their questions, and the people they are for."""

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
    UniqueConstraint,
    delete,
    func,
    insert,
    select,
    update,
)
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.orm import Mapped, mapped_column

from quizsvc.rules.assignments import Feedback, Form, Issue
from quizsvc.store.classes import ClassMember, Part, TrainingClass
from quizsvc.store.columns import (
    Base,
    Body,
    Key,
    Name,
    PersonKey,
    ShopKey,
    Slug,
    UtcAt,
    Word,
    one_of,
)
from quizsvc.store.people import Person


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


class AssignmentPerson(Base):
    """A person it is for, beside or instead of a class; and what they alone are allowed."""

    __tablename__ = "assignment_person"

    assignment_id: Mapped[int] = mapped_column(ForeignKey("assignment.id"), primary_key=True)
    person_id: Mapped[int] = mapped_column(ForeignKey("person.id"), primary_key=True)
    assigned: Mapped[bool]
    extra_minutes: Mapped[int]

    __table_args__ = (
        CheckConstraint("extra_minutes BETWEEN 0 AND 600", name="extra_minutes_bounded"),
        Index(None, "person_id"),
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


@dataclass(frozen=True, slots=True)
class Taker:
    """Somebody an assignment is for."""

    person_id: int
    name: str
    extra_minutes: int


_COLUMNS = (
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
_NEW_PERSON = {
    "sqlite": sqlite.insert(AssignmentPerson).on_conflict_do_nothing(),
    "postgresql": postgresql.insert(AssignmentPerson).on_conflict_do_nothing(),
}


def add_assignment(connection: Connection, **columns: object) -> int:
    row = connection.execute(insert(Assignment).values(**columns).returning(Assignment.id))
    return row.scalar_one()


def change_assignment(connection: Connection, assignment_id: int, **columns: object) -> None:
    connection.execute(update(Assignment).where(Assignment.id == assignment_id).values(**columns))


def find_assignment(
    connection: Connection, assignment_id: int, *, lock: bool = False
) -> StoredAssignment | None:
    """Return it; with ``lock`` nobody else changes it until the transaction ends."""
    wanted = select(*_COLUMNS).where(Assignment.id == assignment_id)
    row = connection.execute(wanted.with_for_update() if lock else wanted).first()
    return _assignment(row) if row else None


def assignments_of_shop(connection: Connection, shop_id: int) -> tuple[StoredAssignment, ...]:
    """Return all of a shop, newest first."""
    rows = connection.execute(
        select(*_COLUMNS).where(Assignment.shop_id == shop_id).order_by(Assignment.id.desc())
    )
    return tuple(_assignment(row) for row in rows)


def assignments_for(
    connection: Connection, person_id: int, shop_id: int
) -> tuple[StoredAssignment, ...]:
    """Return what is given out to a person of the shop, by name or through a class."""
    through_class = select(ClassMember.class_id).where(
        ClassMember.person_id == person_id,
        ClassMember.part == Part.LEARNER.value,
        ClassMember.left_at.is_(None),
    )
    by_name = select(AssignmentPerson.assignment_id).where(
        AssignmentPerson.person_id == person_id, AssignmentPerson.assigned
    )
    rows = connection.execute(
        select(*_COLUMNS)
        .where(
            Assignment.shop_id == shop_id,
            Assignment.issue == Issue.ISSUED.value,
            Assignment.class_id.in_(through_class) | Assignment.id.in_(by_name),
        )
        .order_by(Assignment.due_at, Assignment.id)
    )
    return tuple(_assignment(row) for row in rows)


def takers_of(connection: Connection, assignment: StoredAssignment) -> tuple[Taker, ...]:
    """Return everybody it is for now, by name; somebody who left the class has to go without."""
    allowance = (AssignmentPerson.person_id == Person.id) & (
        AssignmentPerson.assignment_id == assignment.id
    )
    in_class = select(ClassMember.person_id).where(
        ClassMember.class_id == assignment.class_id,
        ClassMember.part == Part.LEARNER.value,
        ClassMember.left_at.is_(None),
    )
    rows = connection.execute(
        select(Person.id, Person.name, func.coalesce(AssignmentPerson.extra_minutes, 0))
        .outerjoin(AssignmentPerson, allowance)
        .where(
            Person.active,
            Person.id.in_(in_class) | AssignmentPerson.assigned.is_(True),
        )
        .order_by(Person.name, Person.id)
    )
    return tuple(Taker(*row) for row in rows)


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


def set_people(connection: Connection, assignment_id: int, person_ids: set[int]) -> None:
    """Make these the people it is for by name; what somebody was allowed stays."""
    connection.execute(
        update(AssignmentPerson)
        .where(AssignmentPerson.assignment_id == assignment_id)
        .values(assigned=False)
    )
    for person_id in sorted(person_ids):
        _change_person(connection, assignment_id, person_id, assigned=True)


def allow_extra(
    connection: Connection, assignment_id: int, person_id: int, *, minutes: int
) -> None:
    _change_person(connection, assignment_id, person_id, extra_minutes=minutes)


def extra_minutes_of(connection: Connection, assignment_id: int, person_id: int) -> int:
    found = connection.scalar(
        select(AssignmentPerson.extra_minutes).where(
            AssignmentPerson.assignment_id == assignment_id,
            AssignmentPerson.person_id == person_id,
        )
    )
    return found or 0


def people_by_name(connection: Connection, assignment_id: int) -> frozenset[int]:
    """Return the keys of those it is given to by name."""
    return frozenset(
        connection.scalars(
            select(AssignmentPerson.person_id).where(
                AssignmentPerson.assignment_id == assignment_id, AssignmentPerson.assigned
            )
        )
    )


def class_names(connection: Connection, shop_id: int) -> dict[int, str]:
    rows = connection.execute(
        select(TrainingClass.id, TrainingClass.name).where(TrainingClass.shop_id == shop_id)
    )
    return {row[0]: row[1] for row in rows}


def _change_person(
    connection: Connection, assignment_id: int, person_id: int, **columns: object
) -> None:
    connection.execute(
        _NEW_PERSON[connection.dialect.name],
        {
            "assignment_id": assignment_id,
            "person_id": person_id,
            "assigned": False,
            "extra_minutes": 0,
        },
    )
    connection.execute(
        update(AssignmentPerson)
        .where(
            AssignmentPerson.assignment_id == assignment_id,
            AssignmentPerson.person_id == person_id,
        )
        .values(**columns)
    )


def _assignment(row: Any) -> StoredAssignment:
    columns = dict(row._mapping)  # noqa: SLF001 - SQLAlchemy's public name
    columns["form"] = Form(columns["form"])
    columns["issue"] = Issue(columns["issue"])
    columns["feedback"] = Feedback(columns["feedback"])
    return StoredAssignment(**columns)
