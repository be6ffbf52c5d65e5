"""Competence as stored: one row per person, and one per person and topic."""

from __future__ import annotations

from dataclasses import dataclass, fields
from datetime import datetime

from sqlalchemy import (
    CheckConstraint,
    Connection,
    ForeignKey,
    bindparam,
    delete,
    insert,
    select,
    update,
)
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.orm import Mapped, mapped_column

from quizsvc.store.columns import Base, Slug, UtcAt, Word


class GeneralCompetence(Base):
    """A person's general level. Also the row an answer locks, so that answers keep their order."""

    __tablename__ = "general_competence"

    person_id: Mapped[int] = mapped_column(ForeignKey("person.id"), primary_key=True)
    mean: Mapped[float]
    variance: Mapped[float]
    answers: Mapped[int]
    last_at: Mapped[UtcAt]

    __table_args__ = (CheckConstraint("variance > 0", name="variance_positive"),)


class TopicCompetence(Base):
    """A person's deviation in a topic from their general level."""

    __tablename__ = "topic_competence"

    person_id: Mapped[int] = mapped_column(ForeignKey("person.id"), primary_key=True)
    topic: Mapped[Word] = mapped_column(primary_key=True)
    mean: Mapped[float]
    variance: Mapped[float]
    answers: Mapped[int]
    right_answers: Mapped[int]
    last_at: Mapped[UtcAt]

    __table_args__ = (
        CheckConstraint("variance > 0", name="variance_positive"),
        CheckConstraint("right_answers BETWEEN 0 AND answers", name="right_within_answers"),
    )


class ItemCalibration(Base):
    """Slope and difficulty fitted on answers, for a family or a bank item."""

    __tablename__ = "item_calibration"

    item_ref: Mapped[Slug] = mapped_column(primary_key=True)
    slope: Mapped[float]
    difficulty: Mapped[float]
    answers: Mapped[int]
    fitted_at: Mapped[UtcAt]

    __table_args__ = (CheckConstraint("slope > 0", name="slope_positive"),)


@dataclass(frozen=True, slots=True)
class GeneralRow:
    mean: float
    variance: float
    answers: int
    last_at: datetime


@dataclass(frozen=True, slots=True)
class TopicRow:
    topic: str
    mean: float
    variance: float
    answers: int
    right_answers: int
    last_at: datetime


_GENERAL = select(
    GeneralCompetence.mean,
    GeneralCompetence.variance,
    GeneralCompetence.answers,
    GeneralCompetence.last_at,
).where(GeneralCompetence.person_id == bindparam("person"))
_GENERAL_LOCKED = _GENERAL.with_for_update()
_TOPICS = select(
    TopicCompetence.topic,
    TopicCompetence.mean,
    TopicCompetence.variance,
    TopicCompetence.answers,
    TopicCompetence.right_answers,
    TopicCompetence.last_at,
).where(TopicCompetence.person_id == bindparam("person"))
_TOPIC = _TOPICS.where(TopicCompetence.topic == bindparam("topic"))
# Two first answers of one person at once: the second waits, then finds the row there.
_NEW_GENERAL = {
    "sqlite": sqlite.insert(GeneralCompetence).on_conflict_do_nothing(),
    "postgresql": postgresql.insert(GeneralCompetence).on_conflict_do_nothing(),
}
_UPDATE_GENERAL = (
    update(GeneralCompetence)
    .where(GeneralCompetence.person_id == bindparam("person"))
    .values(
        mean=bindparam("new_mean"),
        variance=bindparam("new_variance"),
        answers=GeneralCompetence.answers + 1,
        last_at=bindparam("at"),
    )
)
_CALIBRATION = select(ItemCalibration.slope, ItemCalibration.difficulty).where(
    ItemCalibration.item_ref == bindparam("ref")
)
_INSERT_TOPIC = insert(TopicCompetence)
_UPDATE_TOPIC = (
    update(TopicCompetence)
    .where(TopicCompetence.person_id == bindparam("person"))
    .where(TopicCompetence.topic == bindparam("for_topic"))
    .values(
        mean=bindparam("new_mean"),
        variance=bindparam("new_variance"),
        answers=TopicCompetence.answers + 1,
        right_answers=TopicCompetence.right_answers + bindparam("right"),
        last_at=bindparam("at"),
    )
)


