"""The bench's motion table as named columns, and what they say at one crank angle.

The page's script looks the same columns up; so the drawing it moves and the drawing of the page
without script stand alike.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType

from quizsvc.sheets.bench_state import (
    KEPT,
    BenchState,
    Setting,
    chain_ahead_pitches,
    chain_at_pitches,
    motion_of,
    pitches_per_turn,
    standing_deg,
    turning_wheels,
)
from quizsvc.sheets.schema import Drive, EngineSheet
from quizsvc.sheets.state import layout_of, slider_of
from quizsvc.timing.cycle import CYCLE_DEG
from quizsvc.timing.motion import Column

TURN = "turn:"  # columns of directions, which wrap at 360°


@dataclass(frozen=True, slots=True)
class ChainPlace:
    """How a chain has moved: with its driver, at rest, or not there at all.

    ``pitches`` are added to the column while it runs; at rest they are all there is.
    """

    runs: bool
    pitches: float
    per_cycle: float
    off: bool = False


@lru_cache(KEPT)
def columns_of(sheet: EngineSheet, setting: Setting) -> Mapping[str, Column]:
    """Return drop and lift in mm, directions in degrees, by name, a row per degree of crank."""
    table = motion_of(sheet, setting)
    found: dict[str, Column] = {f"drop:{c}": column for c, column in table.drop_mm.items()}
    found |= {f"lift:{c}:{valve}": column for (c, valve), column in table.lift_mm.items()}
    found |= {f"{TURN}{key}": column for key, column in table.wheel_deg.items()}
    found |= {
        f"{TURN}crank:{c}": tuple((deg - layout_of(sheet).tdc_deg(c)) % 360
                                  for deg in table.crank_deg)
        for c in layout_of(sheet).cylinders
    }  # fmt: skip
    found |= {f"lean:{c}": _leans(sheet, c, table.crank_deg) for c in layout_of(sheet).cylinders}
    return MappingProxyType(found)


@lru_cache(KEPT)
def advances_of(sheet: EngineSheet, setting: Setting) -> Mapping[str, float]:
    """Return what directions gain per cycle, in [0, 360), for wheels that do not repeat with it.

    A shaft at three quarters of crank speed, say, makes one and a half turns in a cycle.
    """
    still = standing_deg(sheet, setting)
    gained = {
        f"{TURN}{wheel.id}": round(wheel.clockwise_turns * CYCLE_DEG, 9) % 360
        for wheel in turning_wheels(sheet)
        if wheel.shaft not in still
    }
    return MappingProxyType({name: deg for name, deg in gained.items() if deg})


def values_at(sheet: EngineSheet, state: BenchState) -> dict[str, float]:
    """Return every column where the crank was turned to, between two rows in proportion."""
    columns, advances = columns_of(sheet, state.setting), advances_of(sheet, state.setting)
    return {
        name: look_up(
            column,
            state.turned_deg,
            wraps=name.startswith(TURN),
            advance_deg=advances.get(name, 0.0),
        )
        for name, column in columns.items()
    }


def look_up(
    column: Column, turned_deg: float, *, wraps: bool = False, advance_deg: float = 0.0
) -> float:
    """Return a column's value; between rows in proportion, directions (``wraps``) the short way.

    >>> look_up((0.0, 2.0, 4.0), 300.0)
    2.5
    >>> look_up((350.0, 10.0), 180.0, wraps=True)
    360.0
    >>> look_up((0.0, 270.0), 720.0, wraps=True, advance_deg=180.0)
    180.0
    """
    cycle, crank_deg = divmod(turned_deg, CYCLE_DEG)
    place = crank_deg / CYCLE_DEG * len(column)
    row = int(place) % len(column)
    last = row == len(column) - 1
    change = column[0] + advance_deg - column[row] if last else column[row + 1] - column[row]
    if wraps:
        change = (change + 180) % 360 - 180
    return column[row] + change * (place - int(place)) + cycle * advance_deg


def chain_place(sheet: EngineSheet, setting: Setting, drive: Drive) -> ChainPlace:
    """Return how a chain has moved in this setting."""
    per_cycle = 2 * pitches_per_turn(sheet, drive)
    ahead = chain_ahead_pitches(sheet, setting, drive)
    if ahead is None:
        return ChainPlace(runs=False, pitches=0.0, per_cycle=per_cycle, off=True)
    rests = chain_at_pitches(sheet, setting, drive)
    if rests is not None:
        return ChainPlace(runs=False, pitches=rests, per_cycle=per_cycle)
    return ChainPlace(runs=True, pitches=ahead, per_cycle=per_cycle)


def moved_pitches(place: ChainPlace, turned_deg: float) -> float:
    """Return by how many pitches a chain has passed since crank angle 0, whole loops and all."""
    if not place.runs:
        return place.pitches
    return place.pitches + turned_deg / CYCLE_DEG * place.per_cycle


def _leans(sheet: EngineSheet, cylinder: int, crank_deg: Column) -> Column:
    slider, tdc = slider_of(sheet), layout_of(sheet).tdc_deg(cylinder)
    return tuple(slider.rod_lean_deg(deg - tdc) for deg in crank_deg)
