"""Sittings: one person's try at an assignment, the items whole as shown, and every save."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import (
    CheckConstraint,
    Connection,
    ForeignKey,
    Index,
    LargeBinary,
    String,
    UniqueConstraint,
    bindparam,
    case,
    func,
    insert,
    select,
    update,
)
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.orm import Mapped, mapped_column

from quizsvc.rules.assignments import Form, Issue
from quizsvc.rules.sitting_clock import SittingClock
from quizsvc.rules.sittings import RUNNING, State
from quizsvc.store.assignments import Assignment, AssignmentQuestion
from quizsvc.store.columns import (
    Base,
    Body,
    Hash,
    Key,
    PersonKey,
    ShopKey,
    Slug,
    UtcAt,
    Word,
    one_of,
)
from quizsvc.store.people import Person

_RUNNING = [state.value for state in RUNNING]


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


class ShownItem(Base):
    """An item whole as shown, with its key, stored once however many got the same one.

    ``figure`` and ``solution`` are the SVG elements themselves.
    """

    __tablename__ = "shown_item"

    hash: Mapped[Hash] = mapped_column(primary_key=True)
    content: Mapped[Body]
    figure: Mapped[str | None]
    solution: Mapped[str | None]
    picture_hash: Mapped[Hash | None] = mapped_column(ForeignKey("kept_picture.hash"))


class KeptPicture(Base):
    """A photograph as it was when shown."""

    __tablename__ = "kept_picture"

    hash: Mapped[Hash] = mapped_column(primary_key=True)
    media_type: Mapped[Word]
    content: Mapped[bytes] = mapped_column(LargeBinary())


class SittingItem(Base):
    """A question of a sitting and the answer that stands for it."""

    __tablename__ = "sitting_item"

    sitting_id: Mapped[int] = mapped_column(ForeignKey("sitting.id"), primary_key=True)
    number: Mapped[int] = mapped_column(primary_key=True)  # as shown, from 1
    question_id: Mapped[int] = mapped_column(ForeignKey("assignment_question.id"))
    seed: Mapped[int]  # never shown
    shown_hash: Mapped[Hash] = mapped_column(ForeignKey("shown_item.hash"))
    typed: Mapped[Body]  # the fields of the page as JSON, to show them again
    given: Mapped[str | None]  # the same as an answer, if it is whole
    sequence: Mapped[int]
    saved_at: Mapped[UtcAt | None]
    look_again: Mapped[bool]
    marked_at: Mapped[UtcAt | None]
    correct: Mapped[bool | None]
    credit: Mapped[float | None]
    misconception: Mapped[Slug | None]
    given_words: Mapped[str | None]
    right_words: Mapped[str | None]

    __table_args__ = (
        CheckConstraint("credit IS NULL OR credit BETWEEN 0 AND 1", name="credit_from_0_to_1"),
        Index(None, "question_id"),
    )


class SittingSave(Base):
    """Every save that was acknowledged, under the key its sender gave it."""

    __tablename__ = "sitting_save"

    sitting_id: Mapped[int] = mapped_column(ForeignKey("sitting.id"), primary_key=True)
    key_hash: Mapped[Hash] = mapped_column(primary_key=True)
    number: Mapped[int]
    sequence: Mapped[int]
    payload_hash: Mapped[Hash]
    typed: Mapped[Body]
    saved_at: Mapped[UtcAt]


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


@dataclass(frozen=True, slots=True)
class StoredSittingItem:
    """A question of a sitting, without the item itself."""

    number: int
    question_id: int
    seed: int
    shown_hash: str
    typed: str
    given: str | None
    sequence: int
    saved_at: datetime | None
    look_again: bool
    marked_at: datetime | None
    correct: bool | None
    credit: float | None
    misconception: str | None
    given_words: str | None
    right_words: str | None


@dataclass(frozen=True, slots=True)
class StoredSave:
    number: int
    sequence: int
    payload_hash: str
    saved_at: datetime


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a sitting has come, for whoever watches."""

    sitting: StoredSitting
    name: str
    questions: int
    answered: int
    look_again: int


