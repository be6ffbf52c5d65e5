"""Whether a scheme's pool of questions is enough for its forms."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from quizsvc.errors import InputError
from quizsvc.rules.actors import Actor
from quizsvc.rules.permissions import May, require
from quizsvc.scoring.form_assembly import Cell, Form, PoolItem, Targets, missing_from_pool
from quizsvc.services.certifying import schemes as scheme_service
from quizsvc.services.certifying.form_building import build, cells_of
from quizsvc.services.certifying.form_pool import cut_ability, pool_entries
from quizsvc.services.house import House


@dataclass(frozen=True, slots=True)
class CellSupply:
    """A row of the blueprint beside what there is for it."""

    topic: str
    level: str
    wanted: int
    there: int


@dataclass(frozen=True, slots=True)
class Supply:
    """Whether forms can be built, how alike they are, and what is missing."""

    cells: tuple[CellSupply, ...]
    problem: str
    forms: tuple[Form, ...]  # examples
    targets: Targets | None
    ability: float

    @property
    def missing(self) -> tuple[CellSupply, ...]:
        return tuple(cell for cell in self.cells if cell.there < cell.wanted)


def supply(house: House, actor: Actor, version_id: int, *, now: datetime) -> Supply:
    """Try the blueprint against what is approved now: three example forms, or what is missing."""
    require(actor, May.SEE_CERTIFICATION)
    with house.read() as connection:
        held = scheme_service.find(connection, actor, version_id)
        entries = pool_entries(connection, house.shelf, held, now=now)
        pool = tuple(entry.item for entry in entries)
        cells = tuple(_supplied(pool, cell) for cell in cells_of(held.terms))
        ability = cut_ability(held)
        try:
            built = [
                build(connection, house, held, entries, seed=seed, barred=frozenset())
                for seed in (1, 2, 3)
            ]
        except InputError as refused:
            problem = f"{refused.problem} {refused.remedy or ''}".strip()
            return Supply(cells, problem[:1].upper() + problem[1:], (), None, ability)
    return Supply(cells, "", tuple(one.form for one in built), built[0].targets, ability)


def _supplied(pool: tuple[PoolItem, ...], cell: Cell) -> CellSupply:
    short = dict(missing_from_pool(pool, (cell,))).get(cell, 0)
    there = sum((one.topic, one.level) == (cell.topic, cell.level) for one in pool)
    return CellSupply(cell.topic, cell.level, cell.count, cell.count - short if short else there)
