"""Engine sheets as stored: every revision whole, as its TOML text and the text's hash."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum

from sqlalchemy import (
    CheckConstraint,
    Connection,
    ForeignKey,
    UniqueConstraint,
    bindparam,
    func,
    insert,
    select,
    update,
)
from sqlalchemy.orm import Mapped, mapped_column

from quizsvc.store.columns import Base, Body, Hash, Key, Name, Slug, UtcAt, Word, one_of
from quizsvc.store.people import Person


class RevisionState(StrEnum):
    DRAFT = "draft"
    PUBLISHED = "published"
    WITHDRAWN = "withdrawn"


class Sheet(Base):
    """An engine sheet by its id; without a shop it is shared by all."""

    __tablename__ = "sheet"

    id: Mapped[Slug] = mapped_column(primary_key=True)
    shop_id: Mapped[int | None] = mapped_column(ForeignKey("shop.id"))
    made_at: Mapped[UtcAt]


class SheetRevision(Base):
    """One revision, never changed once stored but for its state."""

    __tablename__ = "sheet_revision"

    id: Mapped[Key]
    sheet_id: Mapped[Slug] = mapped_column(ForeignKey("sheet.id"))
    revision: Mapped[int]
    title: Mapped[Name]
    toml: Mapped[Body]
    content_hash: Mapped[Hash]
    note: Mapped[Body] = mapped_column(default="")
    invented: Mapped[bool]
    built_from: Mapped[date | None]
    built_to: Mapped[date | None]
    state: Mapped[Word]
    stored_by: Mapped[int | None] = mapped_column(ForeignKey("person.id"))
    stored_at: Mapped[UtcAt]

    __table_args__ = (
        UniqueConstraint("sheet_id", "revision"),
        CheckConstraint("revision >= 1", name="revision_from_one"),
        CheckConstraint(one_of("state", RevisionState), name="known_state"),
        CheckConstraint(
            "built_from IS NULL OR built_to IS NULL OR built_from <= built_to",
            name="built_from_before_to",
        ),
    )


@dataclass(frozen=True, slots=True)
class StoredRevision:
    id: int
    sheet_id: str
    revision: int
    title: str
    content_hash: str


@dataclass(frozen=True, slots=True)
class RevisionRow:
    """A revision with what its sheet's page says of it."""

    id: int
    sheet_id: str
    shop_id: int | None
    revision: int
    title: str
    note: str
    invented: bool
    built_from: date | None
    built_to: date | None
    state: RevisionState
    by: str | None  # the name of who stored it; None for the program itself
    at: datetime


@dataclass(frozen=True, slots=True)
class NewRevision:
    sheet_id: str
    revision: int
    title: str
    toml: str
    content_hash: str
    note: str
    invented: bool
    built_from: date | None
    built_to: date | None


_ROW = select(
    SheetRevision.id,
    SheetRevision.sheet_id,
    SheetRevision.revision,
    SheetRevision.title,
    SheetRevision.content_hash,
)
_NEWEST = (
    select(SheetRevision.sheet_id, func.max(SheetRevision.revision).label("revision"))
    .where(SheetRevision.state == RevisionState.PUBLISHED.value)
    .group_by(SheetRevision.sheet_id)
    .subquery()
)
_LATEST_PUBLISHED = (
    _ROW.join(
        _NEWEST,
        (SheetRevision.sheet_id == _NEWEST.c.sheet_id)
        & (SheetRevision.revision == _NEWEST.c.revision),
    )
    .join(Sheet, Sheet.id == SheetRevision.sheet_id)
    .where((Sheet.shop_id == bindparam("shop")) | Sheet.shop_id.is_(None))
    .order_by(SheetRevision.title)
)


def add_revision(
    connection: Connection,
    new: NewRevision,
    *,
    shop_id: int | None,
    by: int | None,
    now: datetime,
    state: RevisionState = RevisionState.PUBLISHED,
) -> int:
    """Store a revision, and the sheet itself with its first one."""
    if connection.scalar(select(Sheet.id).where(Sheet.id == new.sheet_id)) is None:
        connection.execute(insert(Sheet).values(id=new.sheet_id, shop_id=shop_id, made_at=now))
    row = connection.execute(
        insert(SheetRevision)
        .values(
            sheet_id=new.sheet_id,
            revision=new.revision,
            title=new.title,
            toml=new.toml,
            content_hash=new.content_hash,
            note=new.note,
            invented=new.invented,
            built_from=new.built_from,
            built_to=new.built_to,
            state=state.value,
            stored_by=by,
            stored_at=now,
        )
        .returning(SheetRevision.id)
    )
    return row.scalar_one()


def find_revision(connection: Connection, sheet_id: str, revision: int) -> StoredRevision | None:
    row = connection.execute(
        _ROW.where(SheetRevision.sheet_id == sheet_id, SheetRevision.revision == revision)
    ).first()
    return StoredRevision(*row) if row else None


def stored_by_people(connection: Connection, sheet_id: str) -> bool:
    """Return whether somebody stored a revision of the sheet, draft or not, by hand."""
    found = connection.scalar(
        select(SheetRevision.id)
        .where(SheetRevision.sheet_id == sheet_id, SheetRevision.stored_by.is_not(None))
        .limit(1)
    )
    return found is not None


def toml_of(connection: Connection, revision_id: int) -> str:
    return connection.execute(
        select(SheetRevision.toml).where(SheetRevision.id == revision_id)
    ).scalar_one()


def latest_published(connection: Connection, shop_id: int) -> tuple[StoredRevision, ...]:
    """Return the newest published revision of every sheet the shop may use, by title."""
    rows = connection.execute(_LATEST_PUBLISHED, {"shop": shop_id}).all()
    return tuple(StoredRevision(*row) for row in rows)


_ROWS = (
    select(
        SheetRevision.id,
        SheetRevision.sheet_id,
        Sheet.shop_id,
        SheetRevision.revision,
        SheetRevision.title,
        SheetRevision.note,
        SheetRevision.invented,
        SheetRevision.built_from,
        SheetRevision.built_to,
        SheetRevision.state,
        Person.name,
        SheetRevision.stored_at,
    )
    .join(Sheet, Sheet.id == SheetRevision.sheet_id)
    .outerjoin(Person, Person.id == SheetRevision.stored_by)
    .where((Sheet.shop_id == bindparam("shop")) | Sheet.shop_id.is_(None))
    .order_by(SheetRevision.sheet_id, SheetRevision.revision.desc())
)


def revisions_for(
    connection: Connection, shop_id: int, sheet_id: str | None = None
) -> tuple[RevisionRow, ...]:
    """Return every revision the shop may see, sheet by sheet, the newest first."""
    wanted = _ROWS if sheet_id is None else _ROWS.where(SheetRevision.sheet_id == sheet_id)
    rows = connection.execute(wanted, {"shop": shop_id}).all()
    return tuple(RevisionRow(*row[:9], RevisionState(row[9]), row[10], row[11]) for row in rows)


def lock_sheet(connection: Connection, sheet_id: str) -> bool:
    """Make others who would store a revision wait; return whether there is such a sheet at all."""
    found = connection.scalar(select(Sheet.id).where(Sheet.id == sheet_id).with_for_update())
    return found is not None


def publish_revision(connection: Connection, revision_id: int) -> None:
    connection.execute(
        update(SheetRevision)
        .where(SheetRevision.id == revision_id)
        .values(state=RevisionState.PUBLISHED.value)
    )
