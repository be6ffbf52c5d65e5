"""Mark an answer and store it, in practice as anywhere."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import Connection

from quizsvc.errors import NotFoundError
from quizsvc.items.model import Item
from quizsvc.scoring.luck import guessing_chance
from quizsvc.scoring.marking import Answer, mark
from quizsvc.scoring.standing import item_parameters
from quizsvc.services.putting import answer_text
from quizsvc.services.recording import MarkedAnswer, record
from quizsvc.store import competence, offers
from quizsvc.store.offers import StoredResponse


def answer_offer(
    connection: Connection, token: str, item: Item, answered: Answer, *, now: datetime
) -> StoredResponse:
    """Mark and store an answer to the item of an offer within the caller's transaction."""
    offered = offers.find_offer(connection, token)
    if offered is None:
        raise NotFoundError("there is no such offer.", field="question", value=token)
    marked = weigh(item, answered, competence.calibration_of(connection, offered.item_ref))
    return record(connection, offered, marked, now=now).response


def weigh(item: Item, answered: Answer, fitted: tuple[float, float] | None) -> MarkedAnswer:
    """Mark an answer and say how much it tells: by the item's slope, difficulty and guessing.

    ``fitted`` are slope and difficulty, or None before the item was calibrated.
    """
    guessing = guessing_chance(item)
    return MarkedAnswer(
        mark(item, answered),
        answer_text(answered),
        item_parameters(fitted, item.level, guessing),
    )
