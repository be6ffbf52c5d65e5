"""What was answered on a revision of an engine sheet, and by whom."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, case, func, select

from quizsvc.store.assignment_questions import AssignmentQuestion
from quizsvc.store.candidate_forms import CandidateForm
from quizsvc.store.certificates import Certificate
from quizsvc.store.decisions import Decision
from quizsvc.store.offers import Offer, Response
from quizsvc.store.people import Person


@dataclass(frozen=True, slots=True)
class Answered:
    """One person's answers on one revision."""

    person_id: int
    name: str
    answers: int
    right: int
    last_at: datetime


@dataclass(frozen=True, slots=True)
class Certified:
    """A certificate whose written test asked from one revision."""

    certificate_id: int
    person_id: int
    name: str
    questions: int
    issued_at: datetime
    revoked: bool


def answered_on(connection: Connection, revision_id: int, shop_id: int) -> tuple[Answered, ...]:
    """Return who of the shop answered anything drawn from the revision, by name.

    Practice and assignments; of tests those whose answers were counted into the person's record.
    The first mark is the one that counts: only hand-written items are ever marked again, and an
    offer is drawn either from a sheet or from one of those (a constraint of the table holds it).
    """
    rows = connection.execute(
        select(
            Person.id,
            Person.name,
            func.count(),
            func.sum(case((Response.correct, 1), else_=0)),
            func.max(Response.answered_at),
        )
        .join(Offer, Offer.id == Response.offer_id)
        .join(Person, Person.id == Response.person_id)
        .where(Offer.sheet_revision_id == revision_id, Response.shop_id == shop_id)
        .group_by(Person.id, Person.name)
        .order_by(Person.name, Person.id)
    ).all()
    return tuple(Answered(*row) for row in rows)


def families_answered_on(connection: Connection, revision_id: int, shop_id: int) -> dict[str, int]:
    """Return how many answers the shop's people gave on the revision, by family."""
    rows = connection.execute(
        select(Response.item_ref, func.count())
        .join(Offer, Offer.id == Response.offer_id)
        .where(Offer.sheet_revision_id == revision_id, Response.shop_id == shop_id)
        .group_by(Response.item_ref)
    ).all()
    return {str(item_ref): int(count) for item_ref, count in rows}


def certified_on(connection: Connection, revision_id: int, shop_id: int) -> tuple[Certified, ...]:
    """Return the shop's certificates whose test drew questions from the revision, by name."""
    rows = connection.execute(
        select(
            Certificate.id,
            Person.id,
            Person.name,
            func.count(),
            Certificate.issued_at,
            Certificate.revoked_at.is_not(None),
        )
        .join(Person, Person.id == Certificate.person_id)
        .join(Decision, Decision.id == Certificate.decision_id)
        .join(CandidateForm, CandidateForm.id == Decision.form_id)
        .join(AssignmentQuestion, AssignmentQuestion.assignment_id == CandidateForm.assignment_id)
        .where(
            AssignmentQuestion.sheet_revision_id == revision_id,
            AssignmentQuestion.voided_at.is_(None),
            Certificate.shop_id == shop_id,
        )
        .group_by(Certificate.id, Person.id, Person.name)
        .order_by(Person.name, Certificate.id)
    ).all()
    return tuple(Certified(*row[:5], bool(row[5])) for row in rows)
