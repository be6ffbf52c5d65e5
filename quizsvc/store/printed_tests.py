"""Tests on paper: what was printed for whom, and what came back filled in."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Any

from sqlalchemy import (
    CheckConstraint,
    Connection,
    ForeignKey,
    Index,
    LargeBinary,
    String,
    func,
    insert,
    select,
    update,
)
from sqlalchemy.orm import Mapped, mapped_column

from quizsvc.store.columns import (
    Base,
    Body,
    Hash,
    Key,
    Name,
    PersonKey,
    ShopKey,
    Slug,
    UtcAt,
    Word,
    one_of,
)
from quizsvc.store.people import Person


class SheetState(StrEnum):
    TO_DECIDE = "to decide"  # a person looks at doubtful marks
    READ = "read"  # every mark is clear or decided
    COUNTED = "counted"  # in the person's record; nothing changes any more


class PrintedTest(Base):
    """``paper`` is the random name in the code of each sheet; ``options`` how many each asks."""

    __tablename__ = "printed_test"

    id: Mapped[Key]
    paper: Mapped[str] = mapped_column(String(32), unique=True)
    shop_id: Mapped[ShopKey]
    assignment_id: Mapped[int | None] = mapped_column(ForeignKey("assignment.id"))
    maker_id: Mapped[PersonKey]
    title: Mapped[Name]
    variants: Mapped[int]
    made_at: Mapped[UtcAt]

    __table_args__ = (
        CheckConstraint("variants BETWEEN 1 AND 26", name="variants_by_letter"),
        Index(None, "shop_id", "id"),
    )


class PrintedItem(Base):
    """A question of a variant: its recipe, and the item whole as printed."""

    __tablename__ = "printed_item"

    test_id: Mapped[int] = mapped_column(ForeignKey("printed_test.id"), primary_key=True)
    variant: Mapped[int] = mapped_column(primary_key=True)  # from 1
    number: Mapped[int] = mapped_column(primary_key=True)  # from 1
    item_ref: Mapped[Slug]
    item_version: Mapped[int]
    level: Mapped[Word]
    kind: Mapped[Word]
    sheet_revision_id: Mapped[int | None] = mapped_column(ForeignKey("sheet_revision.id"))
    bank_item_version_id: Mapped[int | None] = mapped_column(ForeignKey("bank_item_version.id"))
    seed: Mapped[int]
    shown_hash: Mapped[Hash] = mapped_column(ForeignKey("shown_item.hash"))


class PrintedCopy(Base):
    """One person's answer sheet, and what was read of it."""

    __tablename__ = "printed_copy"

    test_id: Mapped[int] = mapped_column(ForeignKey("printed_test.id"), primary_key=True)
    copy: Mapped[int] = mapped_column(primary_key=True)  # from 1, as in the code
    person_id: Mapped[PersonKey]
    variant: Mapped[int]
    state: Mapped[Word | None]  # None until a photograph of it was read
    answers: Mapped[Body]  # JSON: question -> letters, doubt, decided
    straightened: Mapped[bytes | None] = mapped_column(LargeBinary())
    read_at: Mapped[UtcAt | None]
    counted_at: Mapped[UtcAt | None]
    points: Mapped[int | None]
    out_of: Mapped[int | None]

    __table_args__ = (
        CheckConstraint(f"state IS NULL OR {one_of('state', SheetState)}", name="known_state"),
        Index(None, "person_id"),
    )


@dataclass(frozen=True, slots=True)
class StoredTest:
    id: int
    paper: str
    shop_id: int
    assignment_id: int | None
    maker_id: int
    title: str
    variants: int
    made_at: datetime


@dataclass(frozen=True, slots=True)
class StoredItem:
    variant: int
    number: int
    item_ref: str
    item_version: int
    level: str
    kind: str
    sheet_revision_id: int | None
    bank_item_version_id: int | None
    seed: int
    shown_hash: str


@dataclass(frozen=True, slots=True)
class StoredCopy:
    copy: int
    person_id: int
    name: str
    variant: int
    state: SheetState | None
    answers: str
    read_at: datetime | None
    counted_at: datetime | None
    points: int | None
    out_of: int | None


