"""Choose what to put to a person next: the topic that helps most, and an item not seen lately."""

from __future__ import annotations

import logging
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection

from quizsvc.errors import InputError
from quizsvc.items.choosing import Draw
from quizsvc.items.family import Family, NotForThisSheet, all_families
from quizsvc.items.model import Item, Kind, Level
from quizsvc.items.topics import TOPICS, Topic, find_topic
from quizsvc.rules.actors import Actor
from quizsvc.scoring.standing import Need, Standing, need
from quizsvc.services.recipes import Recipe, draw
from quizsvc.services.shelf import Shelf
from quizsvc.services.standings import standing_now
from quizsvc.store import banks, competence, offers, sheets
from quizsvc.store.banks import StoredVersion
from quizsvc.store.sheets import StoredRevision
from quizsvc.store.sittings import items_held_back

REMEMBERED = 60  # of the person's latest offers, so that items are spread
LATELY = 12  # of these, so that topics are spread
FRESHEST = 3  # choose among so many that were seen longest ago
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


def practised_topics(
    connection: Connection, shop_id: int, revisions: tuple[StoredRevision, ...]
) -> tuple[Topic, ...]:
    """Return the topics that have a family (if there are sheets) or a bank item to offer."""
    offered = {family.topic for family in all_families().values()} if revisions else set()
    offered |= banks.topics_with_items(connection, shop_id).keys()
    return tuple(topic for topic in TOPICS if topic.id in offered)


def most_useful(
    topics: tuple[Topic, ...], standings: dict[str, Standing], lately: list[str]
) -> tuple[Topic, Need] | None:
    """Return the topic in which practice helps most now, and why; the first of equals.

    ``lately`` are the topics of the latest offers, newest first: what fills them rests a while.
    """
    needs = [
        (topic, need(standings[topic.id], topic.title, lately=_share(topic.id, lately)))
        for topic in topics
    ]
    return max(needs, key=lambda pair: pair[1].size, default=None)


def topics_lately(connection: Connection, person_id: int) -> list[str]:
    return [topic for _, topic in offers.latest_put(connection, person_id, count=LATELY)]


def _share(topic_id: str, lately: list[str]) -> float:
    return lately[:LATELY].count(topic_id) / LATELY


def standings_of(
    connection: Connection, person_id: int, topics: tuple[Topic, ...], *, now: datetime
) -> dict[str, Standing]:
    general = competence.general_of(connection, person_id)
    rows = competence.topics_of(connection, person_id)
    return {topic.id: standing_now(general, rows.get(topic.id), now=now) for topic in topics}


def choose(
    connection: Connection, shelf: Shelf, actor: Actor, wish: Wish, *, seed: int, now: datetime
) -> Chosen:
    """Choose topic, family or bank item, level and kind; all chance comes from ``seed``.

    Raises:
        InputError: the topic or sheet wished for is unknown or has nothing to practise.
    """
    revisions = sheets.latest_published(connection, actor.shop_id)
    topics = practised_topics(connection, actor.shop_id, revisions)
    standings = standings_of(connection, actor.person_id, topics, now=now)
    put = offers.latest_put(connection, actor.person_id, count=REMEMBERED)
    topic, why = _topic(wish, topics, standings, [one for _, one in put])
    revisions = _wished(revisions, wish)
    by = Draw("next", seed)
    drawn = list(_drawn_candidates(shelf, topic, revisions))
    held = items_held_back(connection, actor.shop_id, now=now)
    written = [
        one
        for one in map(_from_bank, banks.current_approved(connection, actor.shop_id, topic.id))
        if one.item_ref not in held
    ]
    for candidate in _in_turn(drawn, written, wish, [ref for ref, _ in put], by):
        recipe = _recipe(candidate, standings[topic.id].chance, by, seed)
        try:
            return Chosen(recipe, draw(shelf, connection, recipe), why)
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


def _topic(
    wish: Wish, topics: tuple[Topic, ...], standings: dict[str, Standing], lately: list[str]
) -> tuple[Topic, str]:
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
    useful = most_useful(topics, standings, lately)
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


def _in_turn(
    drawn: list[_Candidate], written: list[_Candidate], wish: Wish, seen: list[str], by: Draw
) -> Iterator[_Candidate]:
    """Yield candidates in the order to try; with a sheet wished for, those on it first."""
    if wish.sheet is None:
        yield from _freshest_first(drawn + written, seen, by)
    else:
        yield from _freshest_first(drawn, seen, by)
        yield from _freshest_first(written, seen, by)


def _from_bank(version: StoredVersion) -> _Candidate:
    return _Candidate(
        f"bank:{version.bank_id}/{version.entry}",
        (Level(version.level),),
        (Kind(version.kind),),
        version.version,
        bank_item_version_id=version.id,
    )


def _freshest_first(
    candidates: list[_Candidate], seen: list[str], by: Draw
) -> Iterator[_Candidate]:
    """Yield what was not put to the person lately first, the first few in mixed order.

    One candidate for each item, whatever the number of sheets; the others follow as a reserve.
    """
    when = {ref: -place for place, ref in reversed(list(enumerate(seen)))}
    one_each = {one.item_ref: one for one in by.shuffled(candidates)}
    order = sorted(one_each.values(), key=lambda one: when.get(one.item_ref, -len(seen) - 1))
    yield from by.shuffled(order[:FRESHEST])
    yield from order[FRESHEST:]
    yield from (one for one in candidates if one not in one_each.values())


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
