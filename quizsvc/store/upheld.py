"""Decisions left standing although the result they rest on has changed since, and why."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import CheckConstraint, Connection, ForeignKey, insert, select
from sqlalchemy.orm import Mapped, mapped_column

from quizsvc.store.columns import Base, Body, Key, PersonKey, UtcAt
from quizsvc.store.people import Person


class UpheldDecision(Base):
    """``points`` of ``out_of`` is the result that was looked at; another one asks anew."""

    __tablename__ = "upheld_decision"

    id: Mapped[Key]
    decision_id: Mapped[int] = mapped_column(ForeignKey("decision.id"), index=True)
    person_id: Mapped[PersonKey]  # the candidate
    points: Mapped[int]
    out_of: Mapped[int]
    upheld_by: Mapped[PersonKey]
    why: Mapped[Body]
    at: Mapped[UtcAt]

    __table_args__ = (
        CheckConstraint("upheld_by <> person_id", name="nobody_upholds_their_own"),
        CheckConstraint("points BETWEEN 0 AND out_of", name="points_within"),
    )


@dataclass(frozen=True, slots=True)
class Upheld:
    decision_id: int
    points: int
    out_of: int
    by: str
    why: str
    at: datetime


def add(connection: Connection, **columns: object) -> None:
    connection.execute(insert(UpheldDecision).values(**columns))


def upheld_of(connection: Connection, decision_ids: list[int]) -> tuple[Upheld, ...]:
    """Return what was left standing of these decisions, the oldest first."""
    rows = connection.execute(
        select(
            UpheldDecision.decision_id,
            UpheldDecision.points,
            UpheldDecision.out_of,
            Person.name,
            UpheldDecision.why,
            UpheldDecision.at,
        )
        .join(Person, Person.id == UpheldDecision.upheld_by)
        .where(UpheldDecision.decision_id.in_(decision_ids))
        .order_by(UpheldDecision.id)
    )
    return tuple(Upheld(*row) for row in rows)
