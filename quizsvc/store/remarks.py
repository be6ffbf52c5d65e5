"""Answers marked again: records beside the responses, which themselves are never changed.

The newest remark of a response is what counts; one that is not ``counted`` is left out of
competence and reports.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Any

from sqlalchemy import (
    CheckConstraint,
    ColumnElement,
    Connection,
    ForeignKey,
    Index,
    Subquery,
    and_,
    bindparam,
    case,
    func,
    insert,
    or_,
    select,
)
from sqlalchemy.orm import Mapped, mapped_column

from quizsvc.store.banks import BankItemVersion
from quizsvc.store.columns import Base, Body, Key, PersonKey, Slug, UtcAt, Word, one_of
from quizsvc.store.offers import (
    OFFER_COLUMNS,
    RESPONSE_COLUMNS,
    Offer,
    Response,
    StoredOffer,
    StoredResponse,
)
from quizsvc.store.people import Person


class Cause(StrEnum):
    FAULTY = "withdrawn as faulty"
    KEY_CORRECTED = "key corrected"


class Remark(Base):
    """Why answers to an item were marked again, by whom, and from which version on."""

    __tablename__ = "remark"

    id: Mapped[Key]
    item_id: Mapped[int] = mapped_column(ForeignKey("bank_item.id"))
    version_id: Mapped[int] = mapped_column(ForeignKey("bank_item_version.id"))
    cause: Mapped[Word]
    person_id: Mapped[PersonKey]
    why: Mapped[Body]
    at: Mapped[UtcAt]

    __table_args__ = (
        CheckConstraint(one_of("cause", Cause), name="known_cause"),
        Index(None, "item_id"),
    )


class RemarkedResponse(Base):
    """What a response counts as from now on. Appended once, like the response itself."""

    __tablename__ = "remarked_response"

    remark_id: Mapped[int] = mapped_column(ForeignKey("remark.id"), primary_key=True)
    response_id: Mapped[int] = mapped_column(ForeignKey("response.id"), primary_key=True)
    person_id: Mapped[PersonKey]
    counted: Mapped[bool]
    correct: Mapped[bool]
    credit: Mapped[float]
    misconception: Mapped[Slug | None]
    right_words: Mapped[Body]

    __table_args__ = (
        CheckConstraint("credit BETWEEN 0 AND 1", name="credit_from_0_to_1"),
        Index(None, "response_id"),
        Index(None, "person_id"),
    )


@dataclass(frozen=True, slots=True)
class Affected:
    """An answered offer of an item, with the key of its response."""

    response_id: int
    offer: StoredOffer
    response: StoredResponse


@dataclass(frozen=True, slots=True)
class NewMark:
    response_id: int
    person_id: int
    counted: bool
    correct: bool
    credit: float
    misconception: str | None
    right_words: str


@dataclass(frozen=True, slots=True)
class RemarkRow:
    id: int
    item_id: int
    version_id: int
    version: int
    cause: Cause
    person: str
    why: str
    at: datetime


@dataclass(frozen=True, slots=True)
class Concerned:
    """A person whose answer was marked again: what it was and what it counts as."""

    person_id: int
    person: str
    answered_at: datetime
    given_words: str
    was_correct: bool
    counted: bool
    correct: bool


@dataclass(frozen=True, slots=True)
class Told:
    """What an answer counts as now, why, and since when."""

    mark: NewMark
    why: str
    at: datetime


_MARK = (
    RemarkedResponse.response_id,
    RemarkedResponse.person_id,
    RemarkedResponse.counted,
    RemarkedResponse.correct,
    RemarkedResponse.credit,
    RemarkedResponse.misconception,
    RemarkedResponse.right_words,
)
_MARK_ON = (
    select(*_MARK, Remark.why, Remark.at)
    .join(Remark, Remark.id == RemarkedResponse.remark_id)
    .join(Response, Response.id == RemarkedResponse.response_id)
    .where(Response.offer_id == bindparam("for_offer"))
    .order_by(RemarkedResponse.remark_id.desc())
    .limit(1)
)


def newest_marks() -> Subquery:
    """Return what responses that were marked again count as now: one row for each of them.

    To be joined from the outside; what `as_it_counts` says of a response then holds.
    """
    newest = (
        select(
            RemarkedResponse.response_id, func.max(RemarkedResponse.remark_id).label("remark_id")
        )
        .group_by(RemarkedResponse.response_id)
        .subquery()
    )
    return (
        select(
            RemarkedResponse.response_id,
            RemarkedResponse.counted,
            RemarkedResponse.correct,
            RemarkedResponse.misconception,
        )
        .join(
            newest,
            and_(
                newest.c.response_id == RemarkedResponse.response_id,
                newest.c.remark_id == RemarkedResponse.remark_id,
            ),
        )
        .subquery("newest_mark")
    )


@dataclass(frozen=True, slots=True)
class AsItCounts:
    """Columns and a condition over `Response` joined with `newest_marks`."""

    counts: ColumnElement[bool]
    correct: ColumnElement[bool]
    misconception: ColumnElement[str | None]


def as_it_counts(marks: Subquery) -> AsItCounts:
    given = marks.c.response_id.is_(None)
    return AsItCounts(
        or_(given, marks.c.counted),
        case((given, Response.correct), else_=marks.c.correct),
        case((given, Response.misconception), else_=marks.c.misconception),
    )


def add_remark(
    connection: Connection,
    *,
    item_id: int,
    version_id: int,
    cause: Cause,
    person_id: int,
    why: str,
    now: datetime,
) -> int:
    row = connection.execute(
        insert(Remark)
        .values(
            item_id=item_id,
            version_id=version_id,
            cause=cause.value,
            person_id=person_id,
            why=why,
            at=now,
        )
        .returning(Remark.id)
    )
    return row.scalar_one()


def add_marks(connection: Connection, remark_id: int, marks: list[NewMark]) -> None:
    rows = [
        {"remark_id": remark_id} | {name: getattr(mark, name) for name in NewMark.__slots__}
        for mark in marks
    ]
    if rows:
        connection.execute(insert(RemarkedResponse), rows)


def answered(connection: Connection, item_id: int) -> tuple[Affected, ...]:
    """Return every answered offer of any version of the item, oldest first."""
    wanted = (
        select(Response.id, *OFFER_COLUMNS, *RESPONSE_COLUMNS)
        .join(Offer, Offer.id == Response.offer_id)
        .join(BankItemVersion, BankItemVersion.id == Offer.bank_item_version_id)
        .where(BankItemVersion.item_id == item_id)
        .order_by(Response.id)
    )
    return tuple(_affected(row) for row in connection.execute(wanted))


def answers_of(connection: Connection, person_id: int) -> tuple[Affected, ...]:
    """Return every answer of a person, oldest first."""
    wanted = (
        select(Response.id, *OFFER_COLUMNS, *RESPONSE_COLUMNS)
        .join(Offer, Offer.id == Response.offer_id)
        .where(Response.person_id == person_id)
        .order_by(Response.id)
    )
    return tuple(_affected(row) for row in connection.execute(wanted))


def marks_of(connection: Connection, person_id: int) -> dict[int, NewMark]:
    """Return what the person's marked-again responses count as now, by response."""
    rows = connection.execute(
        select(*_MARK)
        .where(RemarkedResponse.person_id == person_id)
        .order_by(RemarkedResponse.remark_id)
    ).all()
    return {row[0]: NewMark(*row) for row in rows}


