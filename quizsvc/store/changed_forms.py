"""Candidates' tries of which a question was marked again or declared void."""

from __future__ import annotations

from sqlalchemy import Connection, select

from quizsvc.rules.certifying import DecisionState
from quizsvc.store import candidate_forms, sitting_marks
from quizsvc.store.assignment_questions import AssignmentQuestion
from quizsvc.store.candidate_forms import CandidateForm, StoredForm
from quizsvc.store.decisions import Decision
from quizsvc.store.sitting_marks import RemarkedSitting, SittingMark
from quizsvc.store.sittings import Sitting


def touched(connection: Connection, shop_id: int) -> tuple[StoredForm, ...]:
    """Return the decided tries of a shop whose score may be another than the one decided on.

    Found through what was marked again or declared void, which is little, never through all.
    """
    marked = (
        select(Sitting.assignment_id)
        .join(SittingMark, SittingMark.sitting_id == Sitting.id)
        .where(Sitting.shop_id == shop_id)
    )
    voided = select(AssignmentQuestion.assignment_id).where(
        AssignmentQuestion.voided_at.is_not(None)
    )
    decided = select(Decision.form_id).where(Decision.state == DecisionState.DECIDED.value)
    keys = connection.scalars(
        select(CandidateForm.id)
        .where(
            CandidateForm.shop_id == shop_id,
            CandidateForm.id.in_(decided),
            CandidateForm.assignment_id.in_(marked) | CandidateForm.assignment_id.in_(voided),
        )
        .order_by(CandidateForm.id)
    ).all()
    forms = (candidate_forms.find_form(connection, key) for key in keys)
    return tuple(form for form in forms if form is not None)


def marks_on(connection: Connection, form_id: int) -> tuple[RemarkedSitting, ...]:
    """Return every marking again of a try's sitting, the oldest first."""
    sitting_id = connection.scalar(
        select(Sitting.id)
        .join(CandidateForm, CandidateForm.assignment_id == Sitting.assignment_id)
        .where(CandidateForm.id == form_id, Sitting.person_id == CandidateForm.person_id)
        .order_by(Sitting.id.desc())
        .limit(1)
    )
    return sitting_marks.marks_of(connection, sitting_id) if sitting_id is not None else ()
