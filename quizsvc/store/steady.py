"""Where steady time stands against the uptime of each machine; one row for each boot."""

from __future__ import annotations

from datetime import datetime, timedelta

from sqlalchemy import Connection, String, delete, insert, select
from sqlalchemy.orm import Mapped, mapped_column

from quizsvc.rules.sitting_clock import SteadyAnchor
from quizsvc.store.columns import Base, UtcAt

_MICROSECOND = timedelta(microseconds=1)


class SteadyTime(Base):
    __tablename__ = "steady_time"

    boot: Mapped[str] = mapped_column(String(64), primary_key=True)
    offset_us: Mapped[int]  # from uptime to time since 1970
    laid_at: Mapped[UtcAt]


def anchor_of(connection: Connection, boot: str) -> SteadyAnchor | None:
    found = connection.scalar(select(SteadyTime.offset_us).where(SteadyTime.boot == boot))
    return None if found is None else SteadyAnchor(boot, found * _MICROSECOND)


def lay_anchor(connection: Connection, anchor: SteadyAnchor, *, now: datetime) -> None:
    connection.execute(delete(SteadyTime).where(SteadyTime.boot == anchor.boot))
    connection.execute(
        insert(SteadyTime).values(
            boot=anchor.boot, offset_us=anchor.offset // _MICROSECOND, laid_at=now
        )
    )
