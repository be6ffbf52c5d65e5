"""The card index of hand-written items: one card each, kept with every change, and full text.

The card states the newest version; ``offered_version`` is the one practice offers. The words are
searched by FTS5 on SQLite and by a text vector with its index on PostgreSQL; both live in a
table ``item_search`` that no model states, because SQLite's is a virtual one.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import (
    CheckConstraint,
    ColumnElement,
    Connection,
    ForeignKey,
    Index,
    bindparam,
    case,
    delete,
    func,
    insert,
    literal,
    select,
    text,
)
from sqlalchemy.orm import Mapped, mapped_column

from quizsvc.rules.reviewing import ItemState
from quizsvc.store.banks import Bank, BankItem, BankItemVersion
from quizsvc.store.columns import Base, Body, Slug, UtcAt, Word, one_of
from quizsvc.store.corrections import NONE, Correction, corrections, differences
from quizsvc.store.offers import Response
from quizsvc.store.remarks import Remark

AT_ONCE = 250  # cards written with one statement
MOST_WORDS = 12  # of a query; nobody types more on purpose
_WORD = re.compile(r"[^\W_]+")
_NO_WORDS = {"kind", "level", "topic", "version", "picture", "misconception", "check"}


class ItemCard(Base):
    """An item's card: its newest version, and which one practice offers."""

    __tablename__ = "item_card"

    item_id: Mapped[int] = mapped_column(ForeignKey("bank_item.id"), primary_key=True)
    item_ref: Mapped[Slug] = mapped_column(unique=True)
    bank_id: Mapped[Slug] = mapped_column(ForeignKey("bank.id"))
    shop_id: Mapped[int | None] = mapped_column(ForeignKey("shop.id"))
    topic: Mapped[Word]
    level: Mapped[Word]
    kind: Mapped[Word]
    state: Mapped[Word]  # of the newest version
    version: Mapped[int]
    offered_version: Mapped[int | None]
    prompt: Mapped[Body]
    author_id: Mapped[int | None] = mapped_column(ForeignKey("person.id"))
    changed_at: Mapped[UtcAt]

    __table_args__ = (
        CheckConstraint(one_of("state", ItemState), name="known_state"),
        Index(None, "topic"),
        Index(None, "state"),
        Index(None, "bank_id"),
    )


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is searched for; None and "" leave a thing open."""

    shop_id: int
    words: str = ""
    topic: str | None = None
    level: str | None = None
    kind: str | None = None
    state: str | None = None
    bank: str | None = None
    used_since: datetime | None = None
    unused_since: datetime | None = None
    easier_than: float | None = None  # share of right answers above which an item counts
    harder_than: float | None = None  # share of right answers below which an item counts
    fewest_answers: int = 5  # below this nobody knows how hard an item is


@dataclass(frozen=True, slots=True)
class CardRow:
    item_id: int
    item_ref: str
    bank_id: str
    topic: str
    level: str
    kind: str
    state: ItemState
    version: int
    offered_version: int | None
    prompt: str
    changed_at: datetime


@dataclass(frozen=True, slots=True)
class UseRow:
    """How an item was used: answers that count, right ones among them, the last one given."""

    answers: int
    right: int
    last_at: datetime | None

    @property
    def right_share(self) -> float | None:
        return self.right / self.answers if self.answers else None


_VERSIONS = (
    select(
        BankItem.id,
        BankItem.bank_id,
        BankItem.entry,
        Bank.shop_id,
        BankItemVersion.topic,
        BankItemVersion.level,
        BankItemVersion.kind,
        BankItemVersion.state,
        BankItemVersion.version,
        BankItemVersion.content,
        BankItemVersion.author_id,
        BankItemVersion.current,
    )
    .join(Bank, Bank.id == BankItem.bank_id)
    .join(BankItemVersion, BankItemVersion.item_id == BankItem.id)
    .where(BankItem.id.in_(bindparam("items", expanding=True)))
    .order_by(BankItemVersion.version)
)
_CARD = select(
    ItemCard.item_id,
    ItemCard.item_ref,
    ItemCard.bank_id,
    ItemCard.topic,
    ItemCard.level,
    ItemCard.kind,
    ItemCard.state,
    ItemCard.version,
    ItemCard.offered_version,
    ItemCard.prompt,
    ItemCard.changed_at,
)

_DIFFERENCES = differences(ItemCard.item_ref).join(ItemCard, ItemCard.item_id == Remark.item_id)


def refresh(connection: Connection, item_ids: Iterable[int], *, now: datetime) -> None:
    """Write the cards of items anew after any change to their versions."""
    wanted = list(item_ids)
    for start in range(0, len(wanted), AT_ONCE):
        _refresh(connection, wanted[start : start + AT_ONCE], now)


def words_in(item: dict[str, Any]) -> str:
    """Return every text of an item, for searching."""
    return "\n".join(_strings(item))


def page(
    connection: Connection, wanted: Wanted, *, skip: int, count: int
) -> tuple[int, tuple[CardRow, ...]]:
    """Return how many cards there are, and a page of them: best match, else newest first."""
    search = _search(connection, wanted.words)
    conditions = list(_conditions(wanted))
    listed: Any = _CARD.where(*conditions)
    counted = select(func.count()).select_from(ItemCard).where(*conditions)
    if search is not None:
        listed = listed.join(search, search.c.item == ItemCard.item_id).order_by(search.c.rank)
        counted = counted.join(search, search.c.item == ItemCard.item_id)
    newest = (ItemCard.changed_at.desc(), ItemCard.item_id)
    rows = connection.execute(listed.order_by(*newest).offset(skip).limit(count)).all()
    total = connection.execute(counted).scalar_one()
    return total, tuple(map(_card, rows))


def nearest(
    connection: Connection, shop_id: int, words: Sequence[str], *, count: int
) -> tuple[int, ...]:
    """Return the newest versions of the items that match any of the words best."""
    plain = [word for typed in words for word in _WORD.findall(typed.casefold())]
    if not plain:
        return ()
    found = _matches(connection, plain, together=False)
    wanted = (
        select(BankItemVersion.id)
        .join(ItemCard, ItemCard.item_id == BankItemVersion.item_id)
        .join(found, found.c.item == ItemCard.item_id)
        .where(BankItemVersion.version == ItemCard.version)
        .where((ItemCard.shop_id == shop_id) | ItemCard.shop_id.is_(None))
        .where(ItemCard.state != ItemState.WITHDRAWN.value)
        .order_by(found.c.rank)
        .limit(count)
    )
    return tuple(connection.scalars(wanted))


def use_of(connection: Connection, item_refs: Iterable[str]) -> dict[str, UseRow]:
    """Return how items were used, by their reference; unused ones are left out.

    An item withdrawn as faulty has answers of which none counts.
    """
    wanted = list(item_refs)
    rows = connection.execute(
        select(
            Response.item_ref,
            func.count(),
            func.sum(case((Response.correct, 1), else_=0)),
            func.max(Response.answered_at),
        )
        .where(Response.item_ref.in_(wanted))
        .group_by(Response.item_ref)
    ).all()
    again = corrections(connection, _DIFFERENCES.where(ItemCard.item_ref.in_(wanted)))
    return {row[0]: _use(row, again.get((row[0],), NONE)) for row in rows}


def _use(row: Any, change: Correction) -> UseRow:
    return UseRow(int(row[1]) + change.answers, int(row[2]) + change.right, row[3])


def counts_by_state(connection: Connection, shop_id: int) -> dict[str, int]:
    rows = connection.execute(
        select(ItemCard.state, func.count())
        .where((ItemCard.shop_id == shop_id) | ItemCard.shop_id.is_(None))
        .group_by(ItemCard.state)
    ).all()
    return {row[0]: row[1] for row in rows}


def _card(row: Any) -> CardRow:
    values: tuple[Any, ...] = tuple(row)
    return CardRow(*(*values[:6], ItemState(values[6]), *values[7:]))


def _refresh(connection: Connection, item_ids: list[int], now: datetime) -> None:
    newest: dict[int, Any] = {}
    offered: dict[int, int] = {}
    for row in connection.execute(_VERSIONS, {"items": item_ids}):
        newest[row.id] = row
        if row.current and row.state == ItemState.APPROVED:
            offered[row.id] = row.version
    items = {item_id: json.loads(row.content)["item"] for item_id, row in newest.items()}
    cards = [_card_values(row, items[id_], offered.get(id_), now) for id_, row in newest.items()]
    words = [{"item": item_id, "words": words_in(item)} for item_id, item in items.items()]
    if cards:
        _replace(connection, cards, words)


def _card_values(
    row: Any, item: dict[str, Any], offered: int | None, now: datetime
) -> dict[str, Any]:
    return {
        "item_id": row.id,
        "item_ref": f"bank:{row.bank_id}/{row.entry}",
        "bank_id": row.bank_id,
        "shop_id": row.shop_id,
        "topic": row.topic,
        "level": row.level,
        "kind": row.kind,
        "state": row.state,
        "version": row.version,
        "offered_version": offered,
        "prompt": item["prompt"],
        "author_id": row.author_id,
        "changed_at": now,
    }


def _replace(
    connection: Connection, cards: list[dict[str, Any]], words: list[dict[str, Any]]
) -> None:
    old = [{"old": card["item_id"]} for card in cards]
    connection.execute(delete(ItemCard).where(ItemCard.item_id == bindparam("old")), old)
    connection.execute(insert(ItemCard), cards)
    sqlite = connection.dialect.name == "sqlite"
    gone = "rowid = :old" if sqlite else "item_id = :old"
    connection.execute(text(f"DELETE FROM item_search WHERE {gone}"), old)  # noqa: S608
    put = "(rowid, words) VALUES (:item, :words)" if sqlite else _PUT_VECTOR
    connection.execute(text(f"INSERT INTO item_search {put}"), words)


_PUT_VECTOR = "(item_id, words) VALUES (:item, to_tsvector('english', :words))"


def _strings(value: Any, key: str = "") -> Iterator[str]:
    if isinstance(value, str) and key not in _NO_WORDS and value:
        yield value
    elif isinstance(value, dict):
        for name, one in value.items():
            yield from _strings(one, name)
    elif isinstance(value, list):
        for one in value:
            yield from _strings(one, key)


def _search(connection: Connection, typed: str) -> Any:
    """Return matches and their rank (the lower the better), or None without a word."""
    words = _WORD.findall(typed.casefold())[:MOST_WORDS]
    return _matches(connection, words, together=True) if words else None


def _matches(connection: Connection, words: Sequence[str], *, together: bool) -> Any:
    """Match all the words ``together``, by their beginnings, or any of them."""
    if connection.dialect.name == "sqlite":
        asked = [f'"{word}"*' if together else f'"{word}"' for word in words]
        statement = text(
            "SELECT rowid AS item, bm25(item_search) AS rank FROM item_search "
            "WHERE item_search MATCH :query"
        ).bindparams(query=(" " if together else " OR ").join(asked))
    else:
        asked = [f"{word}:*" if together else word for word in words]
        statement = text(
            "SELECT item_id AS item, -ts_rank(words, to_tsquery('english', :query)) AS rank "
            "FROM item_search WHERE words @@ to_tsquery('english', :query)"
        ).bindparams(query=(" & " if together else " | ").join(asked))
    item, rank = BankItem.__table__.c.id, literal(0.0).label("rank")
    # Matched once and kept: else SQLite may ask the index anew for every card of a topic.
    return statement.columns(item.label("item"), rank).cte("found").prefix_with("MATERIALIZED")


def _conditions(wanted: Wanted) -> Iterator[ColumnElement[bool]]:
    yield (ItemCard.shop_id == wanted.shop_id) | ItemCard.shop_id.is_(None)
    for column in ("topic", "level", "kind", "bank"):
        value = getattr(wanted, column)
        if value:
            yield getattr(ItemCard, "bank_id" if column == "bank" else column) == value
    if wanted.state == ItemState.APPROVED.value:
        yield ItemCard.offered_version.is_not(None)
    elif wanted.state:
        yield ItemCard.state == wanted.state
    yield from _by_use(wanted)


def _by_use(wanted: Wanted) -> Iterator[ColumnElement[bool]]:
    last = (
        select(func.max(Response.answered_at))
        .where(Response.item_ref == ItemCard.item_ref)
        .scalar_subquery()
    )
    if wanted.used_since is not None:
        yield last >= wanted.used_since
    if wanted.unused_since is not None:
        yield last.is_(None) | (last < wanted.unused_since)
    if wanted.easier_than is not None or wanted.harder_than is not None:
        yield from _by_share(wanted)


def _by_share(wanted: Wanted) -> Iterator[ColumnElement[bool]]:
    """Yield what the share of right answers has to be, of answers as they count now."""
    right = func.sum(case((Response.correct, 1.0), else_=0.0))
    given = (
        select(Response.item_ref, func.count().label("answers"), right.label("right_ones"))
        .group_by(Response.item_ref)
        .subquery()
    )
    again = _DIFFERENCES.subquery()
    answers = given.c.answers + func.coalesce(again.c.answers, 0)
    share = (given.c.right_ones + func.coalesce(again.c.right_ones, 0)) / func.nullif(answers, 0)
    enough = (
        select(given.c.item_ref)
        .outerjoin(again, again.c.item_ref == given.c.item_ref)
        .where(answers >= wanted.fewest_answers)
    )
    if wanted.easier_than is not None:
        yield ItemCard.item_ref.in_(enough.where(share > wanted.easier_than))
    if wanted.harder_than is not None:
        yield ItemCard.item_ref.in_(enough.where(share < wanted.harder_than))
