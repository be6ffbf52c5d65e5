"""Training classes: the learners in them and the instructors who lead them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

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

from quizsvc.store.columns import Base, Key, Name, ShopKey, UtcAt, Word, one_of
from quizsvc.store.people import Person


class Part(StrEnum):
    LEARNER = "learner"
    INSTRUCTOR = "instructor"


class TrainingClass(Base):
    __tablename__ = "training_class"

    id: Mapped[Key]
    shop_id: Mapped[ShopKey]
    name: Mapped[Name]
    made_at: Mapped[UtcAt]
    archived_at: Mapped[UtcAt | None]

    __table_args__ = (UniqueConstraint("shop_id", "name"),)


class ClassMember(Base):
    """Someone's part in a class; leaving closes the row and keeps it."""

    __tablename__ = "class_member"

    class_id: Mapped[int] = mapped_column(ForeignKey("training_class.id"), primary_key=True)
    person_id: Mapped[int] = mapped_column(ForeignKey("person.id"), primary_key=True)
    part: Mapped[Word]
    joined_at: Mapped[UtcAt]
    left_at: Mapped[UtcAt | None]

    __table_args__ = (
        CheckConstraint(one_of("part", Part), name="known_part"),
        CheckConstraint("left_at IS NULL OR left_at >= joined_at", name="leaves_after_joining"),
        Index(None, "person_id"),
    )


@dataclass(frozen=True, slots=True)
class StoredClass:
    """A class and how many are in it now."""

    id: int
    name: str
    archived_at: datetime | None
    learners: int
    instructors: int


@dataclass(frozen=True, slots=True)
class Member:
    person_id: int
    name: str
    sign_in_name: str | None
    part: Part
    active: bool


_WITH_COUNTS = (
    select(
        TrainingClass.id,
        TrainingClass.name,
        TrainingClass.archived_at,
        func.count().filter(ClassMember.part == Part.LEARNER.value),
        func.count().filter(ClassMember.part == Part.INSTRUCTOR.value),
    )
    .outerjoin(
        ClassMember, (ClassMember.class_id == TrainingClass.id) & ClassMember.left_at.is_(None)
    )
    .group_by(TrainingClass.id, TrainingClass.name, TrainingClass.archived_at)
)


def classes_of_shop(connection: Connection, shop_id: int) -> tuple[StoredClass, ...]:
    """Return the classes of a shop by name, archived ones last."""
    rows = connection.execute(
        _WITH_COUNTS.where(TrainingClass.shop_id == shop_id).order_by(
            TrainingClass.archived_at.is_not(None), TrainingClass.name
        )
    )
    return tuple(StoredClass(*row) for row in rows)


def class_names(connection: Connection, shop_id: int) -> dict[int, str]:
    rows = connection.execute(
        select(TrainingClass.id, TrainingClass.name).where(TrainingClass.shop_id == shop_id)
    )
    return {row[0]: row[1] for row in rows}


def find_class(connection: Connection, shop_id: int, class_id: int) -> StoredClass | None:
    """Return a class of a shop."""
    row = connection.execute(
        _WITH_COUNTS.where(TrainingClass.shop_id == shop_id, TrainingClass.id == class_id)
    ).first()
    return StoredClass(*row) if row else None


def led_by(connection: Connection, person_id: int) -> frozenset[int]:
    """Return the keys of the classes a person leads as instructor."""
    return frozenset(
        connection.scalars(
            select(ClassMember.class_id).where(
                ClassMember.person_id == person_id,
                ClassMember.part == Part.INSTRUCTOR.value,
                ClassMember.left_at.is_(None),
            )
        )
    )


def members_of(connection: Connection, class_id: int) -> tuple[Member, ...]:
    """Return who is in a class now, instructors first, then by name."""
    rows = connection.execute(
        select(Person.id, Person.name, Person.sign_in_name, ClassMember.part, Person.active)
        .join(ClassMember, ClassMember.person_id == Person.id)
        .where(ClassMember.class_id == class_id, ClassMember.left_at.is_(None))
        .order_by(ClassMember.part, Person.name, Person.id)
    )
    return tuple(Member(row[0], row[1], row[2], Part(row[3]), row[4]) for row in rows)


def set_part(
    connection: Connection, class_id: int, person_id: int, part: Part, *, now: datetime
) -> None:
    """Put a person into a class, or give them another part in it."""
    connection.execute(
        delete(ClassMember).where(
            ClassMember.class_id == class_id, ClassMember.person_id == person_id
        )
    )
    add_member(connection, class_id, person_id, part, now=now)


def leave(connection: Connection, class_id: int, person_id: int, *, now: datetime) -> None:
    connection.execute(
        update(ClassMember)
        .where(
            ClassMember.class_id == class_id,
            ClassMember.person_id == person_id,
            ClassMember.left_at.is_(None),
        )
        .values(left_at=now)
    )


def leave_all(connection: Connection, person_id: int, shop_id: int, *, now: datetime) -> None:
    """Take a person out of every class of a shop."""
    in_shop = select(TrainingClass.id).where(TrainingClass.shop_id == shop_id)
    connection.execute(
        update(ClassMember)
        .where(
            ClassMember.person_id == person_id,
            ClassMember.class_id.in_(in_shop),
            ClassMember.left_at.is_(None),
        )
        .values(left_at=now)
    )


def add_class(connection: Connection, shop_id: int, name: str, *, now: datetime) -> int:
    row = connection.execute(
        insert(TrainingClass)
        .values(shop_id=shop_id, name=name, made_at=now)
        .returning(TrainingClass.id)
    )
    return row.scalar_one()


def add_member(
    connection: Connection, class_id: int, person_id: int, part: Part, *, now: datetime
) -> None:
    connection.execute(
        insert(ClassMember).values(
            class_id=class_id, person_id=person_id, part=part.value, joined_at=now
        )
    )
