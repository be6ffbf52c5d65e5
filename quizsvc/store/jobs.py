"""Work done in the background, as stored: it survives a restart, and one worker does each job."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from typing import Any

from sqlalchemy import CheckConstraint, Connection, ForeignKey, Index, insert, select, update
from sqlalchemy.orm import Mapped, mapped_column

from quizsvc.store.columns import Base, Body, Key, UtcAt, Word, one_of

SILENT = timedelta(seconds=60)  # a worker that says nothing for so long was stopped
MOST_ATTEMPTS = 3


class JobState(StrEnum):
    WAITING = "waiting"
    RUNNING = "running"
    DONE = "done"
    FAILED = "failed"


class Job(Base):
    __tablename__ = "job"

    id: Mapped[Key]
    kind: Mapped[Word]
    shop_id: Mapped[int | None] = mapped_column(ForeignKey("shop.id"))
    person_id: Mapped[int | None] = mapped_column(ForeignKey("person.id"))
    state: Mapped[Word]
    payload: Mapped[Body]
    result: Mapped[Body]
    done: Mapped[int]
    total: Mapped[int]
    attempts: Mapped[int]
    made_at: Mapped[UtcAt]
    beat_at: Mapped[UtcAt | None]  # the worker's last sign of life
    ended_at: Mapped[UtcAt | None]

    __table_args__ = (
        CheckConstraint(one_of("state", JobState), name="known_state"),
        Index(None, "state", "id"),
    )


@dataclass(frozen=True, slots=True)
class JobRow:
    id: int
    kind: str
    shop_id: int | None
    person_id: int | None
    state: JobState
    result: str
    done: int
    total: int
    attempts: int
    made_at: datetime
    ended_at: datetime | None


_ROW = select(
    Job.id,
    Job.kind,
    Job.shop_id,
    Job.person_id,
    Job.state,
    Job.result,
    Job.done,
    Job.total,
    Job.attempts,
    Job.made_at,
    Job.ended_at,
)


def add(
    connection: Connection,
    kind: str,
    payload: str,
    *,
    shop_id: int | None,
    person_id: int | None,
    total: int = 0,
    now: datetime,
) -> int:
    row = connection.execute(
        insert(Job)
        .values(
            kind=kind,
            shop_id=shop_id,
            person_id=person_id,
            state=JobState.WAITING.value,
            payload=payload,
            result="",
            done=0,
            total=total,
            attempts=0,
            made_at=now,
        )
        .returning(Job.id)
    )
    return row.scalar_one()


def find(connection: Connection, job_id: int) -> JobRow | None:
    row = connection.execute(_ROW.where(Job.id == job_id)).first()
    return _job(row) if row else None


def payload_of(connection: Connection, job_id: int) -> str:
    return connection.execute(select(Job.payload).where(Job.id == job_id)).scalar_one()


def claim(connection: Connection, *, job_id: int | None = None, now: datetime) -> JobRow | None:
    """Take the oldest job that waits, or whose worker fell silent; None if there is none."""
    free = (Job.state == JobState.WAITING.value) | (
        (Job.state == JobState.RUNNING.value) & (Job.beat_at < now - SILENT)
    )
    wanted = _ROW.where(free).order_by(Job.id).limit(1).with_for_update(skip_locked=True)
    row = connection.execute(wanted.where(Job.id == job_id) if job_id else wanted).first()
    if row is None:
        return None
    found = _job(row)
    connection.execute(
        update(Job)
        .where(Job.id == found.id)
        .values(state=JobState.RUNNING.value, attempts=found.attempts + 1, beat_at=now)
    )
    return found


def beat(connection: Connection, job_id: int, *, done: int, total: int, now: datetime) -> None:
    """Say how far a job is, and that its worker lives."""
    connection.execute(
        update(Job).where(Job.id == job_id).values(done=done, total=total, beat_at=now)
    )


def end(
    connection: Connection, job_id: int, state: JobState, result: str, *, now: datetime
) -> None:
    connection.execute(
        update(Job)
        .where(Job.id == job_id)
        .values(state=state.value, result=result, beat_at=now, ended_at=now)
    )


def latest(
    connection: Connection, kinds: tuple[str, ...], shop_id: int, *, count: int
) -> tuple[JobRow, ...]:
    """Return the shop's latest jobs of these kinds, newest first."""
    wanted = _ROW.where(Job.kind.in_(kinds), Job.shop_id == shop_id)
    rows = connection.execute(wanted.order_by(Job.id.desc()).limit(count)).all()
    return tuple(_job(row) for row in rows)


def _job(row: Any) -> JobRow:
    values: tuple[Any, ...] = tuple(row)
    return JobRow(*(*values[:4], JobState(values[4]), *values[5:]))
