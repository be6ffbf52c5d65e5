"""Forms of a scheme's written test: which questions one candidate got, and how hard they are."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import Connection, ForeignKey, Index, UniqueConstraint, func, insert, select
from sqlalchemy.orm import Mapped, mapped_column

from quizsvc.store.assignment_questions import AssignmentQuestion
from quizsvc.store.columns import Base, Body, Key, PersonKey, ShopKey, Slug, UtcAt
from quizsvc.store.schemes import SchemeVersion
from quizsvc.store.sitting_items import SittingItem
from quizsvc.store.sitting_marks import CORRECT_NOW
from quizsvc.store.sittings import Sitting


class CandidateForm(Base):
    """One candidate's form; it is sat as an assignment for that candidate alone."""

    __tablename__ = "candidate_form"

    id: Mapped[Key]
    version_id: Mapped[int] = mapped_column(ForeignKey("scheme_version.id"))
    person_id: Mapped[PersonKey]
    shop_id: Mapped[ShopKey]
    assignment_id: Mapped[int] = mapped_column(ForeignKey("assignment.id"), unique=True)
    nth: Mapped[int]
    seed: Mapped[int]  # of the assembly, so that it can be done again
    expected: Mapped[float]  # points of somebody just at the cut
    information: Mapped[float]  # at the cut
    built: Mapped[Body]  # JSON: pool, targets and tolerances of the assembly
    made_by: Mapped[PersonKey]
    made_at: Mapped[UtcAt]

    __table_args__ = (
        UniqueConstraint("version_id", "person_id", "nth"),
        Index(None, "person_id"),
    )


class CandidateFormItem(Base):
    __tablename__ = "candidate_form_item"

    form_id: Mapped[int] = mapped_column(ForeignKey("candidate_form.id"), primary_key=True)
    place: Mapped[int] = mapped_column(primary_key=True)  # as in the assignment
    item_ref: Mapped[Slug]
    pilot: Mapped[bool]  # tried out: counts for nothing
    expected: Mapped[float]
    information: Mapped[float]

    __table_args__ = (Index(None, "item_ref"),)


@dataclass(frozen=True, slots=True)
class StoredForm:
    id: int
    version_id: int
    person_id: int
    shop_id: int
    assignment_id: int
    nth: int
    seed: int
    expected: float
    information: float
    built: str
    made_by: int
    made_at: datetime


@dataclass(frozen=True, slots=True)
class FormItem:
    place: int
    item_ref: str
    pilot: bool
    expected: float
    information: float


@dataclass(frozen=True, slots=True)
class AnsweredItem:
    """A question of a finished sitting with what its form says of it."""

    place: int
    topic: str
    level: str
    item_ref: str
    pilot: bool
    void: bool
    correct: bool


@dataclass(frozen=True, slots=True)
class SatForm:
    """A form with its sitting, as far as there is one."""

    form: StoredForm
    token: str | None
    state: str | None
    finished_at: datetime | None


_FORM = (
    CandidateForm.id,
    CandidateForm.version_id,
    CandidateForm.person_id,
    CandidateForm.shop_id,
    CandidateForm.assignment_id,
    CandidateForm.nth,
    CandidateForm.seed,
    CandidateForm.expected,
    CandidateForm.information,
    CandidateForm.built,
    CandidateForm.made_by,
    CandidateForm.made_at,
)


def add_form(connection: Connection, items: Sequence[FormItem], **columns: object) -> int:
    row = connection.execute(insert(CandidateForm).values(**columns).returning(CandidateForm.id))
    form_id = row.scalar_one()
    connection.execute(
        insert(CandidateFormItem),
        [
            {
                "form_id": form_id,
                "place": one.place,
                "item_ref": one.item_ref,
                "pilot": one.pilot,
                "expected": one.expected,
                "information": one.information,
            }
            for one in items
        ],
    )
    return form_id


def find_form(connection: Connection, form_id: int) -> StoredForm | None:
    row = connection.execute(select(*_FORM).where(CandidateForm.id == form_id)).first()
    return _form(row) if row else None


