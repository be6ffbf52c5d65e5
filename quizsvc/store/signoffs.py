"""Hands-on sign-offs: what an assessor saw done at the vehicle, and pictures of it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import (
    CheckConstraint,
    Connection,
    ForeignKey,
    Index,
    LargeBinary,
    String,
    insert,
    select,
    update,
)
from sqlalchemy.orm import Mapped, aliased, mapped_column

from quizsvc.rules.certifying import SignOffState
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
from quizsvc.store.schemes import SchemeVersion


class TaskSignOff(Base):
    """One assessment of one task; its token is used up when it is handed in."""

    __tablename__ = "task_sign_off"

    id: Mapped[Key]
    token: Mapped[str] = mapped_column(String(32), unique=True)  # 128 random bits in hex
    version_id: Mapped[int] = mapped_column(ForeignKey("scheme_version.id"))
    task: Mapped[Slug]
    person_id: Mapped[PersonKey]
    shop_id: Mapped[ShopKey]
    state: Mapped[Word]
    assessor_id: Mapped[PersonKey]
    second_id: Mapped[int | None] = mapped_column(ForeignKey("person.id"))
    done: Mapped[Body]  # JSON: numbers of the steps seen done
    notes: Mapped[Body]
    passed: Mapped[bool | None]
    opened_at: Mapped[UtcAt]
    assessed_at: Mapped[UtcAt | None]
    confirmed_at: Mapped[UtcAt | None]

    __table_args__ = (
        CheckConstraint(one_of("state", SignOffState), name="known_state"),
        CheckConstraint("assessor_id <> person_id", name="nobody_signs_off_themselves"),
        CheckConstraint(
            "second_id IS NULL OR (second_id <> person_id AND second_id <> assessor_id)",
            name="second_is_another_person",
        ),
        Index(None, "person_id"),
        Index(None, "shop_id", "state"),
    )


class SignOffPicture(Base):
    __tablename__ = "sign_off_picture"

    id: Mapped[Key]
    sign_off_id: Mapped[int] = mapped_column(ForeignKey("task_sign_off.id"), index=True)
    media_type: Mapped[Word]
    content: Mapped[bytes] = mapped_column(LargeBinary())
    hash: Mapped[Hash]


@dataclass(frozen=True, slots=True)
class StoredSignOff:
    id: int
    token: str
    version_id: int
    scheme_id: int
    task: str
    person_id: int
    person: str
    shop_id: int
    state: SignOffState
    assessor_id: int
    assessor: str
    second_id: int | None
    second: str | None
    done: str
    notes: str
    passed: bool | None
    opened_at: datetime
    assessed_at: datetime | None
    confirmed_at: datetime | None


_PERSON, _ASSESSOR, _SECOND = aliased(Person), aliased(Person), aliased(Person)
_ROW = (
    select(
        TaskSignOff.id,
        TaskSignOff.token,
        TaskSignOff.version_id,
        SchemeVersion.scheme_id,
        TaskSignOff.task,
        TaskSignOff.person_id,
        _PERSON.name.label("person"),
        TaskSignOff.shop_id,
        TaskSignOff.state,
        TaskSignOff.assessor_id,
        _ASSESSOR.name.label("assessor"),
        TaskSignOff.second_id,
        _SECOND.name.label("second"),
        TaskSignOff.done,
        TaskSignOff.notes,
        TaskSignOff.passed,
        TaskSignOff.opened_at,
        TaskSignOff.assessed_at,
        TaskSignOff.confirmed_at,
    )
    .join(SchemeVersion, SchemeVersion.id == TaskSignOff.version_id)
    .join(_PERSON, _PERSON.id == TaskSignOff.person_id)
    .join(_ASSESSOR, _ASSESSOR.id == TaskSignOff.assessor_id)
    .outerjoin(_SECOND, _SECOND.id == TaskSignOff.second_id)
)


def add_sign_off(connection: Connection, **columns: object) -> None:
    connection.execute(insert(TaskSignOff).values(**columns))


def change_sign_off(connection: Connection, sign_off_id: int, **columns: object) -> None:
    connection.execute(update(TaskSignOff).where(TaskSignOff.id == sign_off_id).values(**columns))


def find_sign_off(
    connection: Connection, token: str, *, lock: bool = False
) -> StoredSignOff | None:
    wanted = _ROW.where(TaskSignOff.token == token)
    row = connection.execute(wanted.with_for_update(of=TaskSignOff) if lock else wanted).first()
    return _sign_off(row) if row else None


def sign_offs_of(
    connection: Connection,
    *,
    shop_id: int | None = None,
    person_id: int | None = None,
    scheme_id: int | None = None,
) -> tuple[StoredSignOff, ...]:
    """Return sign-offs, the newest first."""
    wanted = _ROW.order_by(TaskSignOff.id.desc())
    if shop_id is not None:
        wanted = wanted.where(TaskSignOff.shop_id == shop_id)
    if person_id is not None:
        wanted = wanted.where(TaskSignOff.person_id == person_id)
    if scheme_id is not None:
        wanted = wanted.where(SchemeVersion.scheme_id == scheme_id)
    return tuple(_sign_off(row) for row in connection.execute(wanted))


def add_picture(
    connection: Connection, sign_off_id: int, content: bytes, media_type: str, digest: str
) -> None:
    connection.execute(
        insert(SignOffPicture).values(
            sign_off_id=sign_off_id, media_type=media_type, content=content, hash=digest
        )
    )


def pictures_of(connection: Connection, sign_off_id: int) -> tuple[int, ...]:
    return tuple(
        connection.scalars(
            select(SignOffPicture.id)
            .where(SignOffPicture.sign_off_id == sign_off_id)
            .order_by(SignOffPicture.id)
        )
    )


def picture(connection: Connection, sign_off_id: int, picture_id: int) -> tuple[str, bytes] | None:
    row = connection.execute(
        select(SignOffPicture.media_type, SignOffPicture.content).where(
            SignOffPicture.sign_off_id == sign_off_id, SignOffPicture.id == picture_id
        )
    ).first()
    return (row[0], row[1]) if row else None


def _sign_off(row: Any) -> StoredSignOff:
    columns = dict(row._mapping)  # noqa: SLF001 - SQLAlchemy's public name
    columns["state"] = SignOffState(columns["state"])
    return StoredSignOff(**columns)
