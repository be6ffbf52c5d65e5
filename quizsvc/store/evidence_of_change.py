"""Whose answers and certificates rest on a sheet's revision or on an item."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, case, func, select

from quizsvc.rules.reviewing import ItemState
from quizsvc.store.assignment_questions import AssignmentQuestion
from quizsvc.store.banks import Bank, BankItem, BankItemVersion
from quizsvc.store.candidate_forms import CandidateForm
from quizsvc.store.cards import ItemCard
from quizsvc.store.certificates import Certificate
from quizsvc.store.corrections import NONE, corrections, differences
from quizsvc.store.decisions import Decision
from quizsvc.store.offers import Response
from quizsvc.store.people import Person
from quizsvc.store.remarks import Remark, RemarkedResponse
from quizsvc.store.schemes import Scheme, SchemeVersion


@dataclass(frozen=True, slots=True)
class RestingCertificate:
    """A certificate whose written test asked something that rests on what changed."""

    person_id: int
    name: str
    token: str
    scheme: str
    issued_at: datetime
    questions: int


@dataclass(frozen=True, slots=True)
class AnsweredItem:
    person_id: int
    name: str
    answers: int
    right: int
    last_at: datetime


@dataclass(frozen=True, slots=True)
class WithdrawnItem:
    item_ref: str
    bank: str
    entry: str
    topic: str
    level: str


_RESTING = (
    select(
        Person.id,
        Person.name,
        Certificate.token,
        Scheme.title,
        Certificate.issued_at,
        func.count(),
    )
    .join(Certificate, Certificate.person_id == Person.id)
    .join(SchemeVersion, SchemeVersion.id == Certificate.version_id)
    .join(Scheme, Scheme.id == SchemeVersion.scheme_id)
    .join(Decision, Decision.id == Certificate.decision_id)
    .join(CandidateForm, CandidateForm.id == Decision.form_id)
    .join(AssignmentQuestion, AssignmentQuestion.assignment_id == CandidateForm.assignment_id)
    .where(Certificate.revoked_at.is_(None))
    .group_by(Person.id, Person.name, Certificate.token, Scheme.title, Certificate.issued_at)
    .order_by(Person.name, Person.id)
)


def certificates_on_revision(
    connection: Connection, revision_id: int, shop_id: int
) -> tuple[RestingCertificate, ...]:
    rows = connection.execute(
        _RESTING.where(
            Certificate.shop_id == shop_id, AssignmentQuestion.sheet_revision_id == revision_id
        )
    )
    return tuple(RestingCertificate(*row) for row in rows)


def certificates_on_item(
    connection: Connection, item_ref: str, shop_id: int
) -> tuple[RestingCertificate, ...]:
    rows = connection.execute(
        _RESTING.where(Certificate.shop_id == shop_id, AssignmentQuestion.item_ref == item_ref)
    )
    return tuple(RestingCertificate(*row) for row in rows)


def answered_item(connection: Connection, item_ref: str, shop_id: int) -> tuple[AnsweredItem, ...]:
    """Return who of a shop answered an item, by name.

    Every answer given is told, also one that counts for nothing since the item was found faulty:
    it is the person who was misled that matters here. ``right`` is as answers count now.
    """
    rows = connection.execute(
        select(
            Person.id,
            Person.name,
            func.count(),
            func.sum(case((Response.correct, 1), else_=0)),
            func.max(Response.answered_at),
        )
        .join(Response, Response.person_id == Person.id)
        .where(Response.item_ref == item_ref, Response.shop_id == shop_id)
        .group_by(Person.id, Person.name)
        .order_by(Person.name, Person.id)
    ).all()
    changed = (
        differences(RemarkedResponse.person_id)
        .join(ItemCard, ItemCard.item_id == Remark.item_id)
        .where(ItemCard.item_ref == item_ref, Response.shop_id == shop_id)
    )
    again = corrections(connection, changed)
    return tuple(
        AnsweredItem(key, name, answers, int(right) + again.get((key,), NONE).right, last_at)
        for key, name, answers, right, last_at in rows
    )


def withdrawn_items(connection: Connection, shop_id: int) -> tuple[WithdrawnItem, ...]:
    """Return the items a shop may see of which the newest decided version is withdrawn."""
    in_use = select(BankItemVersion.item_id).where(
        BankItemVersion.state == ItemState.APPROVED.value, BankItemVersion.current
    )
    newest = (
        select(func.max(BankItemVersion.id))
        .where(BankItemVersion.state == ItemState.WITHDRAWN.value)
        .group_by(BankItemVersion.item_id)
    )
    rows = connection.execute(
        select(Bank.id, BankItem.entry, BankItemVersion.topic, BankItemVersion.level, Bank.title)
        .join(BankItem, BankItem.bank_id == Bank.id)
        .join(BankItemVersion, BankItemVersion.item_id == BankItem.id)
        .where(
            BankItemVersion.id.in_(newest),
            BankItem.id.not_in(in_use),
            (Bank.shop_id == shop_id) | Bank.shop_id.is_(None),
        )
        .order_by(Bank.title, BankItem.entry)
    )
    return tuple(
        WithdrawnItem(f"bank:{row[0]}/{row[1]}", row[4], row[1], row[2], row[3]) for row in rows
    )
