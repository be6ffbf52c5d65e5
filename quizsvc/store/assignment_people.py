"""Whom assignments are for by name, and who takes them."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import CheckConstraint, Connection, ForeignKey, Index, func, select, update
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.orm import Mapped, mapped_column

from quizsvc.rules.assignments import Issue
from quizsvc.store.assignments import COLUMNS, Assignment, StoredAssignment, assignment_from
from quizsvc.store.classes import ClassMember, Part
from quizsvc.store.columns import Base
from quizsvc.store.people import Person


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
class Taker:
    """Somebody an assignment is for."""

    person_id: int
    name: str
    extra_minutes: int


_NEW_PERSON = {
    "sqlite": sqlite.insert(AssignmentPerson).on_conflict_do_nothing(),
    "postgresql": postgresql.insert(AssignmentPerson).on_conflict_do_nothing(),
}


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
        select(*COLUMNS)
        .where(
            Assignment.shop_id == shop_id,
            Assignment.issue == Issue.ISSUED.value,
            Assignment.class_id.in_(through_class) | Assignment.id.in_(by_name),
        )
        .order_by(Assignment.due_at, Assignment.id)
    )
    return tuple(assignment_from(row) for row in rows)


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
