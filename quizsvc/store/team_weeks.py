"""How a team stood at the end of each week, topic by topic: the summary its trend is drawn from."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import CheckConstraint, Connection, ForeignKey, func, insert, select
from sqlalchemy.orm import Mapped, mapped_column

from quizsvc.store.columns import Base, UtcAt, Word
from quizsvc.store.offers import Response
from quizsvc.store.people import Shop


class TeamWeek(Base):
    """Counts only; nobody can be told from it."""

    __tablename__ = "team_week"

    shop_id: Mapped[int] = mapped_column(ForeignKey("shop.id"), primary_key=True)
    week_end: Mapped[UtcAt] = mapped_column(primary_key=True)
    topic: Mapped[Word] = mapped_column(primary_key=True)
    people: Mapped[int]  # who had answered anything in the topic by then
    above: Mapped[int]  # of these, those whose level cleared the gate
    chance: Mapped[float]  # mean over these people

    __table_args__ = (CheckConstraint("above BETWEEN 0 AND people", name="above_within"),)


@dataclass(frozen=True, slots=True)
class LastAnswer:
    """What was believed of a person in a topic after their last answer before a moment."""

    person_id: int
    topic: str
    nth: int
    mean: float
    variance: float
    answered_at: datetime


@dataclass(frozen=True, slots=True)
class WeekRow:
    week_end: datetime
    topic: str
    people: int
    above: int
    chance: float


def weeks_of(connection: Connection, shop_id: int) -> tuple[WeekRow, ...]:
    rows = connection.execute(
        select(TeamWeek.week_end, TeamWeek.topic, TeamWeek.people, TeamWeek.above, TeamWeek.chance)
        .where(TeamWeek.shop_id == shop_id)
        .order_by(TeamWeek.week_end, TeamWeek.topic)
    )
    return tuple(WeekRow(*row) for row in rows)


def lock_shop(connection: Connection, shop_id: int) -> None:
    """Make others who would count the shop's weeks wait."""
    connection.execute(select(Shop.id).where(Shop.id == shop_id).with_for_update())


def add_weeks(connection: Connection, shop_id: int, rows: list[WeekRow]) -> None:
    if rows:
        connection.execute(
            insert(TeamWeek),
            [
                {
                    "shop_id": shop_id,
                    "week_end": row.week_end,
                    "topic": row.topic,
                    "people": row.people,
                    "above": row.above,
                    "chance": row.chance,
                }
                for row in rows
            ],
        )


def first_answer_at(connection: Connection, shop_id: int) -> datetime | None:
    return connection.scalar(
        select(func.min(Response.answered_at)).where(Response.shop_id == shop_id)
    )


def last_answers(connection: Connection, shop_id: int, *, before: datetime) -> Iterator[LastAnswer]:
    """Yield the last answer of everybody in each topic before a moment. Reads raw answers.

    As first marked, on purpose: a week tells what was believed of the team when it ended, and
    the levels kept with a response are those of that time. Marking again moves only today's.
    """
    newest = (
        select(func.max(Response.id))
        .where(Response.shop_id == shop_id, Response.answered_at < before)
        .group_by(Response.person_id, Response.topic)
    )
    rows = connection.execute(
        select(
            Response.person_id,
            Response.topic,
            Response.nth,
            Response.mean_after,
            Response.variance_after,
            Response.answered_at,
        ).where(Response.id.in_(newest))
    )
    for row in rows:
        yield LastAnswer(*row)
