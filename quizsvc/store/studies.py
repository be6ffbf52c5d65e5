"""What a study of an item's answers found, kept so that pages need not read the answers."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import CheckConstraint, Connection, ForeignKey, Index, func, select
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.orm import Mapped, mapped_column

from quizsvc.store.classes import ClassMember, Part, TrainingClass
from quizsvc.store.columns import Base, Body, Slug, UtcAt, Word
from quizsvc.store.offers import Offer, Response
from quizsvc.store.remarks import as_it_counts, newest_marks
from quizsvc.store.sheets import SheetRevision


class ItemStudy(Base):
    """One shop's answers to one item, as studied last; ``body`` is the whole study as JSON."""

    __tablename__ = "item_study"

    shop_id: Mapped[int] = mapped_column(ForeignKey("shop.id"), primary_key=True)
    item_ref: Mapped[Slug] = mapped_column(primary_key=True)
    topic: Mapped[Word]
    answers: Mapped[int]
    right_answers: Mapped[int]
    link: Mapped[float]  # correlation with the level believed before the answer
    flags: Mapped[Body]  # the flags' names, one a line; empty if nothing stands out
    body: Mapped[Body]
    studied_at: Mapped[UtcAt]

    __table_args__ = (
        CheckConstraint("right_answers BETWEEN 0 AND answers", name="right_within_answers"),
        Index(None, "shop_id", "topic"),
    )


class SummaryMark(Base):
    """Up to which response a summary kept by a job has come."""

    __tablename__ = "summary_mark"

    name: Mapped[Word] = mapped_column(primary_key=True)
    upto: Mapped[int]


@dataclass(frozen=True, slots=True)
class StudyRow:
    """A studied item in a list."""

    item_ref: str
    topic: str
    answers: int
    right_answers: int
    link: float
    flags: tuple[str, ...]
    studied_at: datetime


@dataclass(frozen=True, slots=True)
class StudiedAnswer:
    """What a study needs of one answer."""

    response_id: int
    person_id: int
    correct: bool
    misconception: str | None
    given_words: str
    level_before: float
    variance_before: float
    answered_at: datetime
    item_version: int
    level: str
    kind: str
    sheet_revision_id: int | None
    bank_item_version_id: int | None
    seed: int
    topic: str


_ROW = (
    ItemStudy.item_ref,
    ItemStudy.topic,
    ItemStudy.answers,
    ItemStudy.right_answers,
    ItemStudy.link,
    ItemStudy.flags,
    ItemStudy.studied_at,
)


def latest_answers(
    connection: Connection, shop_id: int, item_ref: str, *, most: int
) -> tuple[StudiedAnswer, ...]:
    """Return a shop's latest answers to an item as they count now, oldest of them first."""
    marks = newest_marks()
    now = as_it_counts(marks)
    rows = connection.execute(
        select(
            Response.id,
            Response.person_id,
            now.correct,
            now.misconception,
            Response.given_words,
            Response.mean_before,
            Response.variance_before,
            Response.answered_at,
            Offer.item_version,
            Offer.level,
            Offer.kind,
            Offer.sheet_revision_id,
            Offer.bank_item_version_id,
            Offer.seed,
            Response.topic,
        )
        .join(Offer, Offer.id == Response.offer_id)
        .outerjoin(marks, marks.c.response_id == Response.id)
        .where(Response.item_ref == item_ref, Response.shop_id == shop_id, now.counts)
        .order_by(Response.answered_at.desc())
        .limit(most)
    ).all()
    return tuple(StudiedAnswer(*_plain(row)) for row in reversed(rows))


def answered_since(connection: Connection, after: int, upto: int) -> tuple[tuple[int, str], ...]:
    """Return (shop, item) of what was answered in this stretch of responses."""
    rows = connection.execute(
        select(Response.shop_id, Response.item_ref)
        .where(Response.id > after, Response.id <= upto)
        .distinct()
    )
    return tuple((row[0], row[1]) for row in rows)


