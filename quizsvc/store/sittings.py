"""Sittings: one person's try at an assignment, its state and its clock."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import (
    CheckConstraint,
    Connection,
    ForeignKey,
    Index,
    String,
    UniqueConstraint,
    bindparam,
    func,
    select,
    update,
)
from sqlalchemy.orm import Mapped, mapped_column

from quizsvc.rules.sitting_clock import SittingClock
from quizsvc.rules.sittings import RUNNING, State
from quizsvc.store.assignments import Assignment
from quizsvc.store.columns import Base, Hash, Key, PersonKey, ShopKey, UtcAt, Word, one_of

RUNNING_STATES = [state.value for state in RUNNING]


class Sitting(Base):
    """One try. Spans are in milliseconds; the deadline follows from them and is not stored."""

    __tablename__ = "sitting"

    id: Mapped[Key]
    token: Mapped[str] = mapped_column(String(32), unique=True)  # 128 random bits in hex
    assignment_id: Mapped[int] = mapped_column(ForeignKey("assignment.id"))
    person_id: Mapped[PersonKey]
    shop_id: Mapped[ShopKey]
    nth: Mapped[int]
    state: Mapped[Word]
    place_hash: Mapped[Hash]  # of the one place where it is open
    place_since: Mapped[UtcAt]
    opened_at: Mapped[UtcAt]
    allowed_ms: Mapped[int | None]
    added_ms: Mapped[int]
    paused_ms: Mapped[int]
    paused_at: Mapped[UtcAt | None]
    last_at: Mapped[UtcAt]  # last heard of
    finished_at: Mapped[UtcAt | None]
    counted_at: Mapped[UtcAt | None]  # when its answers went into the person's record
    points: Mapped[int | None]
    out_of: Mapped[int | None]

    __table_args__ = (
        CheckConstraint(one_of("state", State), name="known_state"),
        CheckConstraint("nth >= 1", name="nth_from_one"),
        CheckConstraint("added_ms >= 0 AND paused_ms >= 0", name="spans_not_negative"),
        CheckConstraint("points IS NULL OR points BETWEEN 0 AND out_of", name="points_within"),
        UniqueConstraint("assignment_id", "person_id", "nth"),
        Index(None, "person_id", "state"),
        Index(None, "state"),
    )


@dataclass(frozen=True, slots=True)
class StoredSitting:
    id: int
    token: str
    assignment_id: int
    person_id: int
    shop_id: int
    nth: int
    state: State
    place_hash: str
    place_since: datetime
    opened_at: datetime
    allowed_ms: int | None
    added_ms: int
    paused_ms: int
    paused_at: datetime | None
    last_at: datetime
    finished_at: datetime | None
    counted_at: datetime | None
    points: int | None
    out_of: int | None

    @property
    def clock(self) -> SittingClock:
        allowed = None if self.allowed_ms is None else timedelta(milliseconds=self.allowed_ms)
        return SittingClock(
            self.opened_at,
            allowed,
            timedelta(milliseconds=self.added_ms),
            timedelta(milliseconds=self.paused_ms),
            self.paused_at,
        )


COLUMNS = (
    Sitting.id,
    Sitting.token,
    Sitting.assignment_id,
    Sitting.person_id,
    Sitting.shop_id,
    Sitting.nth,
    Sitting.state,
    Sitting.place_hash,
    Sitting.place_since,
    Sitting.opened_at,
    Sitting.allowed_ms,
    Sitting.added_ms,
    Sitting.paused_ms,
    Sitting.paused_at,
    Sitting.last_at,
    Sitting.finished_at,
    Sitting.counted_at,
    Sitting.points,
    Sitting.out_of,
)


_KEEP_SCORE = (
    update(Sitting)
    .where(Sitting.id == bindparam("key"))
    .values(points=bindparam("right"), out_of=bindparam("of"))
)


def find_sitting(connection: Connection, token: str, *, lock: bool = False) -> StoredSitting | None:
    """Return the sitting; with ``lock`` nobody else changes it until the transaction ends."""
    wanted = select(*COLUMNS).where(Sitting.token == token)
    row = connection.execute(wanted.with_for_update() if lock else wanted).first()
    return sitting_from(row) if row else None


def sittings_of(
    connection: Connection, assignment_id: int, person_id: int | None = None, *, lock: bool = False
) -> tuple[StoredSitting, ...]:
    """Return the sittings of an assignment, a person's tries in order."""
    wanted = select(*COLUMNS).where(Sitting.assignment_id == assignment_id)
    if person_id is not None:
        wanted = wanted.where(Sitting.person_id == person_id)
    wanted = wanted.order_by(Sitting.id)
    rows = connection.execute(wanted.with_for_update() if lock else wanted)
    return tuple(sitting_from(row) for row in rows)