_TEST = (
    PrintedTest.id,
    PrintedTest.paper,
    PrintedTest.shop_id,
    PrintedTest.assignment_id,
    PrintedTest.maker_id,
    PrintedTest.title,
    PrintedTest.variants,
    PrintedTest.made_at,
)
_ITEM = (
    PrintedItem.variant,
    PrintedItem.number,
    PrintedItem.item_ref,
    PrintedItem.item_version,
    PrintedItem.level,
    PrintedItem.kind,
    PrintedItem.sheet_revision_id,
    PrintedItem.bank_item_version_id,
    PrintedItem.seed,
    PrintedItem.shown_hash,
)
_COPY = (
    PrintedCopy.copy,
    PrintedCopy.person_id,
    Person.name,
    PrintedCopy.variant,
    PrintedCopy.state,
    PrintedCopy.answers,
    PrintedCopy.read_at,
    PrintedCopy.counted_at,
    PrintedCopy.points,
    PrintedCopy.out_of,
)


def add_test(connection: Connection, **columns: object) -> int:
    row = connection.execute(insert(PrintedTest).values(**columns).returning(PrintedTest.id))
    return row.scalar_one()


def add_items(connection: Connection, rows: list[dict[str, object]]) -> None:
    connection.execute(insert(PrintedItem), rows)


def add_copies(connection: Connection, rows: list[dict[str, object]]) -> None:
    connection.execute(insert(PrintedCopy), rows)


def find_test(connection: Connection, test_id: int) -> StoredTest | None:
    row = connection.execute(select(*_TEST).where(PrintedTest.id == test_id)).first()
    return StoredTest(*row) if row else None


def test_of_paper(connection: Connection, paper: str) -> StoredTest | None:
    row = connection.execute(select(*_TEST).where(PrintedTest.paper == paper)).first()
    return StoredTest(*row) if row else None


def tests_of_shop(connection: Connection, shop_id: int) -> tuple[StoredTest, ...]:
    rows = connection.execute(
        select(*_TEST).where(PrintedTest.shop_id == shop_id).order_by(PrintedTest.id.desc())
    )
    return tuple(StoredTest(*row) for row in rows)


def items_of(
    connection: Connection, test_id: int, variant: int | None = None
) -> tuple[StoredItem, ...]:
    wanted = select(*_ITEM).where(PrintedItem.test_id == test_id)
    if variant is not None:
        wanted = wanted.where(PrintedItem.variant == variant)
    rows = connection.execute(wanted.order_by(PrintedItem.variant, PrintedItem.number))
    return tuple(StoredItem(*_plain(row)) for row in rows)


def copies_of(connection: Connection, test_id: int) -> tuple[StoredCopy, ...]:
    rows = connection.execute(
        select(*_COPY)
        .join(Person, Person.id == PrintedCopy.person_id)
        .where(PrintedCopy.test_id == test_id)
        .order_by(PrintedCopy.copy)
    )
    return tuple(_copy(row) for row in rows)


def find_copy(
    connection: Connection, test_id: int, copy: int, *, lock: bool = False
) -> StoredCopy | None:
    """Return a copy; with ``lock`` nobody else changes it until the transaction ends."""
    wanted = (
        select(*_COPY)
        .join(Person, Person.id == PrintedCopy.person_id)
        .where(PrintedCopy.test_id == test_id, PrintedCopy.copy == copy)
    )
    row = connection.execute(wanted.with_for_update(of=PrintedCopy) if lock else wanted).first()
    return _copy(row) if row else None


def change_copy(connection: Connection, test_id: int, copy: int, **columns: object) -> None:
    connection.execute(
        update(PrintedCopy)
        .where(PrintedCopy.test_id == test_id, PrintedCopy.copy == copy)
        .values(**columns)
    )


def straightened_of(connection: Connection, test_id: int, copy: int) -> bytes | None:
    return connection.scalar(
        select(PrintedCopy.straightened).where(
            PrintedCopy.test_id == test_id, PrintedCopy.copy == copy
        )
    )


def sheets_counted(connection: Connection, test_ids: list[int]) -> dict[int, tuple[int, int]]:
    """Return per test: copies printed and copies counted."""
    counted = func.count(PrintedCopy.counted_at)
    rows = connection.execute(
        select(PrintedCopy.test_id, func.count(), counted)
        .where(PrintedCopy.test_id.in_(test_ids))
        .group_by(PrintedCopy.test_id)
    )
    return {row[0]: (row[1], row[2]) for row in rows}


def _copy(row: Any) -> StoredCopy:
    copy, person_id, name, variant, state, *rest = _plain(row)
    known = SheetState(state) if state is not None else None
    return StoredCopy(copy, person_id, name, variant, known, *rest)


def _plain(row: Any) -> tuple[Any, ...]:
    return tuple(row)