def general_of(connection: Connection, person_id: int) -> GeneralRow | None:
    row = connection.execute(_GENERAL, {"person": person_id}).first()
    return GeneralRow(*row) if row else None


def lock_general(connection: Connection, person_id: int) -> GeneralRow | None:
    """Return the row and keep others from it until the transaction ends."""
    row = connection.execute(_GENERAL_LOCKED, {"person": person_id}).first()
    return GeneralRow(*row) if row else None


def topics_of(connection: Connection, person_id: int) -> dict[str, TopicRow]:
    rows = connection.execute(_TOPICS, {"person": person_id}).all()
    return {row[0]: TopicRow(*row) for row in rows}


def topic_of(connection: Connection, person_id: int, topic: str) -> TopicRow | None:
    row = connection.execute(_TOPIC, {"person": person_id, "topic": topic}).first()
    return TopicRow(*row) if row else None


def start_general(
    connection: Connection, person_id: int, *, mean: float, variance: float, now: datetime
) -> None:
    connection.execute(
        _NEW_GENERAL[connection.dialect.name],
        {
            "person_id": person_id,
            "mean": mean,
            "variance": variance,
            "answers": 0,
            "last_at": now,
        },
    )


def move_general(
    connection: Connection, person_id: int, *, mean: float, variance: float, now: datetime
) -> None:
    connection.execute(
        _UPDATE_GENERAL,
        {"person": person_id, "new_mean": mean, "new_variance": variance, "at": now},
    )


def start_topic(
    connection: Connection,
    person_id: int,
    topic: str,
    *,
    mean: float,
    variance: float,
    correct: bool,
    now: datetime,
) -> None:
    connection.execute(
        _INSERT_TOPIC,
        {
            "person_id": person_id,
            "topic": topic,
            "mean": mean,
            "variance": variance,
            "answers": 1,
            "right_answers": int(correct),
            "last_at": now,
        },
    )


def move_topic(
    connection: Connection,
    person_id: int,
    topic: str,
    *,
    mean: float,
    variance: float,
    correct: bool,
    now: datetime,
) -> None:
    connection.execute(
        _UPDATE_TOPIC,
        {
            "person": person_id,
            "for_topic": topic,
            "new_mean": mean,
            "new_variance": variance,
            "right": int(correct),
            "at": now,
        },
    )


def replace_all(
    connection: Connection, person_id: int, general: GeneralRow | None, topics: tuple[TopicRow, ...]
) -> None:
    """Put what was computed anew in place of all that is stored of a person's competence."""
    for table in (TopicCompetence, GeneralCompetence):
        connection.execute(delete(table).where(table.person_id == person_id))
    if general is not None:
        connection.execute(insert(GeneralCompetence), [{"person_id": person_id, **_of(general)}])
    if topics:
        rows = [{"person_id": person_id, **_of(topic)} for topic in topics]
        connection.execute(insert(TopicCompetence), rows)


def _of(row: GeneralRow | TopicRow) -> dict[str, object]:
    return {field.name: getattr(row, field.name) for field in fields(row)}


def calibration_of(connection: Connection, item_ref: str) -> tuple[float, float] | None:
    """Return slope and difficulty of an item, or None before it was calibrated."""
    row = connection.execute(_CALIBRATION, {"ref": item_ref}).first()
    return (row[0], row[1]) if row else None


def people_known(connection: Connection) -> list[int]:
    """Return everybody who has a stored competence, by key."""
    return list(
        connection.scalars(
            select(GeneralCompetence.person_id).order_by(GeneralCompetence.person_id)
        )
    )
