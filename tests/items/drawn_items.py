"""Items that many tests look at: every family on every shipped sheet, a fixed run of seeds."""

from __future__ import annotations

import re
from functools import cache

from quizsvc.items.family import NotForThisSheet, all_families, draw_item
from quizsvc.items.model import Item, Kind, Level
from quizsvc.sheets.loading import shipped_sheets

SEEDS = 120
FAMILY_IDS = tuple(all_families())
CHOOSING = {Kind.ONE_CHOICE, Kind.SEVERAL_CHOICES, Kind.POINT}
_NUMBER = re.compile(r"−?\d+(?:\.\d+)?")


@cache
def items_of(family_id: str, seeds: int = SEEDS) -> tuple[Item, ...]:
    """Draw a family on every shipped sheet that it suits."""
    family = all_families()[family_id]
    found = []
    for sheet in shipped_sheets().values():
        try:
            found += [draw_item(family, sheet, seed) for seed in range(seeds)]
        except NotForThisSheet:
            continue
    return tuple(found)


def items_at(family_id: str, level: Level, seeds: int = 40) -> tuple[Item, ...]:
    family = all_families()[family_id]
    found = []
    for sheet in shipped_sheets().values():
        try:
            found += [draw_item(family, sheet, seed, level=level) for seed in range(seeds)]
        except NotForThisSheet:
            continue
    return tuple(found)


def numbers_in(text: str) -> set[float]:
    """Return every number that stands in a text, true minus signs read as such.

    Firing orders and the like ("1-3-4-2") give each of their numbers.
    """
    return {float(found.replace("−", "-")) for found in _NUMBER.findall(text)}


def of_kind(family_id: str, *kinds: Kind) -> tuple[Item, ...]:
    return tuple(item for item in items_of(family_id) if item.kind in kinds)
