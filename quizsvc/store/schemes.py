"""Schemes of certification and their versions; what was published is never changed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import (
    CheckConstraint,
    Connection,
    ForeignKey,
    Index,
    UniqueConstraint,
    func,
    insert,
    select,
    update,
)
from sqlalchemy.orm import Mapped, mapped_column

from quizsvc.rules.schemes import VersionState
from quizsvc.store.columns import Base, Body, Key, Name, PersonKey, ShopKey, UtcAt, Word, one_of


class Scheme(Base):
    __tablename__ = "scheme"

    id: Mapped[Key]
    shop_id: Mapped[ShopKey]
    title: Mapped[Name]
    made_at: Mapped[UtcAt]

    __table_args__ = (UniqueConstraint("shop_id", "title"),)


class SchemeVersion(Base):
    """The terms of a scheme as JSON, with the cut score and the record of how it came about."""

    __tablename__ = "scheme_version"

    id: Mapped[Key]
    scheme_id: Mapped[int] = mapped_column(ForeignKey("scheme.id"))
    version: Mapped[int]
    state: Mapped[Word]
    terms: Mapped[Body]
    made_by: Mapped[PersonKey]
    made_at: Mapped[UtcAt]
    cut_share: Mapped[float | None]  # of the questions that count, 0 to 1
    cut_record: Mapped[str | None]  # JSON: judges, spread, agreement, who approved
    cut_approved_by: Mapped[int | None] = mapped_column(ForeignKey("person.id"))
    cut_approved_at: Mapped[UtcAt | None]
    published_by: Mapped[int | None] = mapped_column(ForeignKey("person.id"))
    published_at: Mapped[UtcAt | None]

    __table_args__ = (
        CheckConstraint(one_of("state", VersionState), name="known_state"),
        CheckConstraint("version >= 1", name="version_from_one"),
        CheckConstraint("cut_share IS NULL OR cut_share BETWEEN 0 AND 1", name="cut_is_a_share"),
        CheckConstraint(
            "state = 'draft' OR cut_approved_at IS NOT NULL", name="published_with_a_cut"
        ),
        UniqueConstraint("scheme_id", "version"),
        Index(None, "scheme_id", "state"),
    )


@dataclass(frozen=True, slots=True)
class StoredVersion:
    id: int
    scheme_id: int
    shop_id: int
    title: str
    version: int
    state: VersionState
    terms: str
    made_by: int
    made_at: datetime
    cut_share: float | None
    cut_record: str | None
    cut_approved_by: int | None
    cut_approved_at: datetime | None
    published_by: int | None
    published_at: datetime | None


_VERSION = select(
    SchemeVersion.id,
    SchemeVersion.scheme_id,
    Scheme.shop_id,
    Scheme.title,
    SchemeVersion.version,
    SchemeVersion.state,
    SchemeVersion.terms,
    SchemeVersion.made_by,
    SchemeVersion.made_at,
    SchemeVersion.cut_share,
    SchemeVersion.cut_record,
    SchemeVersion.cut_approved_by,
    SchemeVersion.cut_approved_at,
    SchemeVersion.published_by,
    SchemeVersion.published_at,
).join(Scheme, Scheme.id == SchemeVersion.scheme_id)


def add_scheme(connection: Connection, shop_id: int, title: str, *, now: datetime) -> int:
    row = connection.execute(
        insert(Scheme).values(shop_id=shop_id, title=title, made_at=now).returning(Scheme.id)
    )
    return row.scalar_one()


def find_scheme(connection: Connection, shop_id: int, title: str) -> int | None:
    return connection.scalar(
        select(Scheme.id).where(Scheme.shop_id == shop_id, Scheme.title == title)
    )


def rename(connection: Connection, scheme_id: int, title: str) -> None:
    connection.execute(update(Scheme).where(Scheme.id == scheme_id).values(title=title))


def add_version(
    connection: Connection, scheme_id: int, terms: str, *, made_by: int, now: datetime
) -> int:
    """Add a draft after the newest version and return its key."""
    newest = connection.scalar(
        select(func.max(SchemeVersion.version)).where(SchemeVersion.scheme_id == scheme_id)
    )
    row = connection.execute(
        insert(SchemeVersion)
        .values(
            scheme_id=scheme_id,
            version=(newest or 0) + 1,
            state=VersionState.DRAFT.value,
            terms=terms,
            made_by=made_by,
            made_at=now,
        )
        .returning(SchemeVersion.id)
    )
    return row.scalar_one()


def change_version(connection: Connection, version_id: int, **columns: object) -> None:
    connection.execute(
        update(SchemeVersion).where(SchemeVersion.id == version_id).values(**columns)
    )


def find_version(
    connection: Connection, version_id: int, *, lock: bool = False
) -> StoredVersion | None:
    wanted = _VERSION.where(SchemeVersion.id == version_id)
    row = connection.execute(wanted.with_for_update(of=SchemeVersion) if lock else wanted).first()
    return _version(row) if row else None


def versions_of_shop(connection: Connection, shop_id: int) -> tuple[StoredVersion, ...]:
    """Return every version of a shop's schemes: by title, the newest first."""
    rows = connection.execute(
        _VERSION.where(Scheme.shop_id == shop_id).order_by(
            Scheme.title, Scheme.id, SchemeVersion.version.desc()
        )
    )
    return tuple(_version(row) for row in rows)


def replace_published(connection: Connection, scheme_id: int) -> None:
    """Mark what is published of a scheme as replaced."""
    connection.execute(
        update(SchemeVersion)
        .where(
            SchemeVersion.scheme_id == scheme_id,
            SchemeVersion.state == VersionState.PUBLISHED.value,
        )
        .values(state=VersionState.REPLACED.value)
    )


def _version(row: Any) -> StoredVersion:
    columns = dict(row._mapping)  # noqa: SLF001 - SQLAlchemy's public name
    columns["state"] = VersionState(columns["state"])
    return StoredVersion(**columns)