def newest_response(connection: Connection, *, before: datetime) -> int:
    """Return the key of the newest response given before a time; 0 if there is none.

    Keys grow with time, so only the last few are looked at.
    """
    newest = (
        select(Response.id, Response.answered_at).order_by(Response.id.desc()).limit(500).subquery()
    )
    found = connection.scalar(select(func.max(newest.c.id)).where(newest.c.answered_at < before))
    return found or 0


def mark_of(connection: Connection, name: str) -> int:
    return connection.scalar(select(SummaryMark.upto).where(SummaryMark.name == name)) or 0


def set_mark(connection: Connection, name: str, upto: int) -> None:
    _upsert(connection, SummaryMark, ("name",), {"name": name, "upto": upto})


def keep_study(connection: Connection, columns: dict[str, object]) -> None:
    _upsert(connection, ItemStudy, ("shop_id", "item_ref"), columns)


def studies_of(connection: Connection, shop_id: int) -> tuple[StudyRow, ...]:
    rows = connection.execute(
        select(*_ROW).where(ItemStudy.shop_id == shop_id).order_by(ItemStudy.item_ref)
    )
    return tuple(_row(row) for row in rows)


def flagged_of(connection: Connection, shop_id: int, *, most: int) -> tuple[StudyRow, ...]:
    """Return studied items that stand out, the most answered first."""
    rows = connection.execute(
        select(*_ROW)
        .where(ItemStudy.shop_id == shop_id, ItemStudy.flags != "")
        .order_by(ItemStudy.answers.desc(), ItemStudy.item_ref)
        .limit(most)
    )
    return tuple(_row(row) for row in rows)


def study_row(connection: Connection, shop_id: int, item_ref: str) -> StudyRow | None:
    row = connection.execute(
        select(*_ROW).where(ItemStudy.shop_id == shop_id, ItemStudy.item_ref == item_ref)
    ).first()
    return _row(row) if row else None


def body_of(connection: Connection, shop_id: int, item_ref: str) -> str | None:
    return connection.scalar(
        select(ItemStudy.body).where(ItemStudy.shop_id == shop_id, ItemStudy.item_ref == item_ref)
    )


def answers_by_item(connection: Connection, shop_id: int) -> dict[str, int]:
    """Return how often each item was answered in a shop, up to its last study."""
    rows = connection.execute(
        select(ItemStudy.item_ref, ItemStudy.answers).where(ItemStudy.shop_id == shop_id)
    )
    return {row[0]: row[1] for row in rows}


def classes_by_person(connection: Connection, shop_id: int) -> dict[int, str]:
    """Return the name of a class each learner of a shop is in; the first by name of several."""
    rows = connection.execute(
        select(ClassMember.person_id, func.min(TrainingClass.name))
        .join(TrainingClass, TrainingClass.id == ClassMember.class_id)
        .where(
            TrainingClass.shop_id == shop_id,
            ClassMember.part == Part.LEARNER.value,
            ClassMember.left_at.is_(None),
        )
        .group_by(ClassMember.person_id)
    )
    return {row[0]: row[1] for row in rows}


def revision_words(connection: Connection) -> dict[int, str]:
    """Return each sheet revision by key, as words: the sheet and its revision's number."""
    rows = connection.execute(
        select(SheetRevision.id, SheetRevision.sheet_id, SheetRevision.revision)
    )
    return {row[0]: f"{row[1]}, revision {row[2]}" for row in rows}


def _row(row: Any) -> StudyRow:
    ref, topic, answers, right, link, flags, at = _plain(row)
    return StudyRow(ref, topic, answers, right, link, tuple(flags.splitlines()), at)


def _plain(row: Any) -> tuple[Any, ...]:
    return tuple(row)


def _upsert(
    connection: Connection, table: type[Base], key: tuple[str, ...], columns: dict[str, object]
) -> None:
    dialect = sqlite if connection.dialect.name == "sqlite" else postgresql
    new = dialect.insert(table).values(**columns)
    changed = {name: getattr(new.excluded, name) for name in columns if name not in key}
    connection.execute(new.on_conflict_do_update(index_elements=list(key), set_=changed))
