"""Panels of judges who set a cut score, and their estimates."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import CheckConstraint, Connection, ForeignKey, delete, insert, select, update
from sqlalchemy.orm import Mapped, mapped_column

from quizsvc.store.columns import Base, Body, Key, PersonKey, UtcAt
from quizsvc.store.people import Person


class Panel(Base):
    """The judges' reference form: what they estimate, as JSON of recipes with their seeds."""

    __tablename__ = "panel"

    id: Mapped[Key]
    version_id: Mapped[int] = mapped_column(ForeignKey("scheme_version.id"), unique=True)
    questions: Mapped[Body]
    opened_by: Mapped[PersonKey]
    opened_at: Mapped[UtcAt]
    closed_at: Mapped[UtcAt | None]


class PanelJudge(Base):
    __tablename__ = "panel_judge"

    panel_id: Mapped[int] = mapped_column(ForeignKey("panel.id"), primary_key=True)
    person_id: Mapped[int] = mapped_column(ForeignKey("person.id"), primary_key=True)
    finished_at: Mapped[UtcAt | None]


class PanelEstimate(Base):
    """A judge's chance that somebody just good enough answers a question right."""

    __tablename__ = "panel_estimate"

    panel_id: Mapped[int] = mapped_column(ForeignKey("panel.id"), primary_key=True)
    person_id: Mapped[int] = mapped_column(ForeignKey("person.id"), primary_key=True)
    place: Mapped[int] = mapped_column(primary_key=True)
    chance: Mapped[float]

    __table_args__ = (CheckConstraint("chance BETWEEN 0 AND 1", name="chance_from_0_to_1"),)


@dataclass(frozen=True, slots=True)
class StoredPanel:
    id: int
    version_id: int
    questions: str
    opened_by: int
    opened_at: datetime
    closed_at: datetime | None


@dataclass(frozen=True, slots=True)
class Judge:
    person_id: int
    name: str
    finished_at: datetime | None


_PANEL = select(
    Panel.id,
    Panel.version_id,
    Panel.questions,
    Panel.opened_by,
    Panel.opened_at,
    Panel.closed_at,
)


def add_panel(
    connection: Connection,
    version_id: int,
    questions: str,
    judges: frozenset[int],
    *,
    opened_by: int,
    now: datetime,
) -> int:
    row = connection.execute(
        insert(Panel)
        .values(version_id=version_id, questions=questions, opened_by=opened_by, opened_at=now)
        .returning(Panel.id)
    )
    panel_id = row.scalar_one()
    connection.execute(
        insert(PanelJudge),
        [{"panel_id": panel_id, "person_id": person_id} for person_id in sorted(judges)],
    )
    return panel_id


def panel_of(connection: Connection, version_id: int, *, lock: bool = False) -> StoredPanel | None:
    wanted = _PANEL.where(Panel.version_id == version_id)
    row = connection.execute(wanted.with_for_update() if lock else wanted).first()
    return StoredPanel(*row) if row else None


def close_panel(connection: Connection, panel_id: int, *, now: datetime) -> None:
    connection.execute(update(Panel).where(Panel.id == panel_id).values(closed_at=now))


def judges_of(connection: Connection, panel_id: int) -> tuple[Judge, ...]:
    rows = connection.execute(
        select(PanelJudge.person_id, Person.name, PanelJudge.finished_at)
        .join(Person, Person.id == PanelJudge.person_id)
        .where(PanelJudge.panel_id == panel_id)
        .order_by(Person.name, Person.id)
    )
    return tuple(Judge(*row) for row in rows)


def panels_to_judge(connection: Connection, person_id: int) -> tuple[int, ...]:
    """Return the scheme versions whose open panels wait for a person's estimates."""
    rows = connection.scalars(
        select(Panel.version_id)
        .join(PanelJudge, PanelJudge.panel_id == Panel.id)
        .where(
            PanelJudge.person_id == person_id,
            PanelJudge.finished_at.is_(None),
            Panel.closed_at.is_(None),
        )
        .order_by(Panel.id)
    )
    return tuple(rows)


def keep_estimates(
    connection: Connection,
    panel_id: int,
    person_id: int,
    chances: dict[int, float],
    *,
    finished_at: datetime | None,
) -> None:
    """Put these estimates in the place of all a judge gave before."""
    connection.execute(
        delete(PanelEstimate).where(
            PanelEstimate.panel_id == panel_id, PanelEstimate.person_id == person_id
        )
    )
    if chances:
        connection.execute(
            insert(PanelEstimate),
            [
                {"panel_id": panel_id, "person_id": person_id, "place": place, "chance": chance}
                for place, chance in sorted(chances.items())
            ],
        )
    connection.execute(
        update(PanelJudge)
        .where(PanelJudge.panel_id == panel_id, PanelJudge.person_id == person_id)
        .values(finished_at=finished_at)
    )


def estimates_of(connection: Connection, panel_id: int) -> dict[int, dict[int, float]]:
    """Return the estimates by judge and place."""
    rows = connection.execute(
        select(PanelEstimate.person_id, PanelEstimate.place, PanelEstimate.chance).where(
            PanelEstimate.panel_id == panel_id
        )
    )
    found: dict[int, dict[int, float]] = {}
    for person_id, place, chance in rows:
        found.setdefault(person_id, {})[place] = chance
    return found
