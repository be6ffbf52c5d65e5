"""The families as instructors see them: what each asks and how, and live samples on a sheet.

Samples show key and misconceptions, so these pages are never for learners.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from sqlalchemy import Connection

from quizsvc.errors import InputError
from quizsvc.figures.scene import Scene
from quizsvc.items.family import (
    Family,
    all_families,
    draw_item,
    find_family,
    suits_drives,
)
from quizsvc.items.misconception import Misconception, find_misconception
from quizsvc.items.model import Item, Kind, Level
from quizsvc.items.topics import TOPICS, Topic, find_topic
from quizsvc.rules.actors import Actor
from quizsvc.rules.permissions import May, require
from quizsvc.scoring.marking import right_words
from quizsvc.services.family_checks import Check, checks_of
from quizsvc.services.house import House
from quizsvc.services.shown import SheetChoice
from quizsvc.sheets.schema import EngineSheet
from quizsvc.store import sheets
from quizsvc.store.sheets import StoredRevision

SAMPLES = 3  # on a page
LAST_SEED = 1_000_000


@dataclass(frozen=True, slots=True)
class TopicFamilies:
    topic: Topic
    families: tuple[Family, ...]


@dataclass(frozen=True, slots=True)
class Wrong:
    """A wrong answer that is foreseen, and the idea that leads to it."""

    text: str
    idea: str
    rationale: str


@dataclass(frozen=True, slots=True)
class Sample:
    """An item as its author's colleagues see it: with key, wrong answers and figures."""

    seed: int
    item: Item
    right: str
    wrongs: tuple[Wrong, ...]
    figure: Scene | None
    solution: Scene | None


@dataclass(frozen=True, slots=True)
class Dealt:
    """What is asked of a family's page: on which sheet, from which seed, and of what sort."""

    sheet_id: str = ""  # empty: the first in the list whose drives the family asks about
    first_seed: int = 1
    level: Level | None = None
    kind: Kind | None = None


@dataclass(frozen=True, slots=True)
class FamilyPage:
    family: Family
    topic: Topic
    misconceptions: tuple[Misconception, ...]
    sheets: tuple[SheetChoice, ...]
    sheet: SheetChoice | None
    dealt: Dealt
    samples: tuple[Sample, ...]
    next_seed: int
    unfit: str  # why the sheet gives no such question, or empty
    checks: tuple[Check, ...]


def families_by_topic(
    house: House,  # noqa: ARG001 - every service takes the house first
    actor: Actor,
    *,
    words: str = "",
) -> tuple[TopicFamilies, ...]:
    """Return the families whose words hold all of the words given, under their topics."""
    require(actor, May.WRITE_ITEMS)
    wanted = words.casefold().split()
    found = [one for one in all_families().values() if _says(one, wanted)]
    by_topic = (
        TopicFamilies(topic, tuple(one for one in found if one.topic == topic.id))
        for topic in TOPICS
    )
    return tuple(part for part in by_topic if part.families)


def family_page(house: House, actor: Actor, family_id: str, dealt: Dealt) -> FamilyPage:
    """Draw samples of a family on the newest published revision of a sheet.

    Raises:
        InputError: no such family, sheet, or seed.
    """
    require(actor, May.WRITE_ITEMS)
    family = find_family(family_id)
    _check(family, dealt)
    with house.read() as connection:
        rows = sheets.latest_published(connection, actor.shop_id)
        row = _row(house, connection, family, rows, dealt.sheet_id)
        if row is None and dealt.sheet_id:
            raise InputError(
                "there is no such engine sheet for you.",
                field="sheet",
                value=dealt.sheet_id[:60],
                remedy="Choose one from the list.",
            )
        sheet = house.shelf.sheet(connection, row.id) if row else None
    samples, unfit = _drawn(family, sheet, dealt)
    return FamilyPage(
        family=family,
        topic=find_topic(family.topic),
        misconceptions=tuple(find_misconception(name) for name in family.misconceptions),
        sheets=tuple(SheetChoice(r.sheet_id, r.title, r.revision) for r in rows),
        sheet=SheetChoice(row.sheet_id, row.title, row.revision) if row else None,
        dealt=dealt,
        samples=samples,
        next_seed=dealt.first_seed + SAMPLES,
        unfit=unfit,
        checks=checks_of(family, sheet) if sheet and samples else (),
    )


def _row(
    house: House,
    connection: Connection,
    family: Family,
    rows: tuple[StoredRevision, ...],
    sheet_id: str,
) -> StoredRevision | None:
    """Return the sheet named, or the first that the family can be asked of."""
    if sheet_id:
        return next((row for row in rows if row.sheet_id == sheet_id), None)
    suited = (r for r in rows if suits_drives(family, house.shelf.sheet(connection, r.id)))
    return next(suited, rows[0] if rows else None)


def _says(family: Family, wanted: list[str]) -> bool:
    ideas = [find_misconception(name) for name in family.misconceptions]
    said = " ".join(
        [family.id, family.title, family.asks, family.key_follows, *family.gives, *family.levels]
        + [*family.kinds, find_topic(family.topic).title]
        + [f"{idea.title} {idea.thinks}" for idea in ideas]
    ).casefold()
    return all(word in said for word in wanted)


def _check(family: Family, dealt: Dealt) -> None:
    if not 0 <= dealt.first_seed <= LAST_SEED:
        raise InputError(
            "there is no such sample.",
            field="from",
            value=dealt.first_seed,
            remedy=f"Give a whole number from 0 to {LAST_SEED}.",
        )
    for field, value, known in (
        ("level", dealt.level, family.levels),
        ("kind", dealt.kind, family.kinds),
    ):
        if value is not None and value not in known:
            raise InputError(
                f"this family has no such {field}.",
                field=field,
                value=value.value,
                remedy=f"Choose one of: {', '.join(known)}.",
            )


def _drawn(
    family: Family, sheet: EngineSheet | None, dealt: Dealt
) -> tuple[tuple[Sample, ...], str]:
    if sheet is None:
        return (), ""
    try:
        return tuple(_samples(family, sheet, dealt)), ""
    except InputError as refusal:
        said = f"{refusal.problem} {refusal.remedy or ''}".strip()
        return (), said[:1].upper() + said[1:]


def _samples(family: Family, sheet: EngineSheet, dealt: Dealt) -> Iterator[Sample]:
    for seed in range(dealt.first_seed, dealt.first_seed + SAMPLES):
        item = draw_item(family, sheet, seed, level=dealt.level, kind=dealt.kind)
        wrongs = tuple(
            Wrong(option.text, _idea(option.misconception), option.rationale)
            for option in item.options
            if not option.correct
        )
        figure = item.figure() if item.figure else None
        solution = item.solution_figure() if item.solution_figure else None
        yield Sample(seed, item, right_words(item), wrongs, figure, solution)


def _idea(misconception_id: str) -> str:
    return find_misconception(misconception_id).title if misconception_id else ""
