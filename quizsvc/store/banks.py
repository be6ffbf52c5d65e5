"""Banks of hand-written items: every version whole, with its state in review, and pictures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import (
    CheckConstraint,
    Connection,
    ForeignKey,
    Index,
    UniqueConstraint,
    bindparam,
    func,
    insert,
    select,
    update,
)
from sqlalchemy.orm import Mapped, mapped_column

from quizsvc.rules.reviewing import ItemState
from quizsvc.store.columns import Base, Body, Hash, Key, Name, Slug, UtcAt, Word, one_of


class Bank(Base):
    """A bank by its id; without a shop it is shared by all."""

    __tablename__ = "bank"

    id: Mapped[Slug] = mapped_column(primary_key=True)
    shop_id: Mapped[int | None] = mapped_column(ForeignKey("shop.id"))
    title: Mapped[Name]
    made_at: Mapped[UtcAt]


class BankItem(Base):
    __tablename__ = "bank_item"

    id: Mapped[Key]
    bank_id: Mapped[Slug] = mapped_column(ForeignKey("bank.id"))
    entry: Mapped[Slug]  # the item's id within the bank

    __table_args__ = (UniqueConstraint("bank_id", "entry"),)


class BankItemVersion(Base):
    """One version, its content never changed once stored; responses keep pointing at it."""

    __tablename__ = "bank_item_version"

    id: Mapped[Key]
    item_id: Mapped[int] = mapped_column(ForeignKey("bank_item.id"))
    version: Mapped[int]
    topic: Mapped[Word]
    level: Mapped[Word]
    kind: Mapped[Word]
    content: Mapped[Body]  # the whole item as JSON
    content_hash: Mapped[Hash]
    state: Mapped[Word]
    current: Mapped[bool]  # the one version practice offers
    author_id: Mapped[int | None] = mapped_column(ForeignKey("person.id"))
    reviewer_id: Mapped[int | None] = mapped_column(ForeignKey("person.id"))
    based_on: Mapped[int | None]  # the version its author had before them
    stored_at: Mapped[UtcAt]

    __table_args__ = (
        UniqueConstraint("item_id", "version"),
        CheckConstraint("version >= 1", name="version_from_one"),
        CheckConstraint(one_of("state", ItemState), name="known_state"),
        CheckConstraint(
            "author_id IS NULL OR reviewer_id IS NULL OR author_id <> reviewer_id",
            name="reviewer_is_not_author",
        ),
        Index(None, "topic", "current"),
    )


@dataclass(frozen=True, slots=True)
class NewVersion:
    bank_id: str
    entry: str
    version: int
    topic: str
    level: str
    kind: str
    content: str
    content_hash: str


@dataclass(frozen=True, slots=True)
class StoredVersion:
    id: int
    bank_id: str
    entry: str
    version: int
    topic: str
    level: str
    kind: str
    content_hash: str


_ROW = select(
    BankItemVersion.id,
    BankItem.bank_id,
    BankItem.entry,
    BankItemVersion.version,
    BankItemVersion.topic,
    BankItemVersion.level,
    BankItemVersion.kind,
    BankItemVersion.content_hash,
).join(BankItem, BankItem.id == BankItemVersion.item_id)
_OFFERED = (
    BankItemVersion.current
    & (BankItemVersion.state == ItemState.APPROVED.value)
    & ((Bank.shop_id == bindparam("shop")) | Bank.shop_id.is_(None))
)
_APPROVED_IN_TOPIC = (
    _ROW.join(Bank, Bank.id == BankItem.bank_id)
    .where(BankItemVersion.topic == bindparam("in_topic"), _OFFERED)
    .order_by(BankItemVersion.id)
)
_APPROVED_BY_TOPIC = (
    select(BankItemVersion.topic, func.count())
    .join(BankItem, BankItem.id == BankItemVersion.item_id)
    .join(Bank, Bank.id == BankItem.bank_id)
    .where(_OFFERED)
    .group_by(BankItemVersion.topic)
)


def add_bank(
    connection: Connection, bank_id: str, title: str, *, shop_id: int | None, now: datetime
) -> None:
    """Store a bank unless it is there; a new title replaces the old one."""
    known = connection.scalar(select(Bank.title).where(Bank.id == bank_id))
    if known is None:
        connection.execute(
            insert(Bank).values(id=bank_id, shop_id=shop_id, title=title, made_at=now)
        )
    elif known != title:
        connection.execute(update(Bank).where(Bank.id == bank_id).values(title=title))


def add_version(
    connection: Connection,
    new: NewVersion,
    *,
    state: ItemState,
    author: int | None,
    based_on: int | None = None,
    now: datetime,
) -> int:
    """Store a version; an approved one becomes the current one of its entry."""
    item_id = item_id_of(connection, new.bank_id, new.entry)
    approved = state is ItemState.APPROVED
    if approved:
        connection.execute(
            update(BankItemVersion).where(BankItemVersion.item_id == item_id).values(current=False)
        )
    row = connection.execute(
        insert(BankItemVersion)
        .values(
            item_id=item_id,
            version=new.version,
            topic=new.topic,
            level=new.level,
            kind=new.kind,
            content=new.content,
            content_hash=new.content_hash,
            state=state.value,
            current=approved,
            author_id=author,
            based_on=based_on,
            stored_at=now,
        )
        .returning(BankItemVersion.id)
    )
    return row.scalar_one()


def item_id_of(connection: Connection, bank_id: str, entry: str) -> int:
    """Return the key of an entry, made now unless it is there."""
    known = connection.scalar(
        select(BankItem.id).where(BankItem.bank_id == bank_id, BankItem.entry == entry)
    )
    if known is not None:
        return known
    row = connection.execute(
        insert(BankItem).values(bank_id=bank_id, entry=entry).returning(BankItem.id)
    )
    return row.scalar_one()


def add_drafts(
    connection: Connection,
    new: Sequence[tuple[NewVersion, int | None]],
    *,
    author: int | None,
    now: datetime,
) -> dict[tuple[str, int], tuple[int, int]]:
    """Store many drafts of one bank, each with the version it is based on.

    Returns the keys of item and version by entry and version.
    """
    bank_id = new[0][0].bank_id
    items = _item_ids(connection, bank_id, [one.entry for one, _ in new])
    connection.execute(
        insert(BankItemVersion),
        [
            {
                "item_id": items[one.entry],
                "version": one.version,
                "topic": one.topic,
                "level": one.level,
                "kind": one.kind,
                "content": one.content,
                "content_hash": one.content_hash,
                "state": ItemState.DRAFT.value,
                "current": False,
                "author_id": author,
                "based_on": based_on,
                "stored_at": now,
            }
            for one, based_on in new
        ],
    )
    stored = versions_of_bank(connection, bank_id, [one.entry for one, _ in new])
    return {(one.entry, one.version): (items[one.entry], one.id) for one in stored}


def _item_ids(connection: Connection, bank_id: str, entries: Sequence[str]) -> dict[str, int]:
    wanted = select(BankItem.entry, BankItem.id).where(
        BankItem.bank_id == bank_id, BankItem.entry.in_(entries)
    )
    known = {row[0] for row in connection.execute(wanted)}
    fresh = [{"bank_id": bank_id, "entry": entry} for entry in entries if entry not in known]
    if fresh:
        connection.execute(insert(BankItem), fresh)
    return {row[0]: row[1] for row in connection.execute(wanted)}


def versions_of_bank(
    connection: Connection, bank_id: str, entries: Sequence[str] | None = None
) -> tuple[StoredVersion, ...]:
    """Return every stored version of the bank's items, or some of them, by entry and version."""
    wanted = _ROW.where(BankItem.bank_id == bank_id)
    if entries is not None:
        wanted = wanted.where(BankItem.entry.in_(entries))
    rows = connection.execute(wanted.order_by(BankItem.entry, BankItemVersion.version)).all()
    return tuple(StoredVersion(*row) for row in rows)


def current_approved(connection: Connection, shop_id: int, topic: str) -> tuple[StoredVersion, ...]:
    """Return what practice may offer from banks in a topic."""
    rows = connection.execute(_APPROVED_IN_TOPIC, {"shop": shop_id, "in_topic": topic}).all()
    return tuple(StoredVersion(*row) for row in rows)


def topics_with_items(connection: Connection, shop_id: int) -> dict[str, int]:
    """Return the number of bank items practice may offer, by topic."""
    rows = connection.execute(_APPROVED_BY_TOPIC, {"shop": shop_id}).all()
    return {row[0]: row[1] for row in rows}


_STATE = select(BankItemVersion.state).where(BankItemVersion.id == bindparam("version"))


def state_of(connection: Connection, version_id: int) -> ItemState:
    return ItemState(connection.execute(_STATE, {"version": version_id}).scalar_one())


def content_of(connection: Connection, version_id: int) -> str:
    return connection.execute(
        select(BankItemVersion.content).where(BankItemVersion.id == version_id)
    ).scalar_one()
