"""What a scheme's forms are built from: families on the scheme's sheets, and approved questions."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection

from quizsvc.items.banks.schema import AnyItem
from quizsvc.items.choosing import Draw
from quizsvc.items.cross_answers import cross_answers
from quizsvc.items.family import all_families, suits_drives
from quizsvc.items.model import Kind
from quizsvc.rules.schemes import SchemeTerms
from quizsvc.scoring.competence import ItemParameters
from quizsvc.scoring.form_assembly import PoolItem
from quizsvc.scoring.form_difficulty import chance_right, information
from quizsvc.scoring.standing import item_parameters
from quizsvc.services.assigning.question_pool import Pick, bank_picks
from quizsvc.services.certifying.schemes import Held
from quizsvc.services.shelf import Shelf
from quizsvc.store import candidate_forms, competence, sheets

GUESSED = {Kind.ONE_CHOICE: 0.25, Kind.SEVERAL_CHOICES: 0.07, Kind.POINT: 0.25}


@dataclass(frozen=True, slots=True)
class Entry:
    """Something that can be asked, and what the assembly knows of it."""

    pick: Pick
    item: PoolItem

    @property
    def is_written(self) -> bool:
        return self.pick.bank_item_version_id is not None


def pool_entries(
    connection: Connection, shelf: Shelf, held: Held, *, now: datetime
) -> tuple[Entry, ...]:
    """Return all a form of the scheme may hold, in a fixed order; trial questions left out."""
    cells = {(row.topic, row.level) for row in held.terms.blueprint}
    picks = [
        pick
        for pick in (
            *_from_families(connection, shelf, held),
            *_from_banks(connection, held),
        )
        if (pick.topic, pick.level.value) in cells and pick.item_ref not in held.terms.pilot_items
    ]
    since = now - candidate_forms.RECENT
    used = candidate_forms.exposure(connection, held.stored.scheme_id, since=since)
    ability = cut_ability(held)
    apart = _apart(connection, shelf, picks)
    return tuple(Entry(pick, _pool_item(connection, pick, ability, used, apart)) for pick in picks)


def cut_ability(held: Held) -> float:
    """Return the ability at the cut; 0 logits until a panel has set one."""
    record = json.loads(held.stored.cut_record) if held.stored.cut_record else {}
    return float(record.get("ability", 0.0))


def parameters_of(connection: Connection, pick: Pick) -> ItemParameters:
    """Return how hard an item is: as calibrated, or as its level lets expect."""
    guessing = GUESSED.get(pick.kind, 0.0)
    fitted = competence.calibration_of(connection, pick.item_ref)
    return item_parameters(fitted, pick.level, guessing)


def trial_picks(
    connection: Connection, shop_id: int, terms: SchemeTerms, *, seed: int, seen: frozenset[str]
) -> tuple[Pick, ...]:
    """Return the questions a form tries out: as many as the scheme says, none seen before."""
    topics = sorted({row.topic for row in terms.blueprint})
    there = [
        pick
        for topic in topics
        for pick in bank_picks(connection, shop_id, topic)
        if pick.item_ref in terms.pilot_items and pick.item_ref not in seen
    ]
    return tuple(Draw("tried out", seed).shuffled(there)[: terms.pilots])


def _from_families(connection: Connection, shelf: Shelf, held: Held) -> list[Pick]:
    chosen = held.terms.sheets
    revisions = [
        one
        for one in sheets.latest_published(connection, held.stored.shop_id)
        if not chosen or one.sheet_id in chosen
    ]
    by = Draw("kinds of a pool", held.stored.scheme_id)
    return [
        Pick(
            family.topic,
            family.id,
            family.version,
            level,
            by.choice(family.kinds),
            sheet_revision_id=revision.id,
        )
        for family in sorted(all_families().values(), key=lambda one: one.id)
        for level in family.levels
        for revision in revisions
        if suits_drives(family, shelf.sheet(connection, revision.id))
        if shelf.fits(family.id, revision.id)
    ]


def _from_banks(connection: Connection, held: Held) -> list[Pick]:
    topics = sorted({row.topic for row in held.terms.blueprint})
    return [pick for topic in topics for pick in bank_picks(connection, held.stored.shop_id, topic)]


def _apart(connection: Connection, shelf: Shelf, picks: list[Pick]) -> dict[str, frozenset[str]]:
    """Return by id what must not stand beside it: another of its family, or one that tells it."""
    written: dict[str, AnyItem] = {
        _id(pick): shelf.entry(connection, pick.bank_item_version_id).written
        for pick in picks
        if pick.bank_item_version_id is not None
    }
    families: dict[str, set[str]] = {}
    for pick in picks:
        if pick.sheet_revision_id is not None:
            families.setdefault(pick.item_ref, set()).add(_id(pick))
    same = {one: frozenset(members - {one}) for members in families.values() for one in members}
    return same | cross_answers(written)


def _pool_item(
    connection: Connection,
    pick: Pick,
    ability: float,
    used: dict[str, int],
    apart: dict[str, frozenset[str]],
) -> PoolItem:
    parameters = parameters_of(connection, pick)
    return PoolItem(
        _id(pick),
        pick.topic,
        pick.level.value,
        chance_right(parameters, ability),
        information(parameters, ability),
        used.get(pick.item_ref, 0) if pick.bank_item_version_id is not None else 0,
        apart.get(_id(pick), frozenset()),
    )


def _id(pick: Pick) -> str:
    source = pick.sheet_revision_id or pick.bank_item_version_id
    return f"{pick.item_ref}@{pick.level.value}@{source}"
