"""Finished tests marked again: new marks beside the first ones, which stay as they were given.

A mark holds the result of the whole sitting before and after, so that both can be told. The
newest mark of a question is what counts; where a question was declared void, only the results
stand here, since it counts for nobody.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import (
    CheckConstraint,
    ColumnElement,
    Connection,
    ForeignKey,
    Index,
    func,
    insert,
    select,
)
from sqlalchemy.orm import Mapped, mapped_column

from quizsvc.rules.tests_again import Remedy
from quizsvc.store.banks import BankItemVersion
from quizsvc.store.columns import Base, Body, Key, PersonKey, ShopKey, Slug, UtcAt, Word, one_of
from quizsvc.store.people import Person
from quizsvc.store.sitting_items import SittingItem


class SittingRemark(Base):
    """That the finished tests of a shop that asked an item were marked again, and why."""

    __tablename__ = "sitting_remark"

    id: Mapped[Key]
    shop_id: Mapped[ShopKey]
    item_id: Mapped[int] = mapped_column(ForeignKey("bank_item.id"))
    version_id: Mapped[int] = mapped_column(ForeignKey("bank_item_version.id"))
    remedy: Mapped[Word]
    made_by: Mapped[PersonKey]
    why: Mapped[Body]
    at: Mapped[UtcAt]

    __table_args__ = (
        CheckConstraint(one_of("remedy", Remedy), name="known_remedy"),
        Index(None, "item_id"),
    )


class SittingMark(Base):
    """What a question of a sitting counts as from then on, and the results before and after."""

    __tablename__ = "sitting_mark"

    remark_id: Mapped[int] = mapped_column(ForeignKey("sitting_remark.id"), primary_key=True)
    sitting_id: Mapped[int] = mapped_column(ForeignKey("sitting.id"), primary_key=True)
    number: Mapped[int] = mapped_column(primary_key=True)
    person_id: Mapped[PersonKey]
    correct: Mapped[bool | None]  # None where the question was declared void
    credit: Mapped[float | None]
    misconception: Mapped[Slug | None]
    right_words: Mapped[str | None]
    points_before: Mapped[int]
    out_of_before: Mapped[int]
    points: Mapped[int]
    out_of: Mapped[int]

    __table_args__ = (
        CheckConstraint(
            "(correct IS NULL) = (credit IS NULL) AND (correct IS NULL) = (right_words IS NULL)",
            name="whole_or_none",
        ),
        CheckConstraint("credit IS NULL OR credit BETWEEN 0 AND 1", name="credit_from_0_to_1"),
        CheckConstraint(
            "points_before BETWEEN 0 AND out_of_before AND points BETWEEN 0 AND out_of",
            name="points_within",
        ),
        Index(None, "sitting_id"),
        Index(None, "person_id"),
    )


@dataclass(frozen=True, slots=True)
class NewSittingMark:
    sitting_id: int
    number: int
    person_id: int
    correct: bool | None
    credit: float | None
    misconception: str | None
    right_words: str | None
    points_before: int
    out_of_before: int
    points: int
    out_of: int


@dataclass(frozen=True, slots=True)
class RemarkedSitting:
    """One question of a sitting marked again, with who decided it and why."""

    remark_id: int
    number: int
    remedy: Remedy
    correct: bool | None
    credit: float | None
    misconception: str | None
    right_words: str | None
    points_before: int
    out_of_before: int
    points: int
    out_of: int
    by: str
    why: str
    at: datetime


@dataclass(frozen=True, slots=True)
class RemarkDeed:
    """A marking again of an item's tests, with how many results it touched and changed."""

    id: int
    version: int
    remedy: Remedy
    by: str
    why: str
    at: datetime
    sittings: int
    changed: int


