"""Calibration runs, whose state outlives a kill, and the constants of the filter they fitted."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import CheckConstraint, Connection, delete, func, insert, select, update
from sqlalchemy.orm import Mapped

from quizsvc.store.columns import Base, Body, Key, UtcAt, Word
from quizsvc.store.competence import ItemCalibration
from quizsvc.store.offers import Offer, Response
from quizsvc.store.remarks import RemarkedResponse, as_it_counts, newest_marks


class CalibrationRun(Base):
    """One refit of the log up to a response; ``state`` is what it goes on from, as JSON."""

    __tablename__ = "calibration_run"

    id: Mapped[Key]
    stage: Mapped[Word]
    upto: Mapped[int]  # the newest response it takes in
    state: Mapped[Body]
    begun_at: Mapped[UtcAt]
    beat_at: Mapped[UtcAt]
    ended_at: Mapped[UtcAt | None]

    __table_args__ = (CheckConstraint("upto >= 0", name="upto_not_negative"),)


class FilterFit(Base):
    """Constants of the competence filter fitted on the log; the newest adopted ones count."""

    __tablename__ = "filter_fit"

    id: Mapped[Key]
    settings: Mapped[Body]
    adopted: Mapped[bool]
    loss_before: Mapped[float]  # log-loss of held-out people
    loss_after: Mapped[float]
    answers: Mapped[int]
    fitted_at: Mapped[UtcAt]


@dataclass(frozen=True, slots=True)
class StoredRun:
    id: int
    stage: str
    upto: int
    state: str
    begun_at: datetime


@dataclass(frozen=True, slots=True)
class LoggedAnswer:
    """An answer as a calibration takes it in."""

    person_id: int
    topic: str
    item_ref: str
    kind: str
    level: str
    correct: bool
    answered_at: datetime


_RUN = (
    CalibrationRun.id,
    CalibrationRun.stage,
    CalibrationRun.upto,
    CalibrationRun.state,
    CalibrationRun.begun_at,
)
_MARKS = newest_marks()
_NOW = as_it_counts(_MARKS)
_LOG = (
    select(
        Response.person_id,
        Response.topic,
        Response.item_ref,
        Offer.kind,
        Offer.level,
        _NOW.correct,
        Response.answered_at,
    )
    .join(Offer, Offer.id == Response.offer_id)
    .outerjoin(_MARKS, _MARKS.c.response_id == Response.id)
    .where(_NOW.counts)
)
ADOPTED_SETTINGS = (
    select(FilterFit.settings).where(FilterFit.adopted).order_by(FilterFit.id.desc()).limit(1)
)


def unfinished(connection: Connection) -> StoredRun | None:
    row = connection.execute(
        select(*_RUN)
        .where(CalibrationRun.ended_at.is_(None))
        .order_by(CalibrationRun.id.desc())
        .limit(1)
    ).first()
    return StoredRun(*row) if row else None


def begin(connection: Connection, *, stage: str, upto: int, now: datetime) -> int:
    row = connection.execute(
        insert(CalibrationRun)
        .values(stage=stage, upto=upto, state="{}", begun_at=now, beat_at=now)
        .returning(CalibrationRun.id)
    )
    return row.scalar_one()


def keep_state(
    connection: Connection, run_id: int, *, stage: str, state: str, now: datetime
) -> None:
    connection.execute(
        update(CalibrationRun)
        .where(CalibrationRun.id == run_id)
        .values(stage=stage, state=state, beat_at=now)
    )


def end(connection: Connection, run_id: int, *, now: datetime) -> None:
    connection.execute(
        update(CalibrationRun).where(CalibrationRun.id == run_id).values(ended_at=now, beat_at=now)
    )


def newest_response(connection: Connection) -> int:
    return connection.scalar(select(func.max(Response.id))) or 0


def log_upto(connection: Connection, upto: int) -> Iterator[LoggedAnswer]:
    """Yield the answers up to a response as they count now, each person's in order."""
    rows = connection.execute(
        _LOG.where(Response.id <= upto)
        .order_by(Response.person_id, Response.id)
        .execution_options(yield_per=5000)
    )
    return (LoggedAnswer(*row) for row in rows)


def log_of_person(connection: Connection, person_id: int) -> tuple[LoggedAnswer, ...]:
    rows = connection.execute(_LOG.where(Response.person_id == person_id).order_by(Response.id))
    return tuple(LoggedAnswer(*row) for row in rows.all())


def people_marked_again(connection: Connection) -> frozenset[int]:
    """Return who has an answer that was marked again since it was given."""
    rows = connection.scalars(
        select(Response.person_id)
        .join(RemarkedResponse, RemarkedResponse.response_id == Response.id)
        .distinct()
    )
    return frozenset(rows)


def replace_items(connection: Connection, rows: list[dict[str, object]]) -> None:
    """Put these slopes and difficulties in the place of all that were fitted before."""
    connection.execute(delete(ItemCalibration))
    if rows:
        connection.execute(insert(ItemCalibration), rows)


def items_fitted(connection: Connection) -> dict[str, tuple[float, float]]:
    rows = connection.execute(
        select(ItemCalibration.item_ref, ItemCalibration.slope, ItemCalibration.difficulty)
    )
    return {row[0]: (row[1], row[2]) for row in rows}


def add_fit(connection: Connection, **columns: object) -> None:
    connection.execute(insert(FilterFit).values(**columns))


def settings_of(connection: Connection) -> str | None:
    """Return the adopted constants as JSON, or None before any were fitted."""
    return connection.scalar(ADOPTED_SETTINGS)


def forget_fits(connection: Connection) -> None:
    """Go back to the default constants."""
    connection.execute(delete(FilterFit))
