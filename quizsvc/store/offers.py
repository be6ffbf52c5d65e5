"""Offers and responses: what was put to whom, and what they answered. Rows are never changed."""

from __future__ import annotations

from dataclasses import dataclass, fields
from datetime import datetime
from enum import StrEnum
from typing import Any

from sqlalchemy import (
    CheckConstraint,
    Connection,
    ForeignKey,
    Index,
    String,
    bindparam,
    func,
    insert,
    select,
)
from sqlalchemy.orm import Mapped, mapped_column

from quizsvc.store.columns import (
    Base,
    Body,
    Hash,
    Key,
    PersonKey,
    ShopKey,
    Slug,
    UtcAt,
    Word,
    one_of,
)


class Purpose(StrEnum):
    PRACTICE = "practice"
    ASSIGNMENT = "assignment"
    SITTING = "sitting"


class Offer(Base):
    """An item put to a person: its recipe, and the hash of what the recipe gave.

    A generated item is family, version, sheet revision and seed; a bank item is its stored
    version, with the seed for the order of its options.
    """

    __tablename__ = "offer"

    id: Mapped[Key]
    token: Mapped[str] = mapped_column(String(32), unique=True)  # 128 random bits in hex
    person_id: Mapped[PersonKey]
    shop_id: Mapped[ShopKey]
    purpose: Mapped[Word]
    topic: Mapped[Word]
    item_ref: Mapped[Slug]  # family id, or bank:BANK/ENTRY
    item_version: Mapped[int]
    level: Mapped[Word]
    kind: Mapped[Word]
    sheet_revision_id: Mapped[int | None] = mapped_column(ForeignKey("sheet_revision.id"))
    bank_item_version_id: Mapped[int | None] = mapped_column(ForeignKey("bank_item_version.id"))
    seed: Mapped[int]  # 62 random bits, never shown
    item_hash: Mapped[Hash]
    why: Mapped[Body]  # one line: why this one
    made_at: Mapped[UtcAt]

    __table_args__ = (
        CheckConstraint(one_of("purpose", Purpose), name="known_purpose"),
        CheckConstraint(
            "(sheet_revision_id IS NULL) <> (bank_item_version_id IS NULL)",
            name="from_sheet_or_bank",
        ),
        Index(None, "person_id", "id"),
        Index(None, "sheet_revision_id"),
    )


class Response(Base):
    """The answer to an offer. Appended once; the database refuses changes and deletions.

    ``given`` is the answer in the item's own terms, as JSON. The level believed of the person
    just before and just after is kept for reports over time.
    """

    __tablename__ = "response"

    id: Mapped[Key]
    offer_id: Mapped[int] = mapped_column(ForeignKey("offer.id"), unique=True)
    person_id: Mapped[PersonKey]
    shop_id: Mapped[ShopKey]
    topic: Mapped[Word]
    item_ref: Mapped[Slug]
    correct: Mapped[bool]
    credit: Mapped[float]
    misconception: Mapped[Slug | None]
    given: Mapped[Body]
    given_words: Mapped[Body]
    right_words: Mapped[Body]
    nth: Mapped[int]  # the person's n-th answer in the topic, from 1
    mean_before: Mapped[float]
    variance_before: Mapped[float]
    mean_after: Mapped[float]
    variance_after: Mapped[float]
    last_before: Mapped[UtcAt | None]  # the person's answer in the topic before this one
    answered_at: Mapped[UtcAt]

    __table_args__ = (
        CheckConstraint("credit BETWEEN 0 AND 1", name="credit_from_0_to_1"),
        CheckConstraint("nth >= 1", name="nth_from_one"),
        Index(None, "person_id", "id"),
        Index(None, "item_ref", "answered_at"),
    )


@dataclass(frozen=True, slots=True)
class StoredOffer:
    id: int
    token: str
    person_id: int
    shop_id: int
    topic: str
    item_ref: str
    item_version: int
    level: str
    kind: str
    sheet_revision_id: int | None
    bank_item_version_id: int | None
    seed: int
    item_hash: str
    why: str
    made_at: datetime


@dataclass(frozen=True, slots=True)
class StoredResponse:
    offer_id: int
    correct: bool
    credit: float
    misconception: str | None
    given: str
    given_words: str
    right_words: str
    nth: int
    mean_before: float
    variance_before: float
    mean_after: float
    variance_after: float
    last_before: datetime | None
    answered_at: datetime


