"""Choose what to put to a person next: the topic that helps most, and an item not seen lately."""

from __future__ import annotations

import logging
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection

from quizsvc.errors import InputError
from quizsvc.items.banks.putting import bank_item
from quizsvc.items.choosing import Draw
from quizsvc.items.family import Family, NotForThisSheet, all_families
from quizsvc.items.misconception import all_misconceptions
from quizsvc.items.model import Item, Kind, Level
from quizsvc.items.topics import Topic, find_topic
from quizsvc.rules.actors import Actor
from quizsvc.scoring import worth
from quizsvc.scoring.competence import Belief, ItemParameters
from quizsvc.scoring.marking import ideas_of
from quizsvc.scoring.standing import item_parameters
from quizsvc.scoring.worth import ranked
from quizsvc.services.filter_constants import settings_in
from quizsvc.services.next_topic import Person, most_useful, person_now, practised_topics
from quizsvc.services.recipes import Recipe, draw
from quizsvc.services.replay import GUESSED
from quizsvc.services.shelf import Shelf
from quizsvc.services.standings import belief_now
from quizsvc.store import banks, calibrations, competence, offers, sheets, studies
from quizsvc.store.banks import StoredVersion
from quizsvc.store.held_back import items_held_back
from quizsvc.store.sheets import StoredRevision

REMEMBERED = 60  # of the person's latest offers, so that items are spread
_LEVELS_BY_CHANCE = (
    (0.45, (Level.RECALL, Level.RECALL, Level.APPLY)),
    (0.75, (Level.RECALL, Level.APPLY, Level.APPLY, Level.DIAGNOSE)),
    (1.01, (Level.APPLY, Level.DIAGNOSE, Level.DIAGNOSE)),
)


_log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Chosen:
    """An item to offer, how to draw it again, and why this one."""

    recipe: Recipe
    item: Item
    why: str


@dataclass(frozen=True, slots=True)
class Wish:
    """What the person asked for; None leaves it to us."""

    topic: str | None
    sheet: str | None


@dataclass(frozen=True, slots=True)
class _Candidate:
    item_ref: str
    levels: tuple[Level, ...]
    kinds: tuple[Kind, ...]
    version: int
    sheet_revision_id: int | None = None
    bank_item_version_id: int | None = None


def choose(
    connection: Connection, shelf: Shelf, actor: Actor, wish: Wish, *, seed: int, now: datetime
) -> Chosen:
    """Choose topic, family or bank item, level and kind; all chance comes from ``seed``.

    Raises:
        InputError: the topic or sheet wished for is unknown or has nothing to practise.
    """
    revisions = sheets.latest_published(connection, actor.shop_id)
    topics = practised_topics(connection, actor.shop_id, revisions)
    person = person_now(connection, actor.person_id, topics, now=now)
    put = [ref for ref, _ in offers.latest_put(connection, actor.person_id, count=REMEMBERED)]
    topic, why = _topic(wish, topics, person)
    revisions = _wished(revisions, wish)
    by = Draw("next", seed)
    drawn = list(_drawn_candidates(shelf, topic, revisions))
    held = items_held_back(connection, actor.shop_id, now=now)
    written = [
        one
        for one in map(_from_bank, banks.current_approved(connection, actor.shop_id, topic.id))
        if one.item_ref not in held
    ]
    level = level_now(connection, actor.person_id, topic.id, now=now)
    seen = _Seen(connection, shelf, actor, person, level, put, by)
    for candidate, idea in _in_turn(drawn, written, wish, seen):
        recipe = _recipe(candidate, person.standings[topic.id].chance, by, seed)
        try:
            return Chosen(recipe, draw(shelf, connection, recipe), _with_idea(why, idea))
        except NotForThisSheet:
            if candidate.sheet_revision_id is not None:
                shelf.note_unfit(candidate.item_ref, candidate.sheet_revision_id)
        except InputError as failed:
            # One faulty family must not stop everybody's practice.
            _log.warning("%s drew nothing from seed %s: %s", candidate.item_ref, seed, failed)
    raise InputError(
        f"there is nothing to practise in “{topic.title}” here yet.",
        field="topic",
        value=topic.id,
        remedy="Choose another topic or another engine.",
    )


def _with_idea(why: str, idea: str) -> str:
    known = all_misconceptions().get(idea)
    if known is None:
        return why
    return f"{why.rstrip('.')}; this one would show whether “{known.title}” is cleared."


def level_now(connection: Connection, person_id: int, topic: str, *, now: datetime) -> Belief:
    """Return what is believed today of somebody's level in a topic."""
    general = competence.general_of(connection, person_id)
    row = competence.topic_of(connection, person_id, topic)
    return belief_now(general, row, now=now, settings=settings_in(connection)).total


