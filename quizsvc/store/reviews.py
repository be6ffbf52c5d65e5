"""Versions under review, and an item's history: who did what to it, and what they said."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import CheckConstraint, Connection, ForeignKey, Index, func, insert, select, update
from sqlalchemy.orm import Mapped, mapped_column

from quizsvc.rules.reviewing import Deed, ItemState
from quizsvc.store.banks import Bank, BankItem, BankItemVersion
from quizsvc.store.columns import Base, Body, Key, UtcAt, Word, one_of
from quizsvc.store.people import Person, Shop


class ItemNote(Base):
    """One line of an item's history, with what was said. Only appended to."""

    __tablename__ = "item_note"

    id: Mapped[Key]
    item_id: Mapped[int] = mapped_column(ForeignKey("bank_item.id"))
    version_id: Mapped[int] = mapped_column(ForeignKey("bank_item_version.id"))
    person_id: Mapped[int | None] = mapped_column(ForeignKey("person.id"))
    deed: Mapped[Word]
    words: Mapped[Body]
    at: Mapped[UtcAt]

    __table_args__ = (
        CheckConstraint(one_of("deed", Deed), name="known_deed"),
        Index(None, "item_id"),
    )


@dataclass(frozen=True, slots=True)
class KeptItem:
    id: int
    bank_id: str
    entry: str
    shop_id: int | None


@dataclass(frozen=True, slots=True)
class VersionRow:
    id: int
    version: int
    state: ItemState
    current: bool
    author_id: int | None
    author: str | None
    reviewer_id: int | None
    reviewer: str | None
    based_on: int | None
    content_hash: str
    stored_at: datetime


@dataclass(frozen=True, slots=True)
class NoteRow:
    deed: Deed
    version: int
    person: str | None
    words: str
    at: datetime


def add_note(
    connection: Connection,
    *,
    item_id: int,
    version_id: int,
    person_id: int | None,
    deed: Deed,
    words: str,
    now: datetime,
) -> None:
    connection.execute(
        insert(ItemNote).values(
            item_id=item_id,
            version_id=version_id,
            person_id=person_id,
            deed=deed.value,
            words=words,
            at=now,
        )
    )


def add_notes(
    connection: Connection,
    keys: Iterable[tuple[int, int]],
    *,
    person_id: int | None,
    deed: Deed,
    now: datetime,
) -> None:
    """Add the same wordless line to the history of many items, given with their versions."""
    same = {"person_id": person_id, "deed": deed.value, "words": "", "at": now}
    rows = [{"item_id": item, "version_id": version, **same} for item, version in keys]
    if rows:
        connection.execute(insert(ItemNote), rows)


def notes_of(connection: Connection, item_id: int) -> tuple[NoteRow, ...]:
    """Return the item's history, newest first."""
    rows = connection.execute(
        select(ItemNote.deed, BankItemVersion.version, Person.name, ItemNote.words, ItemNote.at)
        .join(BankItemVersion, BankItemVersion.id == ItemNote.version_id)
        .outerjoin(Person, Person.id == ItemNote.person_id)
        .where(ItemNote.item_id == item_id)
        .order_by(ItemNote.id.desc())
    ).all()
    return tuple(NoteRow(Deed(row[0]), *row[1:]) for row in rows)


def find_item(connection: Connection, item_id: int, *, lock: bool = False) -> KeptItem | None:
    wanted = (
        select(BankItem.id, BankItem.bank_id, BankItem.entry, Bank.shop_id)
        .join(Bank, Bank.id == BankItem.bank_id)
        .where(BankItem.id == item_id)
    )
    row = connection.execute(wanted.with_for_update(of=BankItem) if lock else wanted).first()
    return KeptItem(*row) if row else None


def find_entry(connection: Connection, bank_id: str, entry: str) -> int | None:
    """Return the key of the bank's item of this id, or None."""
    return connection.scalar(
        select(BankItem.id).where(BankItem.bank_id == bank_id, BankItem.entry == entry)
    )


def versions_of(connection: Connection, item_id: int) -> tuple[VersionRow, ...]:
    """Return every version of an item, the newest first."""
    author, reviewer = Person.__table__.alias("author"), Person.__table__.alias("reviewer")
    rows = connection.execute(
        select(
            BankItemVersion.id,
            BankItemVersion.version,
            BankItemVersion.state,
            BankItemVersion.current,
            BankItemVersion.author_id,
            author.c.name,
            BankItemVersion.reviewer_id,
            reviewer.c.name,
            BankItemVersion.based_on,
            BankItemVersion.content_hash,
            BankItemVersion.stored_at,
        )
        .outerjoin(author, author.c.id == BankItemVersion.author_id)
        .outerjoin(reviewer, reviewer.c.id == BankItemVersion.reviewer_id)
        .where(BankItemVersion.item_id == item_id)
        .order_by(BankItemVersion.version.desc())
    ).all()
    return tuple(VersionRow(row[0], row[1], ItemState(row[2]), *row[3:]) for row in rows)


def set_state(
    connection: Connection, version_id: int, state: ItemState, *, reviewer: int | None = None
) -> None:
    values: dict[str, object] = {"state": state.value}
    if reviewer is not None:
        values["reviewer_id"] = reviewer
    if state is not ItemState.APPROVED:
        values["current"] = False
    connection.execute(
        update(BankItemVersion).where(BankItemVersion.id == version_id).values(**values)
    )


def make_current(connection: Connection, item_id: int, version_id: int) -> None:
    """Let practice offer this version of the item and no other."""
    connection.execute(
        update(BankItemVersion)
        .where(BankItemVersion.item_id == item_id)
        .values(current=BankItemVersion.id == version_id)
    )


def count_shops(connection: Connection) -> int:
    return connection.scalar(select(func.count()).select_from(Shop)) or 0