_newest = (
    select(SittingMark.correct)
    .where(
        SittingMark.sitting_id == SittingItem.sitting_id,
        SittingMark.number == SittingItem.number,
        SittingMark.correct.is_not(None),
    )
    .order_by(SittingMark.remark_id.desc())
    .limit(1)
    .correlate(SittingItem)
    .scalar_subquery()
)
# Whether a question of a sitting counts as right: by the newest mark, else by the first.
CORRECT_NOW: ColumnElement[bool] = func.coalesce(_newest, SittingItem.correct)
_MARK = (
    SittingMark.remark_id,
    SittingMark.number,
    SittingRemark.remedy,
    SittingMark.correct,
    SittingMark.credit,
    SittingMark.misconception,
    SittingMark.right_words,
    SittingMark.points_before,
    SittingMark.out_of_before,
    SittingMark.points,
    SittingMark.out_of,
    Person.name,
    SittingRemark.why,
    SittingRemark.at,
)


def add_remark(
    connection: Connection,
    *,
    shop_id: int,
    item_id: int,
    version_id: int,
    remedy: Remedy,
    made_by: int,
    why: str,
    now: datetime,
) -> int:
    row = connection.execute(
        insert(SittingRemark)
        .values(
            shop_id=shop_id,
            item_id=item_id,
            version_id=version_id,
            remedy=remedy.value,
            made_by=made_by,
            why=why,
            at=now,
        )
        .returning(SittingRemark.id)
    )
    return row.scalar_one()


def add_marks(connection: Connection, remark_id: int, marks: list[NewSittingMark]) -> None:
    rows = [
        {"remark_id": remark_id} | {name: getattr(one, name) for name in NewSittingMark.__slots__}
        for one in marks
    ]
    if rows:
        connection.execute(insert(SittingMark), rows)


def marks_of(connection: Connection, sitting_id: int) -> tuple[RemarkedSitting, ...]:
    """Return every marking again of a sitting, the oldest first."""
    rows = connection.execute(
        select(*_MARK)
        .join(SittingRemark, SittingRemark.id == SittingMark.remark_id)
        .join(Person, Person.id == SittingRemark.made_by)
        .where(SittingMark.sitting_id == sitting_id)
        .order_by(SittingMark.remark_id, SittingMark.number)
    )
    return tuple(_remarked(row) for row in rows)


def newest_marks(marks: tuple[RemarkedSitting, ...]) -> dict[int, RemarkedSitting]:
    """Return by question the mark that counts, of a sitting's marks, the oldest first."""
    return {one.number: one for one in marks if one.correct is not None}


def is_marked_again(connection: Connection, sitting_id: int) -> bool:
    found = connection.scalar(
        select(SittingMark.remark_id)
        .where(SittingMark.sitting_id == sitting_id, SittingMark.correct.is_not(None))
        .limit(1)
    )
    return found is not None


def deeds_on(connection: Connection, shop_id: int, item_id: int) -> tuple[RemarkDeed, ...]:
    """Return how an item's tests were marked again in a shop, the newest first."""
    changed = (SittingMark.points != SittingMark.points_before) | (
        SittingMark.out_of != SittingMark.out_of_before
    )
    rows = connection.execute(
        select(
            SittingRemark.id,
            BankItemVersion.version,
            SittingRemark.remedy,
            Person.name,
            SittingRemark.why,
            SittingRemark.at,
            func.count(func.distinct(SittingMark.sitting_id)),
            func.count(func.distinct(SittingMark.sitting_id)).filter(changed),
        )
        .join(BankItemVersion, BankItemVersion.id == SittingRemark.version_id)
        .join(Person, Person.id == SittingRemark.made_by)
        .join(SittingMark, SittingMark.remark_id == SittingRemark.id)
        .where(SittingRemark.shop_id == shop_id, SittingRemark.item_id == item_id)
        .group_by(SittingRemark.id, BankItemVersion.version, Person.name)
        .order_by(SittingRemark.id.desc())
    )
    return tuple(RemarkDeed(row[0], row[1], Remedy(row[2]), *row[3:]) for row in rows)


def _remarked(row: Any) -> RemarkedSitting:
    return RemarkedSitting(row[0], row[1], Remedy(row[2]), *row[3:])
