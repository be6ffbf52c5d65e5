"""Pictures that people sent in, re-encoded: their bytes, so that every process has them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import ColumnElement, Connection, ForeignKey, LargeBinary, insert, select
from sqlalchemy.orm import Mapped, mapped_column

from quizsvc.store.banks import Media
from quizsvc.store.columns import Base, Name


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
