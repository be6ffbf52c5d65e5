"""Where finished tests asked a hand-written item, and the answers of theirs in people's records."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, and_, func, select

from quizsvc.store.assignment_questions import AssignmentQuestion
from quizsvc.store.assignments import Assignment
from quizsvc.store.banks import BankItemVersion
from quizsvc.store.candidate_forms import CandidateForm, CandidateFormItem
from quizsvc.store.offers import Offer, Response
from quizsvc.store.people import Person
from quizsvc.store.sitting_items import SittingItem
from quizsvc.store.sitting_marks import CORRECT_NOW, SittingMark, SittingRemark
from quizsvc.store.sittings import Sitting


@dataclass(frozen=True, slots=True)
class SatQuestion:
    """A question of a finished sitting that counts, as it stands now.

    ``marked_by`` is the version of the item whose key it was marked again by last, if it was.
    """

    sitting_id: int
    token: str
    person_id: int
    person: str
    assignment_id: int
    test: str
    finished_at: datetime
    points: int
    out_of: int
    number: int
    place: int
    version_id: int
    seed: int
    shown_hash: str
    given: str | None
    given_words: str
    correct: bool
    last_remark: int
    marked_by: int | None
    form_id: int | None
    pilot: bool


@dataclass(frozen=True, slots=True)
class AnswerToFollow:
    """The answer in somebody's record that was given in a test marked again since."""

    response_id: int
    person_id: int
    correct: bool  # of the response itself
    credit: float
    item_id: int
    version_id: int
    made_by: int
    why: str
    new_correct: bool
    new_credit: float
    misconception: str | None
    right_words: str


_last = (
    select(func.max(SittingMark.remark_id))
    .where(
        SittingMark.sitting_id == SittingItem.sitting_id, SittingMark.number == SittingItem.number
    )
    .correlate(SittingItem)
    .scalar_subquery()
)
_SAT = (
    select(
        Sitting.id,
        Sitting.token,
        Sitting.person_id,
        Person.name,
        Sitting.assignment_id,
        Assignment.title,
        Sitting.finished_at,
        Sitting.points,
        Sitting.out_of,
        SittingItem.number,
        AssignmentQuestion.place,
        AssignmentQuestion.bank_item_version_id,
        SittingItem.seed,
        SittingItem.shown_hash,
        SittingItem.given,
        func.coalesce(SittingItem.given_words, ""),
        func.coalesce(CORRECT_NOW, False),
        func.coalesce(_last, 0),
        SittingRemark.version_id,
        CandidateForm.id,
        func.coalesce(CandidateFormItem.pilot, False),
    )
    .select_from(AssignmentQuestion)
    .join(SittingItem, SittingItem.question_id == AssignmentQuestion.id)
    .join(Sitting, Sitting.id == SittingItem.sitting_id)
    .join(Assignment, Assignment.id == Sitting.assignment_id)
    .join(Person, Person.id == Sitting.person_id)
    .join(BankItemVersion, BankItemVersion.id == AssignmentQuestion.bank_item_version_id)
    .outerjoin(SittingRemark, SittingRemark.id == _last)
    .outerjoin(CandidateForm, CandidateForm.assignment_id == Sitting.assignment_id)
    .outerjoin(
        CandidateFormItem,
        and_(
            CandidateFormItem.form_id == CandidateForm.id,
            CandidateFormItem.place == AssignmentQuestion.place,
        ),
    )
    .where(Sitting.finished_at.is_not(None), AssignmentQuestion.voided_at.is_(None))
    .order_by(Assignment.title, Sitting.assignment_id, Person.name, Sitting.id, SittingItem.number)
)
_NEWEST = (
    select(
        SittingMark.sitting_id,
        SittingMark.number,
        func.max(SittingMark.remark_id).label("remark_id"),
    )
    .where(SittingMark.correct.is_not(None))
    .group_by(SittingMark.sitting_id, SittingMark.number)
)


def sat_with(
    connection: Connection, shop_id: int, item_ref: str, item_id: int
) -> tuple[SatQuestion, ...]:
    """Return where finished tests of a shop asked any version of an item, by test and person."""
    rows = connection.execute(
        _SAT.where(
            AssignmentQuestion.item_ref == item_ref,
            BankItemVersion.item_id == item_id,
            Sitting.shop_id == shop_id,
        )
    )
    return tuple(_sat(row) for row in rows)


def count_waiting(
    connection: Connection, shop_id: int, item_ref: str, version_id: int | None
) -> int:
    """Return how many finished sittings asked the item by another key than that of a version.

    Without a version in use, these are all that asked it.
    """
    rows = _SAT.where(
        AssignmentQuestion.item_ref == item_ref,
        AssignmentQuestion.bank_item_version_id != (version_id or 0),
        func.coalesce(SittingRemark.version_id, 0) != (version_id or -1),
        Sitting.shop_id == shop_id,
    ).with_only_columns(func.count(func.distinct(Sitting.id)))
    return connection.scalar(rows.order_by(None)) or 0


def answers_to_follow(connection: Connection, sitting_ids: list[int]) -> tuple[AnswerToFollow, ...]:
    """Return the answers of these sittings in people's records, with the newest marks of both."""
    newest = _NEWEST.where(SittingMark.sitting_id.in_(sitting_ids)).subquery()
    rows: Iterable[Any] = connection.execute(
        select(
            Response.id,
            Response.person_id,
            Response.correct,
            Response.credit,
            SittingRemark.item_id,
            SittingRemark.version_id,
            SittingRemark.made_by,
            SittingRemark.why,
            SittingMark.correct,
            SittingMark.credit,
            SittingMark.misconception,
            SittingMark.right_words,
        )
        .select_from(newest)
        .join(
            SittingMark,
            and_(
                SittingMark.remark_id == newest.c.remark_id,
                SittingMark.sitting_id == newest.c.sitting_id,
                SittingMark.number == newest.c.number,
            ),
        )
        .join(SittingRemark, SittingRemark.id == SittingMark.remark_id)
        .join(Sitting, Sitting.id == SittingMark.sitting_id)
        .join(
            SittingItem,
            and_(
                SittingItem.sitting_id == SittingMark.sitting_id,
                SittingItem.number == SittingMark.number,
            ),
        )
        .join(AssignmentQuestion, AssignmentQuestion.id == SittingItem.question_id)
        # No key leads from a sitting to the record: what was put, to whom and when, does.
        .join(
            Offer,
            and_(
                Offer.person_id == Sitting.person_id,
                Offer.seed == SittingItem.seed,
                Offer.bank_item_version_id == AssignmentQuestion.bank_item_version_id,
                Offer.made_at == Sitting.opened_at,
            ),
        )
        .join(Response, Response.offer_id == Offer.id)
        .order_by(Response.id)
    )
    return tuple(AnswerToFollow(*row) for row in rows)


def _sat(row: Any) -> SatQuestion:
    values = list(row)
    values[16], values[20] = bool(values[16]), bool(values[20])
    return SatQuestion(*values)
