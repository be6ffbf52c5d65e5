"""Choose questions for an assignment: from a topic, by a blueprint, by what a class gets wrong."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import Connection

from quizsvc.errors import InputError
from quizsvc.items.choosing import Draw
from quizsvc.items.family import all_families
from quizsvc.items.model import Kind, Level
from quizsvc.items.topics import TOPICS, find_topic
from quizsvc.services.recipes import Recipe, draw
from quizsvc.services.shelf import Shelf
from quizsvc.store import banks, class_record, sheets
from quizsvc.store.class_record import ItemRecord
from quizsvc.store.sheets import StoredRevision

LOOKED_BACK = timedelta(days=60)
ENOUGH = 3  # answers of a class to an item before its share of wrong ones says anything


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


def from_topic(
    connection: Connection,
    shelf: Shelf,
    pool: Pool,
    topic: str,
    count: int,
    *,
    level: Level | None = None,
    taken: Iterable[str] = (),
    first: Mapping[str, float] | None = None,
    seed: int,
) -> tuple[Pick, ...]:
    """Return ``count`` questions of a topic, none asked already, each of another item if it can be.

    ``first`` gives weights by item: the heaviest are chosen before all others.

    Raises:
        InputError: the topic is unknown or holds too little; says how much there is.
    """
    title = find_topic(topic).title
    by = Draw("questions", topic, seed)
    weights = first or {}
    candidates = sorted(
        by.shuffled(_candidates(connection, shelf, pool, topic, level, by)),
        key=lambda pick: -weights.get(pick.item_ref, 0.0),
    )
    picked: list[Pick] = []
    asked = set(taken)
    for pick in candidates:
        if len(picked) == count:
            break
        if pick.item_ref not in asked and _can_be_drawn(connection, shelf, pick, seed):
            picked.append(pick)
            asked.add(pick.item_ref)
    if len(picked) < count:
        raise InputError(
            f"“{title}” has only {len(picked)} more questions to choose from here.",
            field="questions",
            value=count,
            remedy="Ask for fewer, or choose another topic, level or engine.",
        )
    return tuple(picked)


def one_family(
    connection: Connection,
    shelf: Shelf,
    pool: Pool,
    family_id: str,
    *,
    level: Level | None = None,
    seed: int,
) -> Pick:
    """Return a question of one family on the pool's sheet.

    Raises:
        InputError: no such family, level or sheet, or the sheet has nothing for it.
    """
    family = all_families().get(family_id)
    if family is None or not pool.revisions:
        raise InputError(
            "there is no such kind of question here.",
            field="question",
            value=family_id,
            remedy="Choose one of those on the page.",
        )
    by = Draw("family", family_id, seed)
    levels = [one for one in family.levels if level in (None, one)]
    if not levels:
        raise InputError(
            f"“{family.title}” is not asked at that level.",
            field="level",
            value=level,
            remedy=f"Choose {' or '.join(family.levels)}.",
        )
    pick = Pick(
        family.topic,
        family.id,
        family.version,
        by.choice(levels),
        by.choice(family.kinds),
        sheet_revision_id=pool.revisions[0].id,
    )
    if not _can_be_drawn(connection, shelf, pick, seed):
        raise InputError(
            f"this engine sheet has nothing for “{family.title}”.",
            field="engine",
            value=pool.revisions[0].title,
            remedy="Choose another engine or another question.",
        )
    return pick


def one_bank_item(connection: Connection, pool: Pool, item_ref: str, topic: str) -> Pick:
    """Return a question from a bank: its approved version of now.

    Raises:
        InputError: there is no such item in the topic.
    """
    for pick in _from_banks(connection, pool, topic, None):
        if pick.item_ref == item_ref:
            return pick
    raise InputError(
        "there is no such bank item here.",
        field="question",
        value=item_ref,
        remedy="Choose one of those on the page.",
    )


def by_blueprint(
    connection: Connection,
    shelf: Shelf,
    pool: Pool,
    counts: Mapping[str, int],
    *,
    taken: Iterable[str] = (),
    seed: int,
) -> tuple[Pick, ...]:
    """Return as many questions of each topic as the blueprint says."""
    picked: list[Pick] = []
    for topic, count in counts.items():
        asked = {*taken, *(pick.item_ref for pick in picked)}
        picked += from_topic(connection, shelf, pool, topic, count, taken=asked, seed=seed)
    return tuple(picked)


def by_mistakes(
    connection: Connection,
    shelf: Shelf,
    pool: Pool,
    class_id: int,
    count: int,
    *,
    taken: Iterable[str] = (),
    seed: int,
    now: datetime,
) -> tuple[Pick, ...]:
    """Return questions by what a class gets wrong: weak topics, and there the items failed most.

    Raises:
        InputError: the class has answered nothing yet, or there is too little to choose from.
    """
    records = class_record.items_of_class(connection, class_id, since=now - LOOKED_BACK)
    if not records:
        raise InputError(
            "this class has answered nothing in the last 60 days.",
            field="class",
            value=class_id,
            remedy="Propose by topics instead.",
        )
    shares = shared_out(_wrong_by_topic(records), count)
    weights = {one.item_ref: one.wrong / one.answers for one in records if one.answers >= ENOUGH}
    picked: list[Pick] = []
    for topic, wanted in shares.items():
        asked = {*taken, *(pick.item_ref for pick in picked)}
        picked += from_topic(
            connection, shelf, pool, topic, wanted, taken=asked, first=weights, seed=seed
        )
    return tuple(picked)


def shared_out(weights: Mapping[str, float], count: int) -> dict[str, int]:
    """Share a number of questions out by weight, largest remainder first; none gets less than 0.

    >>> shared_out({"cycle": 3.0, "marks": 1.0}, 4)
    {'cycle': 3, 'marks': 1}
    """
    total = sum(weights.values())
    if total <= 0 or count <= 0:
        return {}
    exact = {topic: count * weight / total for topic, weight in weights.items()}
    whole = {topic: int(share) for topic, share in exact.items()}
    by_remainder = sorted(exact, key=lambda topic: whole[topic] - exact[topic])
    for topic in by_remainder[: count - sum(whole.values())]:
        whole[topic] += 1
    return {topic: share for topic, share in whole.items() if share}


def _wrong_by_topic(records: Iterable[ItemRecord]) -> dict[str, float]:
    """Return the share of wrong answers by topic, few answers drawn towards one in two."""
    answers = {topic.id: 0 for topic in TOPICS}
    wrong = dict.fromkeys(answers, 0)
    for one in records:
        answers[one.topic] += one.answers
        wrong[one.topic] += one.wrong
    return {
        topic: ((wrong[topic] + 1) / (answers[topic] + 2)) ** 2
        for topic in answers
        if answers[topic]
    }


def _candidates(
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
    return drawn + _from_banks(connection, pool, topic, level)


def _from_banks(connection: Connection, pool: Pool, topic: str, level: Level | None) -> list[Pick]:
    if not pool.with_banks:
        return []
    return [
        Pick(
            topic,
            f"bank:{one.bank_id}/{one.entry}",
            one.version,
            Level(one.level),
            Kind(one.kind),
            bank_item_version_id=one.id,
        )
        for one in banks.current_approved(connection, pool.shop_id, topic)
        if level in (None, one.level)
    ]


def _can_be_drawn(connection: Connection, shelf: Shelf, pick: Pick, seed: int) -> bool:
    try:
        draw(shelf, connection, pick.recipe(seed))
    except InputError:
        return False
    return True
