"""Wrong ideas people have shown: one row a person and idea, kept with each answer.

An idea is held from the answer that shows it until as many answers in a row as
`CLEARED_AFTER` were right where the idea would have led astray. So a report reads a few rows a
person, however long their history is.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import (
    CheckConstraint,
    ColumnElement,
    Connection,
    ForeignKey,
    bindparam,
    case,
    delete,
    func,
    insert,
    null,
    select,
    update,
)
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.orm import Mapped, mapped_column

from quizsvc.store.classes import ClassMember, Part
from quizsvc.store.columns import Base, Slug, UtcAt
from quizsvc.store.people import Person

CLEARED_AFTER = 2  # right answers in a row, each where the idea would have misled


class HeldIdea(Base):
    __tablename__ = "held_idea"

    person_id: Mapped[int] = mapped_column(ForeignKey("person.id"), primary_key=True)
    idea: Mapped[Slug] = mapped_column(primary_key=True)
    shown: Mapped[int]  # answers that showed it
    clear: Mapped[int]  # right answers since the last of them that it would have misled
    first_at: Mapped[UtcAt]
    last_at: Mapped[UtcAt]
    cleared_at: Mapped[UtcAt | None]

    __table_args__ = (
        CheckConstraint("shown >= 1", name="shown_from_one"),
        CheckConstraint("clear >= 0", name="clear_not_negative"),
    )


@dataclass(frozen=True, slots=True)
class Holder:
    """Somebody who holds an idea now."""

    idea: str
    person_id: int
    name: str
    shown: int
    last_at: datetime


@dataclass(frozen=True, slots=True)
class IdeaCount:
    """How many hold an idea now, and how many have got over it, in the period asked for."""

    idea: str
    holders: int
    cleared: int


def _showing(dialect: object) -> object:
    new = dialect.insert(HeldIdea)  # type: ignore[attr-defined]
    return new.on_conflict_do_update(
        index_elements=["person_id", "idea"],
        set_={
            "shown": HeldIdea.shown + 1,
            "clear": 0,
            "last_at": new.excluded.last_at,
            "cleared_at": null(),
        },
    )


_SHOWN = {"sqlite": _showing(sqlite), "postgresql": _showing(postgresql)}
_CLEAR = (
    update(HeldIdea)
    .where(
        HeldIdea.person_id == bindparam("for_person"),
        HeldIdea.idea.in_(bindparam("ideas", expanding=True)),
        HeldIdea.cleared_at.is_(None),
    )
    .values(
        clear=HeldIdea.clear + 1,
        cleared_at=case((HeldIdea.clear + 1 >= CLEARED_AFTER, bindparam("at")), else_=null()),
    )
)
_HELD = select(HeldIdea.idea).where(
    HeldIdea.person_id == bindparam("for_person"), HeldIdea.cleared_at.is_(None)
)


def show(connection: Connection, person_id: int, idea: str, *, now: datetime) -> None:
    """Note that an answer showed the idea."""
    connection.execute(
        _SHOWN[connection.dialect.name],  # type: ignore[call-overload]
        {
            "person_id": person_id,
            "idea": idea,
            "shown": 1,
            "clear": 0,
            "first_at": now,
            "last_at": now,
            "cleared_at": None,
        },
    )


def clear(connection: Connection, person_id: int, ideas: Collection[str], *, now: datetime) -> None:
    """Note a right answer to an item in which these ideas would have led astray."""
    if ideas:
        connection.execute(_CLEAR, {"for_person": person_id, "ideas": list(ideas), "at": now})


def held_by(connection: Connection, person_id: int) -> frozenset[str]:
    return frozenset(connection.scalars(_HELD, {"for_person": person_id}))


def forget(connection: Connection, person_id: int) -> None:
    """Take all of a person's rows away, before they are computed anew or with the person."""
    connection.execute(delete(HeldIdea).where(HeldIdea.person_id == person_id))


def counts_in_class(
    connection: Connection, class_id: int, *, since: datetime
) -> tuple[IdeaCount, ...]:
    """Return the ideas shown by the learners of a class since a time, most held first."""
    holds = func.count().filter(HeldIdea.cleared_at.is_(None))
    over = func.count().filter(HeldIdea.cleared_at.is_not(None))
    rows = connection.execute(
        select(HeldIdea.idea, holds, over)
        .join(ClassMember, ClassMember.person_id == HeldIdea.person_id)
        .where(*_learners_of(class_id), HeldIdea.last_at >= since)
        .group_by(HeldIdea.idea)
        .order_by(holds.desc(), over.desc(), HeldIdea.idea)
    )
    return tuple(IdeaCount(row[0], int(row[1]), int(row[2])) for row in rows)


def holders_in_class(
    connection: Connection, class_id: int, *, since: datetime
) -> tuple[Holder, ...]:
    """Return who in a class holds which idea now, having shown it since a time."""
    rows = connection.execute(
        select(HeldIdea.idea, Person.id, Person.name, HeldIdea.shown, HeldIdea.last_at)
        .join(Person, Person.id == HeldIdea.person_id)
        .join(ClassMember, ClassMember.person_id == HeldIdea.person_id)
        .where(*_learners_of(class_id), HeldIdea.last_at >= since, HeldIdea.cleared_at.is_(None))
        .order_by(HeldIdea.idea, HeldIdea.shown.desc(), Person.name, Person.id)
    )
    return tuple(Holder(*row) for row in rows)


def _learners_of(class_id: int) -> tuple[ColumnElement[bool], ...]:
    return (
        ClassMember.class_id == class_id,
        ClassMember.part == Part.LEARNER.value,
        ClassMember.left_at.is_(None),
    )


def keep_all(connection: Connection, rows: list[dict[str, object]]) -> None:
    """Store rows computed from the whole history of somebody of whom none are stored."""
    if rows:
        connection.execute(insert(HeldIdea), rows)
