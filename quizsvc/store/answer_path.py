"""What answering asks of the database, in as few statements as it can: everybody waits here.

One statement before marking, one inside the transaction before writing. Apart from that each
part of what they gather has its own query in its own module, for all other uses.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, and_, bindparam, select

from quizsvc.rules.reviewing import ItemState
from quizsvc.store import competence
from quizsvc.store.banks import BankItemVersion
from quizsvc.store.calibrations import ADOPTED_SETTINGS
from quizsvc.store.competence import (
    GeneralCompetence,
    GeneralRow,
    ItemCalibration,
    TopicCompetence,
    TopicRow,
)
from quizsvc.store.held_back import HELD_BACK, TIMED_TEST_OF
from quizsvc.store.offers import (
    OFFER_COLUMNS,
    RESPONSE_COLUMNS,
    Offer,
    Response,
    StoredOffer,
    StoredResponse,
    response_to,
)


@dataclass(frozen=True, slots=True)
class Answerable:
    """An offer, its answer if it has one, and what may stand in the way of one."""

    offer: StoredOffer
    response: StoredResponse | None
    sits_a_timed_test: bool  # the person asking does
    held_back: bool  # a test in progress asks the same
    withdrawn: bool
    fitted: tuple[float, float] | None  # slope and difficulty, once calibrated


@dataclass(frozen=True, slots=True)
class Standpoint:
    """What is known of a person just before an answer of theirs is stored."""

    general: GeneralRow
    topic: TopicRow | None
    settings: str | None  # adopted constants of the filter, as JSON
    stands: StoredResponse | None  # the answer the offer has already


_ANSWERABLE = (
    select(
        TIMED_TEST_OF.exists(),
        Offer.item_ref.in_(HELD_BACK),
        BankItemVersion.state,
        ItemCalibration.slope,
        ItemCalibration.difficulty,
        *OFFER_COLUMNS,
        *RESPONSE_COLUMNS,
    )
    .select_from(Offer)
    .outerjoin(Response, Response.offer_id == Offer.id)
    .outerjoin(BankItemVersion, BankItemVersion.id == Offer.bank_item_version_id)
    .outerjoin(ItemCalibration, ItemCalibration.item_ref == Offer.item_ref)
    .where(Offer.token == bindparam("for_token"))
)
_OWN = 5  # columns before those of the offer
_STANDPOINT = (
    select(
        GeneralCompetence.mean,
        GeneralCompetence.variance,
        GeneralCompetence.answers,
        GeneralCompetence.last_at,
        ADOPTED_SETTINGS.scalar_subquery(),
        Response.id,
        TopicCompetence.topic,
        TopicCompetence.mean,
        TopicCompetence.variance,
        TopicCompetence.answers,
        TopicCompetence.right_answers,
        TopicCompetence.last_at,
    )
    .select_from(GeneralCompetence)
    .outerjoin(
        TopicCompetence,
        and_(
            TopicCompetence.person_id == GeneralCompetence.person_id,
            TopicCompetence.topic == bindparam("in_topic"),
        ),
    )
    .outerjoin(Response, Response.offer_id == bindparam("for_offer"))
    .where(GeneralCompetence.person_id == bindparam("person"))
)


def find_answerable(
    connection: Connection, token: str, *, person_id: int, shop_id: int, now: datetime
) -> Answerable | None:
    """Return what the token stands for as the person asks for it, or None for no such offer."""
    asked = {"for_token": token, "person": person_id, "in_shop": shop_id, "at": now}
    row = connection.execute(_ANSWERABLE, asked).first()
    if row is None:
        return None
    values: tuple[Any, ...] = tuple(row)
    (sits, held_back, state, slope, difficulty), values = values[:_OWN], values[_OWN:]
    offer, answer = values[: len(OFFER_COLUMNS)], values[len(OFFER_COLUMNS) :]
    return Answerable(
        StoredOffer(*offer),
        StoredResponse(*answer) if answer[0] is not None else None,
        bool(sits),
        bool(held_back),
        state == ItemState.WITHDRAWN.value,
        None if slope is None else (slope, difficulty),
    )


def lock_standpoint(connection: Connection, offer: StoredOffer) -> Standpoint | None:
    """Return what is known of the offer's person and keep other answers of theirs waiting.

    None before their first answer. On a server the lock comes first, in a statement of its own:
    one that waited inside would go on with what it had seen before the wait.
    """
    if connection.dialect.name != "sqlite":
        competence.lock_general(connection, offer.person_id)
    asked = {"person": offer.person_id, "in_topic": offer.topic, "for_offer": offer.id}
    row = connection.execute(_STANDPOINT, asked).first()
    if row is None:
        return None
    values: tuple[Any, ...] = tuple(row)
    (settings, answered), topic = values[4:6], values[6:]
    return Standpoint(
        GeneralRow(*values[:4]),
        TopicRow(*topic) if topic[0] is not None else None,
        settings,
        response_to(connection, offer.id) if answered is not None else None,
    )
