"""Decisions about candidates, and appeals against them. A decision is replaced, never changed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import CheckConstraint, Connection, ForeignKey, Index, insert, select, update
from sqlalchemy.orm import Mapped, aliased, mapped_column

from quizsvc.rules.certifying import DecisionState
from quizsvc.store.classes import ClassMember, Part
from quizsvc.store.columns import Base, Body, Key, PersonKey, ShopKey, UtcAt, Word, one_of
from quizsvc.store.people import Person
from quizsvc.store.schemes import SchemeVersion


class Decision(Base):
    __tablename__ = "decision"

    id: Mapped[Key]
    version_id: Mapped[int] = mapped_column(ForeignKey("scheme_version.id"))
    form_id: Mapped[int] = mapped_column(ForeignKey("candidate_form.id"))
    person_id: Mapped[PersonKey]
    shop_id: Mapped[ShopKey]
    state: Mapped[Word]
    certified: Mapped[bool]
    points: Mapped[int]
    out_of: Mapped[int]
    report: Mapped[Body]  # JSON: standard error, cut, band, profile, consistency
    reason: Mapped[Body]
    decider_id: Mapped[PersonKey]
    confirmer_id: Mapped[int | None] = mapped_column(ForeignKey("person.id"))
    made_at: Mapped[UtcAt]
    decided_at: Mapped[UtcAt | None]
    replaces_id: Mapped[int | None] = mapped_column(ForeignKey("decision.id"))

    __table_args__ = (
        CheckConstraint(one_of("state", DecisionState), name="known_state"),
        CheckConstraint("decider_id <> person_id", name="nobody_decides_on_themselves"),
        CheckConstraint(
            "confirmer_id IS NULL OR (confirmer_id <> person_id AND confirmer_id <> decider_id)",
            name="confirmer_is_another_person",
        ),
        CheckConstraint("points BETWEEN 0 AND out_of", name="points_within"),
        Index(None, "person_id"),
        Index(None, "form_id"),
    )


class Appeal(Base):
    __tablename__ = "appeal"

    id: Mapped[Key]
    decision_id: Mapped[int] = mapped_column(ForeignKey("decision.id"), index=True)
    person_id: Mapped[PersonKey]
    words: Mapped[Body]
    filed_at: Mapped[UtcAt]
    answer: Mapped[Body]
    upheld: Mapped[bool | None]
    answered_by: Mapped[int | None] = mapped_column(ForeignKey("person.id"))
    answered_at: Mapped[UtcAt | None]


@dataclass(frozen=True, slots=True)
class StoredDecision:
    id: int
    version_id: int
    scheme_id: int
    form_id: int
    person_id: int
    shop_id: int
    state: DecisionState
    certified: bool
    points: int
    out_of: int
    report: str
    reason: str
    decider_id: int
    decider: str
    confirmer_id: int | None
    confirmer: str | None
    made_at: datetime
    decided_at: datetime | None
    replaces_id: int | None


@dataclass(frozen=True, slots=True)
class StoredAppeal:
    id: int
    decision_id: int
    person_id: int
    words: str
    filed_at: datetime
    answer: str
    upheld: bool | None
    answered_by: int | None
    answered_at: datetime | None


_DECIDER, _CONFIRMER = aliased(Person), aliased(Person)
_ROW = (
    select(
        Decision.id,
        Decision.version_id,
        SchemeVersion.scheme_id,
        Decision.form_id,
        Decision.person_id,
        Decision.shop_id,
        Decision.state,
        Decision.certified,
        Decision.points,
        Decision.out_of,
        Decision.report,
        Decision.reason,
        Decision.decider_id,
        _DECIDER.name.label("decider"),
        Decision.confirmer_id,
        _CONFIRMER.name.label("confirmer"),
        Decision.made_at,
        Decision.decided_at,
        Decision.replaces_id,
    )
    .join(SchemeVersion, SchemeVersion.id == Decision.version_id)
    .join(_DECIDER, _DECIDER.id == Decision.decider_id)
    .outerjoin(_CONFIRMER, _CONFIRMER.id == Decision.confirmer_id)
)
_APPEAL = select(
    Appeal.id,
    Appeal.decision_id,
    Appeal.person_id,
    Appeal.words,
    Appeal.filed_at,
    Appeal.answer,
    Appeal.upheld,
    Appeal.answered_by,
    Appeal.answered_at,
)


def add_decision(connection: Connection, **columns: object) -> int:
    row = connection.execute(insert(Decision).values(**columns).returning(Decision.id))
    return row.scalar_one()


def change_decision(connection: Connection, decision_id: int, **columns: object) -> None:
    connection.execute(update(Decision).where(Decision.id == decision_id).values(**columns))


def find_decision(
    connection: Connection, decision_id: int, *, lock: bool = False
) -> StoredDecision | None:
    wanted = _ROW.where(Decision.id == decision_id)
    row = connection.execute(wanted.with_for_update(of=Decision) if lock else wanted).first()
    return _decision(row) if row else None


def decisions_of(
    connection: Connection,
    *,
    form_id: int | None = None,
    scheme_id: int | None = None,
    person_id: int | None = None,
) -> tuple[StoredDecision, ...]:
    """Return decisions, the newest first."""
    wanted = _ROW.order_by(Decision.id.desc())
    if form_id is not None:
        wanted = wanted.where(Decision.form_id == form_id)
    if scheme_id is not None:
        wanted = wanted.where(SchemeVersion.scheme_id == scheme_id)
    if person_id is not None:
        wanted = wanted.where(Decision.person_id == person_id)
    return tuple(_decision(row) for row in connection.execute(wanted))


def add_appeal(
    connection: Connection, decision_id: int, person_id: int, words: str, *, now: datetime
) -> None:
    connection.execute(
        insert(Appeal).values(
            decision_id=decision_id, person_id=person_id, words=words, filed_at=now, answer=""
        )
    )


def answer_appeal(connection: Connection, appeal_id: int, **columns: object) -> None:
    connection.execute(update(Appeal).where(Appeal.id == appeal_id).values(**columns))


def appeal_of(
    connection: Connection, decision_id: int, *, lock: bool = False
) -> StoredAppeal | None:
    wanted = _APPEAL.where(Appeal.decision_id == decision_id)
    row = connection.execute(wanted.with_for_update() if lock else wanted).first()
    return StoredAppeal(*row) if row else None


def taught_by(connection: Connection, person_id: int) -> frozenset[int]:
    """Return who leads, as instructor, a class in which the person learns or has learned."""
    learns, leads = aliased(ClassMember), aliased(ClassMember)
    rows = connection.scalars(
        select(leads.person_id)
        .join(learns, learns.class_id == leads.class_id)
        .where(
            learns.person_id == person_id,
            learns.part == Part.LEARNER.value,
            leads.part == Part.INSTRUCTOR.value,
        )
    )
    return frozenset(rows)


def _decision(row: Any) -> StoredDecision:
    columns = dict(row._mapping)  # noqa: SLF001 - SQLAlchemy's public name
    columns["state"] = DecisionState(columns["state"])
    return StoredDecision(**columns)
