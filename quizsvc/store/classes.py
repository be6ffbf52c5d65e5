"""Training classes: the learners in them and the instructors who lead them."""

from __future__ import annotations

from datetime import datetime
from enum import StrEnum

from sqlalchemy import CheckConstraint, Connection, ForeignKey, Index, UniqueConstraint, insert
from sqlalchemy.orm import Mapped, mapped_column

from quizsvc.store.columns import Base, Key, Name, ShopKey, UtcAt, Word, one_of


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
