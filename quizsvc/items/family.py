"""Families: parametric question types, found by id; each lives in its own module."""

from __future__ import annotations

import pkgutil
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib import import_module
from typing import Protocol

from quizsvc.errors import InputError
from quizsvc.items import families
from quizsvc.items.assemble import Question, Redraw, assemble
from quizsvc.items.choosing import Draw
from quizsvc.items.model import Item, Kind, Level
from quizsvc.sheets.drive_words import DriveKind, has_drive
from quizsvc.sheets.schema import EngineSheet

ATTEMPTS = 400  # a family that finds no fair numbers in so many tries does not fit the sheet


class Ask(Protocol):
    """The body of a family: from a sheet and a stream of choices to a question.

    Raises `Redraw` when the numbers drawn make no fair question, and `NotForThisSheet`
    when the sheet has nothing to ask about (no chain, no tensioner).
    """

    def __call__(self, sheet: EngineSheet, draw: Draw, level: Level, kind: Kind, /) -> Question: ...


class NotForThisSheet(InputError):  # noqa: N818 - a statement about a sheet, not a fault
    """The sheet states nothing this family could ask about."""


@dataclass(frozen=True, slots=True)
class Family:
    """A parametric question type and what is guaranteed about it."""

    id: str
    version: int
    topic: str
    title: str
    levels: tuple[Level, ...]
    kinds: tuple[Kind, ...]
    gives: tuple[str, ...]
    asks: str
    key_follows: str  # one sentence: how the key follows from what is given
    misconceptions: tuple[str, ...]
    ask: Ask
    caution: str = ""
    drive: DriveKind | None = None  # asked only of engines that have such a drive


_registered: dict[str, Family] = {}


def family(
    family_id: str,
    *,
    version: int,
    topic: str,
    title: str,
    levels: tuple[Level, ...],
    kinds: tuple[Kind, ...],
    gives: tuple[str, ...],
    asks: str,
    key_follows: str,
    misconceptions: tuple[str, ...],
    caution: str = "",
    drive: DriveKind | None = None,
) -> Callable[[Ask], Ask]:
    """Register the decorated function as the body of a family."""

    def register(ask: Ask) -> Ask:
        if family_id in _registered:
            raise ValueError(f"family {family_id!r} is registered twice")
        _registered[family_id] = Family(
            family_id,
            version,
            topic,
            title,
            levels,
            kinds,
            gives,
            asks,
            key_follows,
            misconceptions,
            ask,
            caution,
            drive,
        )
        return ask

    return register


@cache
def all_families() -> Mapping[str, Family]:
    """Return every family by id, sorted, importing their modules once."""
    for module in pkgutil.iter_modules(families.__path__):
        import_module(f"{families.__name__}.{module.name}")
    return dict(sorted(_registered.items()))


def find_family(family_id: str) -> Family:
    try:
        return all_families()[family_id]
    except KeyError:
        raise InputError(
            "there is no such family.",
            field="family",
            value=family_id,
            remedy="`quizsvc items families` lists them all.",
        ) from None


def draw_item(
    family: Family,
    sheet: EngineSheet,
    seed: int | str,
    *,
    level: Level | None = None,
    kind: Kind | None = None,
) -> Item:
    """Draw the item that this family, sheet revision and seed stand for.

    Asking for a level or kind is part of the recipe: the same seed with another level or kind
    is another item.

    Raises:
        NotForThisSheet: the sheet states nothing this family could ask about.
    """
    _refuse_other_drives(family, sheet)
    for attempt in range(ATTEMPTS):
        draw = Draw(family.id, family.version, sheet.id, sheet.revision, seed, level, kind, attempt)
        use_level = level or draw.choice(family.levels)
        use_kind = kind or draw.choice(family.kinds)
        try:
            question = family.ask(sheet, draw, use_level, use_kind)
            return assemble(family, sheet, question, draw, use_level, use_kind)
        except Redraw:
            continue
    raise NotForThisSheet(
        f"family {family.id} finds no fair numbers on sheet {sheet.id}.",
        field="sheet",
        value=sheet.id,
        remedy="Choose another family or check the sheet.",
    )


def suits_drives(family: Family, sheet: EngineSheet) -> bool:
    """Say whether the engine has the kind of drive that the family asks about."""
    return family.drive is None or has_drive(sheet, family.drive)


def _refuse_other_drives(family: Family, sheet: EngineSheet) -> None:
    """A question about pins and links is not put to an engine that has a belt, nor the reverse."""
    if not suits_drives(family, sheet):
        raise NotForThisSheet(
            f"family {family.id} asks about a {family.drive}, and the engine has none.",
            field="sheet",
            value=sheet.id,
            remedy=f"Choose the sheet of an engine with a {family.drive}.",
        )