OFFER_COLUMNS = (
    Offer.id,
    Offer.token,
    Offer.person_id,
    Offer.shop_id,
    Offer.topic,
    Offer.item_ref,
    Offer.item_version,
    Offer.level,
    Offer.kind,
    Offer.sheet_revision_id,
    Offer.bank_item_version_id,
    Offer.seed,
    Offer.item_hash,
    Offer.why,
    Offer.made_at,
)
RESPONSE_COLUMNS = (
    Response.offer_id,
    Response.correct,
    Response.credit,
    Response.misconception,
    Response.given,
    Response.given_words,
    Response.right_words,
    Response.nth,
    Response.mean_before,
    Response.variance_before,
    Response.mean_after,
    Response.variance_after,
    Response.last_before,
    Response.answered_at,
)
_BY_TOKEN = select(*OFFER_COLUMNS).where(Offer.token == bindparam("for_token"))
_OFFER_WIDTH = len(OFFER_COLUMNS)
_BY_TOKEN_WITH_RESPONSE = (
    select(*OFFER_COLUMNS, *RESPONSE_COLUMNS)
    .outerjoin(Response, Response.offer_id == Offer.id)
    .where(Offer.token == bindparam("for_token"))
)
_RESPONSE_TO = select(*RESPONSE_COLUMNS).where(Response.offer_id == bindparam("for_offer"))
_PUT_AT = select(Offer.item_ref, Offer.seed).where(
    Offer.person_id == bindparam("for_person"), Offer.made_at == bindparam("at")
)
_LATEST_PUT = (
    select(Offer.item_ref, Offer.topic)
    .where(Offer.person_id == bindparam("for_person"))
    .order_by(Offer.id.desc())
    .limit(bindparam("most"))
)
_INSERT_OFFER = insert(Offer)
_INSERT_RESPONSE = insert(Response)


def add_offer(connection: Connection, **columns: object) -> None:
    connection.execute(_INSERT_OFFER, columns)


def find_offer(connection: Connection, token: str) -> StoredOffer | None:
    row = connection.execute(_BY_TOKEN, {"for_token": token}).first()
    return StoredOffer(*_plain(row)) if row else None


def find_with_response(
    connection: Connection, token: str
) -> tuple[StoredOffer, StoredResponse | None] | None:
    """Return an offer and its answer if it has one, or None for no such offer."""
    row = connection.execute(_BY_TOKEN_WITH_RESPONSE, {"for_token": token}).first()
    if row is None:
        return None
    values = _plain(row)
    answer = values[_OFFER_WIDTH:]
    return StoredOffer(*values[:_OFFER_WIDTH]), (
        StoredResponse(*answer) if answer[0] is not None else None
    )


def put_at(
    connection: Connection, person_id: int, *, made_at: datetime
) -> frozenset[tuple[str, int]]:
    """Return item and seed of what was put to a person at just this time: of one sitting."""
    rows = connection.execute(_PUT_AT, {"for_person": person_id, "at": made_at})
    return frozenset((row[0], row[1]) for row in rows)


def response_to(connection: Connection, offer_id: int) -> StoredResponse | None:
    row = connection.execute(_RESPONSE_TO, {"for_offer": offer_id}).first()
    return StoredResponse(*_plain(row)) if row else None


def add_response(connection: Connection, offer: StoredOffer, response: StoredResponse) -> None:
    """Append a response to an offer; a second one is refused by the database."""
    about = {
        "person_id": offer.person_id,
        "shop_id": offer.shop_id,
        "topic": offer.topic,
        "item_ref": offer.item_ref,
    }
    connection.execute(_INSERT_RESPONSE, about | _columns(response))


def latest_put(connection: Connection, person_id: int, *, count: int) -> list[tuple[str, str]]:
    """Return item and topic of what was last put to the person, newest first."""
    rows = connection.execute(_LATEST_PUT, {"for_person": person_id, "most": count}).all()
    return [(row[0], row[1]) for row in rows]


def count_responses(connection: Connection, person_id: int, topic: str | None) -> int:
    wanted = select(func.count()).where(Response.person_id == person_id)
    if topic is not None:
        wanted = wanted.where(Response.topic == topic)
    return connection.execute(wanted).scalar_one()


def page_of_responses(
    connection: Connection, person_id: int, topic: str | None, *, skip: int, count: int
) -> list[tuple[StoredOffer, StoredResponse]]:
    """Return answered offers, newest answer first."""
    wanted = (
        select(*OFFER_COLUMNS, *RESPONSE_COLUMNS)
        .join(Offer, Offer.id == Response.offer_id)
        .where(Response.person_id == person_id)
        .order_by(Response.id.desc())
        .offset(skip)
        .limit(count)
    )
    if topic is not None:
        wanted = wanted.where(Response.topic == topic)
    return [
        (StoredOffer(*_plain(row)[:_OFFER_WIDTH]), StoredResponse(*_plain(row)[_OFFER_WIDTH:]))
        for row in connection.execute(wanted)
    ]


def _columns(response: StoredResponse) -> dict[str, Any]:
    return {field.name: getattr(response, field.name) for field in fields(response)}


def _plain(row: Any) -> tuple[Any, ...]:
    """Return the row as a tuple; the column lists above are in the order of the dataclasses."""
    return tuple(row)
