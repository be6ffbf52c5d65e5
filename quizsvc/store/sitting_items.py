"""The questions of a sitting, the answer that stands for each, and every save."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import CheckConstraint, Connection, ForeignKey, Index, insert, select, update
from sqlalchemy.orm import Mapped, mapped_column

from quizsvc.store.columns import Base, Body, Hash, Slug, UtcAt


class SittingItem(Base):
    """A question of a sitting and the answer that stands for it."""

    __tablename__ = "sitting_item"

    sitting_id: Mapped[int] = mapped_column(ForeignKey("sitting.id"), primary_key=True)
    number: Mapped[int] = mapped_column(primary_key=True)  # as shown, from 1
    question_id: Mapped[int] = mapped_column(ForeignKey("assignment_question.id"))
    seed: Mapped[int]  # never shown
    shown_hash: Mapped[Hash] = mapped_column(ForeignKey("shown_item.hash"))
    typed: Mapped[Body]  # the fields of the page as JSON, to show them again
    given: Mapped[str | None]  # the same as an answer, if it is whole
    sequence: Mapped[int]
    saved_at: Mapped[UtcAt | None]
    look_again: Mapped[bool]
    marked_at: Mapped[UtcAt | None]
    correct: Mapped[bool | None]
    credit: Mapped[float | None]
    misconception: Mapped[Slug | None]
    given_words: Mapped[str | None]
    right_words: Mapped[str | None]

    __table_args__ = (
        CheckConstraint("credit IS NULL OR credit BETWEEN 0 AND 1", name="credit_from_0_to_1"),
        Index(None, "question_id"),
    )


class SittingSave(Base):
    """Every save that was acknowledged, under the key its sender gave it."""

    __tablename__ = "sitting_save"

    sitting_id: Mapped[int] = mapped_column(ForeignKey("sitting.id"), primary_key=True)
    key_hash: Mapped[Hash] = mapped_column(primary_key=True)
    number: Mapped[int]
    sequence: Mapped[int]
    payload_hash: Mapped[Hash]
    typed: Mapped[Body]
    saved_at: Mapped[UtcAt]


@dataclass(frozen=True, slots=True)
class StoredSittingItem:
    """A question of a sitting, without the item itself."""

    number: int
    question_id: int
    seed: int
    shown_hash: str
    typed: str
    given: str | None
    sequence: int
    saved_at: datetime | None
    look_again: bool
    marked_at: datetime | None
    correct: bool | None
    credit: float | None
    misconception: str | None
    given_words: str | None
    right_words: str | None


@dataclass(frozen=True, slots=True)
class StoredSave:
    number: int
    sequence: int
    payload_hash: str
    saved_at: datetime


_ITEM_COLUMNS = (
    SittingItem.number,
    SittingItem.question_id,
    SittingItem.seed,
    SittingItem.shown_hash,
    SittingItem.typed,
    SittingItem.given,
    SittingItem.sequence,
    SittingItem.saved_at,
    SittingItem.look_again,
    SittingItem.marked_at,
    SittingItem.correct,
    SittingItem.credit,
    SittingItem.misconception,
    SittingItem.given_words,
    SittingItem.right_words,
)


def add_items(connection: Connection, rows: list[dict[str, object]]) -> None:
    connection.execute(insert(SittingItem), rows)


def items_of(connection: Connection, sitting_id: int) -> tuple[StoredSittingItem, ...]:
    rows = connection.execute(
        select(*_ITEM_COLUMNS)
        .where(SittingItem.sitting_id == sitting_id)
        .order_by(SittingItem.number)
    )
    return tuple(_item(row) for row in rows)


def find_item(connection: Connection, sitting_id: int, number: int) -> StoredSittingItem | None:
    row = connection.execute(
        select(*_ITEM_COLUMNS).where(
            SittingItem.sitting_id == sitting_id, SittingItem.number == number
        )
    ).first()
    return _item(row) if row else None


def change_item(connection: Connection, sitting_id: int, number: int, **columns: object) -> None:
    connection.execute(
        update(SittingItem)
        .where(SittingItem.sitting_id == sitting_id, SittingItem.number == number)
        .values(**columns)
    )


def find_save(connection: Connection, sitting_id: int, key_hash: str) -> StoredSave | None:
    row = connection.execute(
        select(
            SittingSave.number, SittingSave.sequence, SittingSave.payload_hash, SittingSave.saved_at
        ).where(SittingSave.sitting_id == sitting_id, SittingSave.key_hash == key_hash)
    ).first()
    return StoredSave(*row) if row else None


def add_save(connection: Connection, **columns: object) -> None:
    connection.execute(insert(SittingSave).values(**columns))


def _item(row: Any) -> StoredSittingItem:
    return StoredSittingItem(*row)
