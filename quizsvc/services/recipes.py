"""Recipes: the few values from which an item can be drawn again, word for word, years later."""

from __future__ import annotations

import json
from dataclasses import astuple, dataclass
from hashlib import sha256

from sqlalchemy import Connection

from quizsvc.errors import ConflictError
from quizsvc.items.banks.putting import bank_item
from quizsvc.items.family import all_families, draw_item
from quizsvc.items.model import Item, Kind, Level
from quizsvc.rules.reviewing import ItemState
from quizsvc.services.shelf import Shelf
from quizsvc.store import banks
from quizsvc.store.offers import StoredOffer


@dataclass(frozen=True, slots=True)
class Recipe:
    """Family, version, sheet revision and seed; or a stored bank item version and seed."""

    item_ref: str
    item_version: int
    level: Level
    kind: Kind
    seed: int
    sheet_revision_id: int | None = None
    bank_item_version_id: int | None = None

    def columns(self) -> dict[str, object]:
        """Return it as the columns in which every table that holds recipes keeps them."""
        return {
            "item_ref": self.item_ref,
            "item_version": self.item_version,
            "level": self.level.value,
            "kind": self.kind.value,
            "seed": self.seed,
            "sheet_revision_id": self.sheet_revision_id,
            "bank_item_version_id": self.bank_item_version_id,
        }


def recipe_of(offer: StoredOffer) -> Recipe:
    return Recipe(
        offer.item_ref,
        offer.item_version,
        Level(offer.level),
        Kind(offer.kind),
        offer.seed,
        offer.sheet_revision_id,
        offer.bank_item_version_id,
    )


def draw(shelf: Shelf, connection: Connection, recipe: Recipe) -> Item:
    """Draw the item that the recipe stands for.

    Raises:
        ConflictError: the family has been replaced by another version, or taken out.
    """
    if recipe.bank_item_version_id is not None:
        return bank_item(shelf.entry(connection, recipe.bank_item_version_id), recipe.seed)
    family = all_families().get(recipe.item_ref)
    if family is None or family.version != recipe.item_version or recipe.sheet_revision_id is None:
        raise replaced()
    sheet = shelf.sheet(connection, recipe.sheet_revision_id)
    return draw_item(family, sheet, recipe.seed, level=recipe.level, kind=recipe.kind)


def draw_offered(shelf: Shelf, connection: Connection, offer: StoredOffer) -> Item:
    """Draw an offered item again.

    Raises:
        ConflictError: it would no longer be the item that was offered.
    """
    item = draw(shelf, connection, recipe_of(offer))
    if item_hash(item) != offer.item_hash:
        raise replaced()
    return item


def refuse_withdrawn(connection: Connection, offer: StoredOffer) -> None:
    """Refuse an answer to a hand-written item that was withdrawn since it was offered.

    Raises:
        ConflictError: it was; the answer would count against nobody's knowledge.
    """
    version_id = offer.bank_item_version_id
    if version_id is not None and banks.state_of(connection, version_id) is ItemState.WITHDRAWN:
        raise replaced()


def replaced() -> ConflictError:
    return ConflictError(
        "this question has been replaced since it was put to you; nothing was counted.",
        remedy="Take the next one.",
    )


def item_hash(item: Item) -> str:
    """Return a hash of all that a person is asked and marked by."""
    content = [
        item.kind,
        item.prompt,
        astuple(item.key),
        [(option.text, option.value, option.correct) for option in item.options],
        [item.things, item.left, item.right],
        [astuple(place) for place in item.places],
        item.picture,
    ]
    return sha256(json.dumps(content, ensure_ascii=False).encode()).hexdigest()
