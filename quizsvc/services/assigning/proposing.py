"""Choose questions for an assignment: from a topic, by a blueprint, by what a class gets wrong."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta

from sqlalchemy import Connection

from quizsvc.errors import InputError
from quizsvc.items.choosing import Draw
from quizsvc.items.family import all_families
from quizsvc.items.model import Level
from quizsvc.items.topics import TOPICS, find_topic
from quizsvc.services.assigning.question_pool import (
    Pick,
    Pool,
    can_be_drawn,
    candidates_in,
    picks_from_banks,
)
from quizsvc.services.shelf import Shelf
from quizsvc.store import class_record
from quizsvc.store.class_record import ItemRecord

LOOKED_BACK = timedelta(days=60)
ENOUGH = 3  # answers of a class to an item before its share of wrong ones says anything


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
        by.shuffled(candidates_in(connection, shelf, pool, topic, level, by)),
        key=lambda pick: -weights.get(pick.item_ref, 0.0),
    )
    picked: list[Pick] = []
    asked = set(taken)
    for pick in candidates:
        if len(picked) == count:
            break
        if pick.item_ref not in asked and can_be_drawn(connection, shelf, pick, seed):
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
    if not can_be_drawn(connection, shelf, pick, seed):
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
    for pick in picks_from_banks(connection, pool, topic, None):
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