def _topic(wish: Wish, topics: tuple[Topic, ...], person: Person) -> tuple[Topic, str]:
    if wish.topic is not None:
        wanted = find_topic(wish.topic)
        if wanted not in topics:
            raise InputError(
                "there is nothing to practise in this topic yet.",
                field="topic",
                value=wish.topic,
                remedy="Choose one of those on the page.",
            )
        return wanted, f"You chose “{wanted.title}”."
    useful = most_useful(topics, person)
    if useful is None:
        raise InputError(
            "there is nothing to practise yet.",
            field="topic",
            value=wish.topic,
            remedy="An instructor stores engine sheets and loads banks first.",
        )
    return useful[0], useful[1].why


def _wished(revisions: tuple[StoredRevision, ...], wish: Wish) -> tuple[StoredRevision, ...]:
    if wish.sheet is None:
        return revisions
    found = tuple(one for one in revisions if one.sheet_id == wish.sheet)
    if not found:
        raise InputError(
            "there is no such engine sheet here.",
            field="sheet",
            value=wish.sheet,
            remedy="Choose one of those on the page.",
        )
    return found


def _drawn_candidates(
    shelf: Shelf, topic: Topic, revisions: tuple[StoredRevision, ...]
) -> Iterator[_Candidate]:
    families = [family for family in all_families().values() if family.topic == topic.id]
    for family in families:
        for revision in revisions:
            if shelf.fits(family.id, revision.id):
                yield _from_family(family, revision)


def _from_family(family: Family, revision: StoredRevision) -> _Candidate:
    return _Candidate(
        family.id, family.levels, family.kinds, family.version, sheet_revision_id=revision.id
    )


@dataclass(frozen=True, slots=True)
class _Seen:
    """What the order of candidates depends on, beside the candidates."""

    connection: Connection
    shelf: Shelf
    actor: Actor
    person: Person
    level: Belief
    put: list[str]  # items of the person's latest offers, newest first
    by: Draw


def _in_turn(
    drawn: list[_Candidate], written: list[_Candidate], wish: Wish, seen: _Seen
) -> Iterator[tuple[_Candidate, str]]:
    """Yield candidates in the order to try, with the held idea each would show.

    With a sheet wished for, those on it come first.
    """
    if wish.sheet is None:
        yield from _worthiest_first(drawn + written, seen)
    else:
        yield from _worthiest_first(drawn, seen)
        yield from _worthiest_first(written, seen)


def _from_bank(version: StoredVersion) -> _Candidate:
    return _Candidate(
        f"bank:{version.bank_id}/{version.entry}",
        (Level(version.level),),
        (Kind(version.kind),),
        version.version,
        bank_item_version_id=version.id,
    )


def _worthiest_first(candidates: list[_Candidate], seen: _Seen) -> Iterator[tuple[_Candidate, str]]:
    """Yield one candidate for each item, most worth first; those on other sheets as a reserve."""
    if not candidates:
        return
    one_each = {one.item_ref: one for one in seen.by.shuffled(candidates)}
    order = ranked(
        _as_worth(list(one_each.values()), seen),
        seen.level,
        held=seen.person.held,
        remembered=REMEMBERED,
        chances=[seen.by.integer(0, 9999) / 9999 for _ in one_each],
    )
    yield from ((one_each[found.ref], found.idea) for found in order)
    yield from ((one, "") for one in candidates if one not in one_each.values())


def _as_worth(candidates: list[_Candidate], seen: _Seen) -> list[worth.Candidate]:
    fitted = calibrations.items_fitted(seen.connection)
    answers = studies.answers_by_item(seen.connection, seen.actor.shop_id)
    ago = {ref: place for place, ref in reversed(list(enumerate(seen.put)))}
    return [
        worth.Candidate(
            one.item_ref,
            _assumed(one, fitted),
            _ideas(one, seen) if seen.person.held else frozenset(),
            ago.get(one.item_ref),
            answers.get(one.item_ref, 0),
        )
        for one in candidates
    ]


def _assumed(one: _Candidate, fitted: dict[str, tuple[float, float]]) -> ItemParameters:
    guessing = sum(GUESSED.get(kind, 0.0) for kind in one.kinds) / len(one.kinds)
    return item_parameters(fitted.get(one.item_ref), one.levels[len(one.levels) // 2], guessing)


def _ideas(one: _Candidate, seen: _Seen) -> frozenset[str]:
    """Return the ideas an item would show: a family's are listed, a bank item's stand in it."""
    if one.bank_item_version_id is None:
        return frozenset(all_families()[one.item_ref].misconceptions)
    entry = seen.shelf.entry(seen.connection, one.bank_item_version_id)
    return frozenset(ideas_of(bank_item(entry, 0)))


def _recipe(candidate: _Candidate, chance: float, by: Draw, seed: int) -> Recipe:
    wanted = next(levels for below, levels in _LEVELS_BY_CHANCE if chance < below)
    levels = [level for level in wanted if level in candidate.levels] or candidate.levels
    return Recipe(
        item_ref=candidate.item_ref,
        item_version=candidate.version,
        level=by.choice(levels),
        kind=by.choice(candidate.kinds),
        seed=seed,
        sheet_revision_id=candidate.sheet_revision_id,
        bank_item_version_id=candidate.bank_item_version_id,
    )
