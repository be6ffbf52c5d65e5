"""What was answered on a revision of an engine sheet, and by whom."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, case, func, select

from quizsvc.store.offers import Offer, Response
from quizsvc.store.people import Person


@dataclass(frozen=True, slots=True)
class Answered:
    """One person's answers on one revision."""

    person_id: int
    name: str
    answers: int
    right: int
    last_at: datetime


def answered_on(connection: Connection, revision_id: int, shop_id: int) -> tuple[Answered, ...]:
    """Return who of the shop answered anything drawn from the revision, by name.

    Practice, assignments and tests alike: a finished test's answers stand among the responses.
    """
    rows = connection.execute(
        select(
            Person.id,
            Person.name,
            func.count(),
            func.sum(case((Response.correct, 1), else_=0)),
            func.max(Response.answered_at),
        )
        .join(Offer, Offer.id == Response.offer_id)
        .join(Person, Person.id == Response.person_id)
        .where(Offer.sheet_revision_id == revision_id, Response.shop_id == shop_id)
        .group_by(Person.id, Person.name)
        .order_by(Person.name, Person.id)
    ).all()
    return tuple(Answered(*row) for row in rows)


def families_answered_on(connection: Connection, revision_id: int, shop_id: int) -> dict[str, int]:
    """Return how many answers the shop's people gave on the revision, by family."""
    rows = connection.execute(
        select(Response.item_ref, func.count())
        .join(Offer, Offer.id == Response.offer_id)
        .where(Offer.sheet_revision_id == revision_id, Response.shop_id == shop_id)
        .group_by(Response.item_ref)
    ).all()
    return {str(item_ref): int(count) for item_ref, count in rows}
