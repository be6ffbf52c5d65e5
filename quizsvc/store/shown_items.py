"""Items whole as they were shown, with figures and photographs, stored once."""

from __future__ import annotations

from sqlalchemy import Connection, ForeignKey, LargeBinary, select
from sqlalchemy.orm import Mapped, mapped_column

from quizsvc.store.columns import Base, Body, Hash, Word


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