def forms_of(
    connection: Connection,
    *,
    scheme_id: int | None = None,
    person_id: int | None = None,
    form_id: int | None = None,
) -> tuple[SatForm, ...]:
    """Return forms with their sittings, of a scheme (all versions), a person or both."""
    wanted = (
        select(*_FORM, Sitting.token, Sitting.state, Sitting.finished_at)
        .join(SchemeVersion, SchemeVersion.id == CandidateForm.version_id)
        .outerjoin(
            Sitting,
            (Sitting.assignment_id == CandidateForm.assignment_id)
            & (Sitting.person_id == CandidateForm.person_id),
        )
        .order_by(CandidateForm.id)
    )
    if scheme_id is not None:
        wanted = wanted.where(SchemeVersion.scheme_id == scheme_id)
    if person_id is not None:
        wanted = wanted.where(CandidateForm.person_id == person_id)
    if form_id is not None:
        wanted = wanted.where(CandidateForm.id == form_id)
    return tuple(_sat(row) for row in connection.execute(wanted))


def items_of(connection: Connection, form_id: int) -> tuple[FormItem, ...]:
    rows = connection.execute(
        select(
            CandidateFormItem.place,
            CandidateFormItem.item_ref,
            CandidateFormItem.pilot,
            CandidateFormItem.expected,
            CandidateFormItem.information,
        )
        .where(CandidateFormItem.form_id == form_id)
        .order_by(CandidateFormItem.place)
    )
    return tuple(FormItem(*row) for row in rows)


def answered(connection: Connection, form: StoredForm) -> tuple[AnsweredItem, ...]:
    """Return what each question of a form's sitting counts as now, in the form's order."""
    rows = connection.execute(
        select(
            CandidateFormItem.place,
            AssignmentQuestion.topic,
            AssignmentQuestion.level,
            CandidateFormItem.item_ref,
            CandidateFormItem.pilot,
            AssignmentQuestion.voided_at.is_not(None),
            func.coalesce(CORRECT_NOW, False),
        )
        .join(
            AssignmentQuestion,
            (AssignmentQuestion.assignment_id == form.assignment_id)
            & (AssignmentQuestion.place == CandidateFormItem.place),
        )
        .join(SittingItem, SittingItem.question_id == AssignmentQuestion.id)
        .where(CandidateFormItem.form_id == form.id)
        .order_by(CandidateFormItem.place)
    )
    return tuple(
        AnsweredItem(row[0], row[1], row[2], row[3], bool(row[4]), bool(row[5]), bool(row[6]))
        for row in rows
    )


def exposure(connection: Connection, scheme_id: int, *, since: datetime) -> dict[str, int]:
    """Return in how many forms of a scheme each item stood lately."""
    rows = connection.execute(
        select(CandidateFormItem.item_ref, func.count())
        .join(CandidateForm, CandidateForm.id == CandidateFormItem.form_id)
        .join(SchemeVersion, SchemeVersion.id == CandidateForm.version_id)
        .where(SchemeVersion.scheme_id == scheme_id, CandidateForm.made_at >= since)
        .group_by(CandidateFormItem.item_ref)
    )
    return {row[0]: row[1] for row in rows}


def seen_by(connection: Connection, scheme_id: int, person_id: int) -> frozenset[str]:
    """Return the items of every form a person got in a scheme."""
    rows = connection.scalars(
        select(CandidateFormItem.item_ref)
        .join(CandidateForm, CandidateForm.id == CandidateFormItem.form_id)
        .join(SchemeVersion, SchemeVersion.id == CandidateForm.version_id)
        .where(SchemeVersion.scheme_id == scheme_id, CandidateForm.person_id == person_id)
    )
    return frozenset(rows)


RECENT = timedelta(days=365)


def _form(row: Any) -> StoredForm:
    return StoredForm(*tuple(row))


def _sat(row: Any) -> SatForm:
    columns = tuple(row)
    count = len(_FORM)
    return SatForm(_form(columns[:count]), *columns[count:])