def running_of_person(connection: Connection, person_id: int) -> tuple[StoredSitting, ...]:
    rows = connection.execute(
        select(*COLUMNS).where(Sitting.person_id == person_id, Sitting.state.in_(RUNNING_STATES))
    )
    return tuple(sitting_from(row) for row in rows)


def running_timed(connection: Connection) -> tuple[StoredSitting, ...]:
    """Return every running sitting that has a time limit, in all shops."""
    rows = connection.execute(
        select(*COLUMNS).where(Sitting.state.in_(RUNNING_STATES), Sitting.allowed_ms.is_not(None))
    )
    return tuple(sitting_from(row) for row in rows)


def running_and_due(connection: Connection, *, now: datetime) -> tuple[StoredSitting, ...]:
    """Return running sittings without a limit of their own whose assignment is due."""
    rows = connection.execute(
        select(*COLUMNS)
        .join(Assignment, Assignment.id == Sitting.assignment_id)
        .where(
            Sitting.state.in_(RUNNING_STATES),
            Sitting.allowed_ms.is_(None),
            Assignment.due_at <= now,
        )
    )
    return tuple(sitting_from(row) for row in rows)


def last_heard_of_running(connection: Connection) -> datetime | None:
    """Return when a running sitting was last heard of; None when none is running."""
    return connection.scalar(
        select(func.max(Sitting.last_at)).where(Sitting.state.in_(RUNNING_STATES))
    )


def change_sitting(connection: Connection, sitting_id: int, **columns: object) -> None:
    connection.execute(update(Sitting).where(Sitting.id == sitting_id).values(**columns))


def keep_scores(connection: Connection, scores: Mapping[int, tuple[int, int]]) -> None:
    """Keep points and questions that count of many sittings."""
    rows = [{"key": key, "right": right, "of": of} for key, (right, of) in scores.items()]
    if rows:
        connection.execute(_KEEP_SCORE, rows)


def claim_counting(connection: Connection, sitting_id: int, *, now: datetime) -> bool:
    """Note that the answers go into the record now; False if somebody has done so."""
    done = connection.execute(
        update(Sitting)
        .where(Sitting.id == sitting_id, Sitting.counted_at.is_(None))
        .values(counted_at=now)
    )
    return done.rowcount == 1


def keep_clock(connection: Connection, sitting_id: int, clock: SittingClock, state: State) -> None:
    change_sitting(
        connection,
        sitting_id,
        state=state.value,
        added_ms=_ms(clock.added),
        paused_ms=_ms(clock.paused),
        paused_at=clock.paused_at,
    )


def anybody_sits(connection: Connection, assignment_id: int) -> bool:
    found = connection.scalar(
        select(Sitting.id)
        .where(Sitting.assignment_id == assignment_id, Sitting.state.in_(RUNNING_STATES))
        .limit(1)
    )
    return found is not None


def uncounted(connection: Connection) -> tuple[StoredSitting, ...]:
    """Return finished sittings whose answers are not in the people's records yet."""
    rows = connection.execute(
        select(*COLUMNS).where(Sitting.finished_at.is_not(None), Sitting.counted_at.is_(None))
    )
    return tuple(sitting_from(row) for row in rows)


def _ms(span: timedelta) -> int:
    return round(span / timedelta(milliseconds=1))


def sitting_from(row: Any) -> StoredSitting:
    """Return the row; the columns are in the order of the dataclass."""
    values = list(row)
    values[6] = State(values[6])
    return StoredSitting(*values)
