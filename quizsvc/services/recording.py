"""Store an answer and what it says about the person, in one transaction.

Core statements, nothing rendered or drawn inside: this is the path everybody waits on.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection

from quizsvc.scoring.competence import Competence, ItemParameters, after_answer, newcomer
from quizsvc.scoring.marking import Marked
from quizsvc.services.filter_constants import settings_from, settings_in
from quizsvc.services.standings import belief_now
from quizsvc.store import competence, held_ideas, offers
from quizsvc.store.answer_path import Standpoint, lock_standpoint
from quizsvc.store.offers import StoredOffer, StoredResponse


@dataclass(frozen=True, slots=True)
class MarkedAnswer:
    """An answer ready to be stored."""

    marked: Marked
    given: str  # JSON in the item's own terms
    item: ItemParameters


@dataclass(frozen=True, slots=True)
class Recorded:
    """The answer that stands, and whether it is the one just given."""

    response: StoredResponse
    first: bool


def record(
    connection: Connection, offer: StoredOffer, answer: MarkedAnswer, *, now: datetime
) -> Recorded:
    """Store the answer unless the offer has one; return the one that stands.

    The person's general row is locked first, so that of two submissions at once the second
    sees what the first has stored.
    """
    standpoint = lock_standpoint(connection, offer) or _first(connection, offer, now=now)
    if standpoint.stands is not None:
        return Recorded(standpoint.stands, first=False)
    topic, settings = standpoint.topic, settings_from(standpoint.settings)
    before = belief_now(standpoint.general, topic, now=now, settings=settings)
    after = after_answer(before, answer.item, correct=answer.marked.correct, settings=settings)
    response = StoredResponse(
        offer_id=offer.id,
        correct=answer.marked.correct,
        credit=answer.marked.credit,
        misconception=answer.marked.misconception or None,
        given=answer.given,
        given_words=answer.marked.given_words,
        right_words=answer.marked.right_words,
        nth=topic.answers + 1 if topic else 1,
        mean_before=before.total.mean,
        variance_before=before.total.variance,
        mean_after=after.total.mean,
        variance_after=after.total.variance,
        last_before=topic.last_at if topic else None,
        answered_at=now,
    )
    offers.add_response(connection, offer, response)
    _keep(connection, offer, after, correct=response.correct, first=topic is None, now=now)
    _note_ideas(connection, offer.person_id, answer.marked, now=now)
    return Recorded(response, first=True)


def _note_ideas(connection: Connection, person_id: int, marked: Marked, *, now: datetime) -> None:
    """Keep which wrong ideas the person holds; an answer wrong in some other way tells nothing."""
    if marked.correct:
        held_ideas.clear(connection, person_id, marked.ideas, now=now)
    elif marked.misconception:
        held_ideas.show(connection, person_id, marked.misconception, now=now)


def _first(connection: Connection, offer: StoredOffer, *, now: datetime) -> Standpoint:
    """Give the person a general row to lock: this may be their first answer."""
    start = newcomer(settings_in(connection)).general
    competence.start_general(
        connection, offer.person_id, mean=start.mean, variance=start.variance, now=now
    )
    standpoint = lock_standpoint(connection, offer)
    if standpoint is None:  # pragma: no cover - the row was stored a moment ago
        raise LookupError(offer.person_id)
    return standpoint


def _keep(
    connection: Connection,
    offer: StoredOffer,
    after: Competence,
    *,
    correct: bool,
    first: bool,
    now: datetime,
) -> None:
    competence.move_general(
        connection,
        offer.person_id,
        mean=after.general.mean,
        variance=after.general.variance,
        now=now,
    )
    keep = competence.start_topic if first else competence.move_topic
    keep(
        connection,
        offer.person_id,
        offer.topic,
        mean=after.topic.mean,
        variance=after.topic.variance,
        correct=correct,
        now=now,
    )
