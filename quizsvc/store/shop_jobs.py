"""Jobs of a shop with what they ask of people, and who works on which shift."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import Connection, ForeignKey, UniqueConstraint, delete, insert, select, update
from sqlalchemy.orm import Mapped, mapped_column

from quizsvc.store.columns import Base, Body, Key, Name, ShopKey, UtcAt, Word


class ShopJob(Base):
    """A piece of work the shop does; ``needs`` is JSON, as `rules.readiness` writes it."""

    __tablename__ = "shop_job"

    id: Mapped[Key]
    shop_id: Mapped[ShopKey]
    title: Mapped[Name]
    about: Mapped[Body]
    needs: Mapped[Body]
    made_by: Mapped[int | None] = mapped_column(ForeignKey("person.id"))
    made_at: Mapped[UtcAt]
    ended_at: Mapped[UtcAt | None]  # done here no more; shown nowhere

    __table_args__ = (UniqueConstraint("shop_id", "title"),)


class ShiftPlace(Base):
    """The shift somebody works on; who has none has no row."""

    __tablename__ = "shift_place"

    shop_id: Mapped[int] = mapped_column(ForeignKey("shop.id"), primary_key=True)
    person_id: Mapped[int] = mapped_column(ForeignKey("person.id"), primary_key=True)
    shift: Mapped[Word]


@dataclass(frozen=True, slots=True)
class StoredJob:
    id: int
    title: str
    about: str
    needs: str


def jobs_of(connection: Connection, shop_id: int) -> tuple[StoredJob, ...]:
    """Return the jobs done in a shop, by title."""
    rows = connection.execute(
        select(ShopJob.id, ShopJob.title, ShopJob.about, ShopJob.needs)
        .where(ShopJob.shop_id == shop_id, ShopJob.ended_at.is_(None))
        .order_by(ShopJob.title)
    )
    return tuple(StoredJob(*row) for row in rows)


def title_taken(connection: Connection, shop_id: int, title: str, *, by_other_than: int) -> bool:
    found = connection.scalar(
        select(ShopJob.id).where(
            ShopJob.shop_id == shop_id, ShopJob.title == title, ShopJob.id != by_other_than
        )
    )
    return found is not None


def add_job(connection: Connection, **columns: object) -> int:
    row = connection.execute(insert(ShopJob).values(**columns).returning(ShopJob.id))
    return row.scalar_one()


def change_job(connection: Connection, job_id: int, **columns: object) -> None:
    connection.execute(update(ShopJob).where(ShopJob.id == job_id).values(**columns))


def shifts_of(connection: Connection, shop_id: int) -> dict[int, str]:
    """Return the shift of everybody in a shop who has one."""
    rows = connection.execute(
        select(ShiftPlace.person_id, ShiftPlace.shift).where(ShiftPlace.shop_id == shop_id)
    )
    return {row[0]: row[1] for row in rows}


def set_shift(connection: Connection, shop_id: int, person_id: int, shift: str) -> None:
    """Put a person on a shift; an empty name takes them off."""
    connection.execute(
        delete(ShiftPlace).where(ShiftPlace.shop_id == shop_id, ShiftPlace.person_id == person_id)
    )
    if shift:
        connection.execute(
            insert(ShiftPlace).values(shop_id=shop_id, person_id=person_id, shift=shift)
        )