_COLUMNS = (
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
_ITEM_COLUMNS = (
    SittingItem.number,
    SittingItem.question_id,
    SittingItem.seed,
    SittingItem.shown_hash,
    SittingItem.typed,
    SittingItem.given,
    SittingItem.sequence,
    SittingItem.saved_at,
    SittingItem.look_again,
    SittingItem.marked_at,
    SittingItem.correct,
    SittingItem.credit,
    SittingItem.misconception,
    SittingItem.given_words,
    SittingItem.right_words,
)


def add_if_new(connection: Connection, table: type[Base], **columns: object) -> bool:
    """Insert a row unless one with its key is there; return whether it was inserted."""
    dialect = sqlite if connection.dialect.name == "sqlite" else postgresql
    key = next(iter(table.__table__.primary_key))
    new = dialect.insert(table).values(**columns).on_conflict_do_nothing().returning(key)
    return connection.execute(new).first() is not None


def add_items(connection: Connection, rows: list[dict[str, object]]) -> None:
    connection.execute(insert(SittingItem), rows)


def find_sitting(connection: Connection, token: str, *, lock: bool = False) -> StoredSitting | None:
    """Return the sitting; with ``lock`` nobody else changes it until the transaction ends."""
    wanted = select(*_COLUMNS).where(Sitting.token == token)
    row = connection.execute(wanted.with_for_update() if lock else wanted).first()
    return _sitting(row) if row else None


def sittings_of(
    connection: Connection, assignment_id: int, person_id: int | None = None, *, lock: bool = False
) -> tuple[StoredSitting, ...]:
    """Return the sittings of an assignment, a person's tries in order."""
    wanted = select(*_COLUMNS).where(Sitting.assignment_id == assignment_id)
    if person_id is not None:
        wanted = wanted.where(Sitting.person_id == person_id)
    wanted = wanted.order_by(Sitting.id)
    rows = connection.execute(wanted.with_for_update() if lock else wanted)
    return tuple(_sitting(row) for row in rows)


def running_of_person(connection: Connection, person_id: int) -> tuple[StoredSitting, ...]:
    rows = connection.execute(
        select(*_COLUMNS).where(Sitting.person_id == person_id, Sitting.state.in_(_RUNNING))
    )
    return tuple(_sitting(row) for row in rows)


def running_timed(connection: Connection) -> tuple[StoredSitting, ...]:
    """Return every running sitting that has a time limit, in all shops."""
    rows = connection.execute(
        select(*_COLUMNS).where(Sitting.state.in_(_RUNNING), Sitting.allowed_ms.is_not(None))
    )
    return tuple(_sitting(row) for row in rows)


def running_and_due(connection: Connection, *, now: datetime) -> tuple[StoredSitting, ...]:
    """Return running sittings without a limit of their own whose assignment is due."""
    rows = connection.execute(
        select(*_COLUMNS)
        .join(Assignment, Assignment.id == Sitting.assignment_id)
        .where(Sitting.state.in_(_RUNNING), Sitting.allowed_ms.is_(None), Assignment.due_at <= now)
    )
    return tuple(_sitting(row) for row in rows)


def last_heard_of_running(connection: Connection) -> datetime | None:
    """Return when a running sitting was last heard of; None when none is running."""
    return connection.scalar(select(func.max(Sitting.last_at)).where(Sitting.state.in_(_RUNNING)))


def change_sitting(connection: Connection, sitting_id: int, **columns: object) -> None:
    connection.execute(update(Sitting).where(Sitting.id == sitting_id).values(**columns))


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


def items_of(connection: Connection, sitting_id: int) -> tuple[StoredSittingItem, ...]:
    rows = connection.execute(
        select(*_ITEM_COLUMNS)
        .where(SittingItem.sitting_id == sitting_id)
        .order_by(SittingItem.number)
    )
    return tuple(_item(row) for row in rows)


def find_item(connection: Connection, sitting_id: int, number: int) -> StoredSittingItem | None:
    row = connection.execute(
        select(*_ITEM_COLUMNS).where(
            SittingItem.sitting_id == sitting_id, SittingItem.number == number
        )
    ).first()
    return _item(row) if row else None


def change_item(connection: Connection, sitting_id: int, number: int, **columns: object) -> None:
    connection.execute(
        update(SittingItem)
        .where(SittingItem.sitting_id == sitting_id, SittingItem.number == number)
        .values(**columns)
    )


def find_save(connection: Connection, sitting_id: int, key_hash: str) -> StoredSave | None:
    row = connection.execute(
        select(
            SittingSave.number, SittingSave.sequence, SittingSave.payload_hash, SittingSave.saved_at
        ).where(SittingSave.sitting_id == sitting_id, SittingSave.key_hash == key_hash)
    ).first()
    return StoredSave(*row) if row else None


def add_save(connection: Connection, **columns: object) -> None:
    connection.execute(insert(SittingSave).values(**columns))


def content_of(connection: Connection, shown_hash: str) -> str:
    return connection.execute(
        select(ShownItem.content).where(ShownItem.hash == shown_hash)
    ).scalar_one()


def figure_of(connection: Connection, shown_hash: str) -> str | None:
    return connection.scalar(select(ShownItem.figure).where(ShownItem.hash == shown_hash))


def solution_of(connection: Connection, shown_hash: str) -> str | None:
    return connection.scalar(select(ShownItem.solution).where(ShownItem.hash == shown_hash))


def picture_of(connection: Connection, shown_hash: str) -> tuple[str, bytes] | None:
    row = connection.execute(
        select(KeptPicture.media_type, KeptPicture.content)
        .join(ShownItem, ShownItem.picture_hash == KeptPicture.hash)
        .where(ShownItem.hash == shown_hash)
    ).first()
    return (row[0], row[1]) if row else None


def progress_of(connection: Connection, assignment_id: int) -> tuple[Progress, ...]:
    """Return how far every sitting of an assignment has come, in one statement."""
    one = case((SittingItem.saved_at.is_not(None), 1), else_=0)
    marked = case((SittingItem.look_again, 1), else_=0)
    counts = (
        select(
            SittingItem.sitting_id,
            func.count().label("questions"),
            func.sum(one).label("answered"),
            func.sum(marked).label("again"),
        )
        .join(Sitting, Sitting.id == SittingItem.sitting_id)
        .where(Sitting.assignment_id == assignment_id)
        .group_by(SittingItem.sitting_id)
        .subquery()
    )
    rows = connection.execute(
        select(*_COLUMNS, Person.name, counts.c.questions, counts.c.answered, counts.c.again)
        .join(counts, counts.c.sitting_id == Sitting.id)
        .join(Person, Person.id == Sitting.person_id)
        .where(Sitting.assignment_id == assignment_id)
        .order_by(Person.name, Sitting.person_id, Sitting.nth)
    )
    return tuple(_progress(row) for row in rows)


def score_of(connection: Connection, sitting_id: int) -> tuple[int, int]:
    """Return right answers and questions that count: what is void counts for nobody."""
    right = case((SittingItem.correct.is_(True), 1), else_=0)
    row = connection.execute(
        select(func.coalesce(func.sum(right), 0), func.count())
        .join(AssignmentQuestion, AssignmentQuestion.id == SittingItem.question_id)
        .where(SittingItem.sitting_id == sitting_id, AssignmentQuestion.voided_at.is_(None))
    ).one()
    return int(row[0]), int(row[1])


def tally(connection: Connection, assignment_id: int) -> list[tuple[int, int, int, int]]:
    """Return per question: its key, finished sittings, answered ones and right ones."""
    answered = case((SittingItem.saved_at.is_not(None), 1), else_=0)
    right = case((SittingItem.correct.is_(True), 1), else_=0)
    rows = connection.execute(
        select(SittingItem.question_id, func.count(), func.sum(answered), func.sum(right))
        .join(Sitting, Sitting.id == SittingItem.sitting_id)
        .where(Sitting.assignment_id == assignment_id, Sitting.finished_at.is_not(None))
        .group_by(SittingItem.question_id)
    )
    return [(int(row[0]), int(row[1]), int(row[2]), int(row[3])) for row in rows]


def anybody_sits(connection: Connection, assignment_id: int) -> bool:
    found = connection.scalar(
        select(Sitting.id)
        .where(Sitting.assignment_id == assignment_id, Sitting.state.in_(_RUNNING))
        .limit(1)
    )
    return found is not None


def uncounted(connection: Connection) -> tuple[StoredSitting, ...]:
    """Return finished sittings whose answers are not in the people's records yet."""
    rows = connection.execute(
        select(*_COLUMNS).where(Sitting.finished_at.is_not(None), Sitting.counted_at.is_(None))
    )
    return tuple(_sitting(row) for row in rows)


# Built once: every answer in practice asks these.
HELD_BACK = (
    select(AssignmentQuestion.item_ref)
    .join(Assignment, Assignment.id == AssignmentQuestion.assignment_id)
    .where(
        Assignment.shop_id == bindparam("in_shop"),
        Assignment.form == Form.TIMED_TEST.value,
        Assignment.issue == Issue.ISSUED.value,
        Assignment.released_at.is_(None),
        Assignment.id.in_(
            select(Sitting.assignment_id).where(
                Sitting.shop_id == bindparam("in_shop"), Sitting.state.in_(_RUNNING)
            )
        )
        | (Assignment.due_at > bindparam("at")),
        AssignmentQuestion.bank_item_version_id.is_not(None) | Assignment.own_numbers.is_(False),
    )
    .distinct()
)


TIMED_TEST_OF = (
    select(Sitting.id)
    .where(
        Sitting.person_id == bindparam("person"),
        Sitting.state.in_(_RUNNING),
        Sitting.allowed_ms.is_not(None),
    )
    .limit(1)
)


def items_held_back(connection: Connection, shop_id: int, *, now: datetime) -> frozenset[str]:
    """Return refs of what is asked alike of everybody in timed tests that are still going on.

    Bank items, and families where all get the same numbers; as `in_progress` of the rules says.
    """
    rows = connection.scalars(HELD_BACK, {"in_shop": shop_id, "at": now})
    return frozenset(rows)


def sits_a_timed_test(connection: Connection, person_id: int) -> bool:
    """Return whether the person has a timed test before them."""
    return connection.scalar(TIMED_TEST_OF, {"person": person_id}) is not None


def _ms(span: timedelta) -> int:
    return round(span / timedelta(milliseconds=1))


def _sitting(row: Any) -> StoredSitting:
    """Return the row; the columns are in the order of the dataclass."""
    values = list(row)
    values[6] = State(values[6])
    return StoredSitting(*values)


def _item(row: Any) -> StoredSittingItem:
    return StoredSittingItem(*row)


def _progress(row: Any) -> Progress:
    split = len(_COLUMNS)
    name, *counts = row[split:]
    return Progress(_sitting(row[:split]), name, *map(int, counts))
