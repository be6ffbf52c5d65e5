"""Pictures of banks, and the bytes of those that people sent in, for every process."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import ColumnElement, Connection, ForeignKey, LargeBinary, insert, select, update
from sqlalchemy.orm import Mapped, mapped_column

from quizsvc.store.columns import Base, Body, Hash, Name, UtcAt


class Media(Base):
    """A picture in media/: its file name and the hash of its bytes."""

    __tablename__ = "media"

    file: Mapped[Name] = mapped_column(primary_key=True)
    content_hash: Mapped[Hash]
    width: Mapped[int]
    height: Mapped[int]
    alt: Mapped[Body]
    shop_id: Mapped[int | None] = mapped_column(ForeignKey("shop.id"))
    stored_at: Mapped[UtcAt]


class PictureBytes(Base):
    __tablename__ = "picture_bytes"

    file: Mapped[Name] = mapped_column(ForeignKey("media.file"), primary_key=True)
    content: Mapped[bytes] = mapped_column(LargeBinary)


@dataclass(frozen=True, slots=True)
class PictureRow:
    file: str
    width: int
    height: int
    alt: str
    stored_at: datetime


_FACTS = select(Media.file, Media.width, Media.height, Media.alt, Media.stored_at)


def keep_media(
    connection: Connection,
    *,
    file: str,
    content_hash: str,
    width: int,
    height: int,
    alt: str,
    shop_id: int | None,
    now: datetime,
) -> None:
    """Store a picture's facts, or bring them up to date."""
    facts = {"content_hash": content_hash, "width": width, "height": height, "alt": alt}
    if connection.scalar(select(Media.file).where(Media.file == file)) is None:
        connection.execute(insert(Media).values(file=file, shop_id=shop_id, stored_at=now, **facts))
    else:
        connection.execute(update(Media).where(Media.file == file).values(**facts))


def add_bytes(connection: Connection, file: str, content: bytes) -> None:
    """Store the bytes of a picture unless they are there; a name is made of its content."""
    if connection.scalar(select(PictureBytes.file).where(PictureBytes.file == file)) is None:
        connection.execute(insert(PictureBytes).values(file=file, content=content))


def bytes_of(connection: Connection, file: str) -> bytes | None:
    return connection.scalar(select(PictureBytes.content).where(PictureBytes.file == file))


def find(connection: Connection, file: str, shop_id: int) -> PictureRow | None:
    row = connection.execute(_FACTS.where(Media.file == file, _seen_by(shop_id))).first()
    return PictureRow(*row) if row else None


def pictures_for(connection: Connection, shop_id: int) -> tuple[PictureRow, ...]:
    """Return the shop's pictures and the shared ones, newest first."""
    wanted = _FACTS.where(_seen_by(shop_id)).order_by(Media.stored_at.desc(), Media.file)
    return tuple(PictureRow(*row) for row in connection.execute(wanted).all())


def _seen_by(shop_id: int) -> ColumnElement[bool]:
    return (Media.shop_id == shop_id) | Media.shop_id.is_(None)
