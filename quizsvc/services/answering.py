"""Mark an answer and store it, in practice as anywhere."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import Connection

from quizsvc.errors import NotFoundError
from quizsvc.items.model import Item, Level
from quizsvc.scoring.competence import ItemParameters
from quizsvc.scoring.luck import guessing_chance
from quizsvc.scoring.marking import Answer, mark
from quizsvc.scoring.standing import uncalibrated
from quizsvc.services.putting import answer_text
from quizsvc.services.recording import MarkedAnswer, record
from quizsvc.store import competence, offers
from quizsvc.store.offers import StoredOffer, StoredResponse


def answer_offer(
    connection: Connection, token: str, item: Item, answered: Answer, *, now: datetime
) -> StoredResponse:
    """Mark and store an answer to the item of an offer within the caller's transaction."""
    offered = offers.find_offer(connection, token)
    if offered is None:
        raise NotFoundError("there is no such offer.", field="question", value=token)
    marked = weigh(connection, offered, item, answered)
    return record(connection, offered, marked, now=now).response


def weigh(
    connection: Connection, offered: StoredOffer, item: Item, answered: Answer
) -> MarkedAnswer:
    """Mark an answer and find out how much it says: the item's slope, difficulty and guessing."""
    guessing = guessing_chance(item)
    fitted = competence.calibration_of(connection, offered.item_ref)
    return MarkedAnswer(
        mark(item, answered),
        answer_text(answered),
        ItemParameters(fitted[0], fitted[1], guessing)
        if fitted
        else uncalibrated(Level(offered.level), guessing),
    )
