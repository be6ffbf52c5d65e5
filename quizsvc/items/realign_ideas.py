"""Chain loops on a crank sprocket, for questions on when marked links come back."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from quizsvc.items.choosing import Draw
from quizsvc.items.model import Level
from quizsvc.sheets.schema import EngineSheet
from quizsvc.sheets.state import crank_of, wheel_of


@dataclass(frozen=True, slots=True)
class Loop:
    """Links of a chain and teeth of the crank sprocket it runs on."""

    links: int
    teeth: int

    @property
    def pitches(self) -> int:
        """Pitches that pass until link and tooth meet again."""
        return math.lcm(self.links, self.teeth)


@lru_cache(128)
def loops_of(sheet: EngineSheet) -> tuple[Loop, ...]:
    """Return the sheet's chains that run on a crank sprocket."""
    crank = crank_of(sheet).id
    found = []
    for drive in sheet.drives:
        driver = wheel_of(drive, drive.driver)
        if driver.shaft == crank and driver.teeth and drive.kind == "chain":
            found.append(Loop(drive.pins, driver.teeth))
    return tuple(found)


def a_loop(sheet: EngineSheet, draw: Draw, level: Level) -> Loop:
    """Choose the sheet's own chain, or another of an even number of links."""
    own = loops_of(sheet)
    if level is Level.RECALL and own:
        return draw.choice(own)
    teeth = draw.integer(15, 24)
    # Long enough for sprockets of n and 2n teeth to stand clear of each other.
    return Loop(2 * draw.integer(2 * teeth, 3 * teeth), teeth)


def whole_or_none(value: float) -> float | None:
    return value if value == int(value) else None
