"""Questions there are to choose from, and the choice of one."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import Connection

from quizsvc.errors import InputError
from quizsvc.items.choosing import Draw
from quizsvc.items.family import all_families
from quizsvc.items.model import Kind, Level
from quizsvc.services.recipes import Recipe, draw
from quizsvc.services.shelf import Shelf
from quizsvc.store import banks, sheets
from quizsvc.store.sheets import StoredRevision


@dataclass(frozen=True, slots=True)
class Pick:
    """A question chosen: which item, of what level and kind, from what."""

    topic: str
    item_ref: str
    item_version: int
    level: Level
    kind: Kind
    sheet_revision_id: int | None = None
    bank_item_version_id: int | None = None

    def columns(self, place: int) -> dict[str, object]:
        return {
            "place": place,
            "topic": self.topic,
            "item_ref": self.item_ref,
            "item_version": self.item_version,
            "level": self.level.value,
            "kind": self.kind.value,
            "sheet_revision_id": self.sheet_revision_id,
            "bank_item_version_id": self.bank_item_version_id,
        }

    def recipe(self, seed: int) -> Recipe:
        return Recipe(
            self.item_ref,
            self.item_version,
            self.level,
            self.kind,
            seed,
            self.sheet_revision_id,
            self.bank_item_version_id,
        )


@dataclass(frozen=True, slots=True)
class Pool:
    """What may be chosen from: the shop's sheets (or one of them), and its banks."""

    shop_id: int
    revisions: tuple[StoredRevision, ...]
    with_banks: bool = True


def pool_of(connection: Connection, shop_id: int, sheet: str | None) -> Pool:
    """Return the pool of a shop; with a sheet only families on that sheet.

    Raises:
        InputError: there is no such sheet.
    """
    revisions = sheets.latest_published(connection, shop_id)
    if sheet is None:
        return Pool(shop_id, revisions)
    found = tuple(one for one in revisions if one.sheet_id == sheet)
    if not found:
        raise InputError(
            "there is no such engine sheet here.",
            field="engine",
            value=sheet,
            remedy="Choose one of those on the page.",
        )
    return Pool(shop_id, found, with_banks=False)


def candidates_in(
    connection: Connection,
    shelf: Shelf,
    pool: Pool,
    topic: str,
    level: Level | None,
    by: Draw,
) -> list[Pick]:
    drawn = [
        Pick(
            topic,
            family.id,
            family.version,
            by.choice([one for one in family.levels if level in (None, one)]),
            by.choice(family.kinds),
            sheet_revision_id=revision.id,
        )
        for family in all_families().values()
        if family.topic == topic and (level is None or level in family.levels)
        for revision in pool.revisions
        if shelf.fits(family.id, revision.id)
    ]
    return drawn + picks_from_banks(connection, pool, topic, level)


def picks_from_banks(
    connection: Connection, pool: Pool, topic: str, level: Level | None
) -> list[Pick]:
    if not pool.with_banks:
        return []
    found = bank_picks(connection, pool.shop_id, topic)
    return [pick for pick in found if level in (None, pick.level)]


def bank_picks(connection: Connection, shop_id: int, topic: str) -> list[Pick]:
    """Return the hand-written questions of a topic that are approved now."""
    return [
        Pick(
            topic,
            f"bank:{one.bank_id}/{one.entry}",
            one.version,
            Level(one.level),
            Kind(one.kind),
            bank_item_version_id=one.id,
        )
        for one in banks.current_approved(connection, shop_id, topic)
    ]


def can_be_drawn(connection: Connection, shelf: Shelf, pick: Pick, seed: int) -> bool:
    """Return whether the numbers of a seed make a fair question of it."""
    try:
        draw(shelf, connection, pick.recipe(seed))
    except InputError:
        return False
    return True