def marks_on_item(connection: Connection, item_id: int) -> dict[int, NewMark]:
    """Return what marked-again responses to an item count as now, by response."""
    rows = connection.execute(
        select(*_MARK)
        .join(Remark, Remark.id == RemarkedResponse.remark_id)
        .where(Remark.item_id == item_id)
        .order_by(RemarkedResponse.remark_id)
    ).all()
    return {row[0]: NewMark(*row) for row in rows}


def mark_on(connection: Connection, offer_id: int) -> Told | None:
    """Return what the answer to an offer counts as now, or None where that never changed."""
    row = connection.execute(_MARK_ON, {"for_offer": offer_id}).first()
    return Told(NewMark(*row[:-2]), *row[-2:]) if row else None


_REMARK = (
    Remark.id,
    Remark.item_id,
    Remark.version_id,
    BankItemVersion.version,
    Remark.cause,
    Person.name,
    Remark.why,
    Remark.at,
)


def find(connection: Connection, remark_id: int) -> RemarkRow | None:
    row = connection.execute(
        select(*_REMARK)
        .join(BankItemVersion, BankItemVersion.id == Remark.version_id)
        .join(Person, Person.id == Remark.person_id)
        .where(Remark.id == remark_id)
    ).first()
    return RemarkRow(*row[:4], Cause(row[4]), *row[5:]) if row else None


def people_of(connection: Connection, remark_id: int) -> list[int]:
    """Return whom a remark concerns; nobody before its marks are written."""
    wanted = select(RemarkedResponse.person_id).where(RemarkedResponse.remark_id == remark_id)
    return sorted(set(connection.scalars(wanted)))


def remarks_of(connection: Connection, item_id: int) -> tuple[tuple[RemarkRow, int, int], ...]:
    """Return the item's remarks, newest first, each with its people and its answers counted."""
    rows = connection.execute(
        select(
            *_REMARK,
            func.count(func.distinct(RemarkedResponse.person_id)),
            func.count(RemarkedResponse.response_id),
        )
        .join(BankItemVersion, BankItemVersion.id == Remark.version_id)
        .join(Person, Person.id == Remark.person_id)
        .outerjoin(RemarkedResponse, RemarkedResponse.remark_id == Remark.id)
        .where(Remark.item_id == item_id)
        .group_by(Remark.id, BankItemVersion.version, Person.name)
        .order_by(Remark.id.desc())
    ).all()
    return tuple((RemarkRow(*row[:4], Cause(row[4]), *row[5:8]), row[8], row[9]) for row in rows)


def concerned(connection: Connection, remark_id: int, shop_id: int) -> tuple[Concerned, ...]:
    """Return whom a remark concerns in a shop, by name and time."""
    rows = connection.execute(
        select(
            Person.id,
            Person.name,
            Response.answered_at,
            Response.given_words,
            Response.correct,
            RemarkedResponse.counted,
            RemarkedResponse.correct,
        )
        .join(Response, Response.id == RemarkedResponse.response_id)
        .join(Person, Person.id == RemarkedResponse.person_id)
        .where(RemarkedResponse.remark_id == remark_id, Response.shop_id == shop_id)
        .order_by(Person.name, Response.id)
    ).all()
    return tuple(Concerned(*row) for row in rows)


def _affected(row: Any) -> Affected:
    values = tuple(row)
    split = 1 + len(OFFER_COLUMNS)
    return Affected(values[0], StoredOffer(*values[1:split]), StoredResponse(*values[split:]))
