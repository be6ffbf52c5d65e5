"""What to teach again: for a class and a period, the ideas held, the topics, the items."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import Connection

from quizsvc.errors import InputError, NotFoundError
from quizsvc.items.family import all_families
from quizsvc.items.misconception import Misconception, all_misconceptions
from quizsvc.items.topics import TOPICS, Topic, find_topic
from quizsvc.rules.actors import Actor, Role
from quizsvc.rules.classes import may_see_class
from quizsvc.rules.permissions import May, require
from quizsvc.scoring.item_flags import Flag
from quizsvc.scoring.standing import CUT
from quizsvc.scoring.together import GroupStanding, group_standing
from quizsvc.services.filter_constants import settings_in
from quizsvc.services.house import House
from quizsvc.services.item_titles import item_title
from quizsvc.services.shown import TopicStanding
from quizsvc.services.standings import standing_now
from quizsvc.store import class_levels, classes, held_ideas, studies
from quizsvc.store.classes import StoredClass
from quizsvc.store.held_ideas import CLEARED_AFTER, Holder, IdeaCount
from quizsvc.store.studies import StudyRow

PERIODS = (7, 30, 90, 365)  # days to choose from
USUAL_PERIOD = 30
MOST_IDEAS, MOST_ITEMS = 40, 8
DEFINITION = (
    "Somebody holds an idea from the answer that shows it until "
    f"{'two' if CLEARED_AFTER == 2 else CLEARED_AFTER} answers in a row are right "
    "where the idea would have led them astray."
)


@dataclass(frozen=True, slots=True)
class ClassChoice:
    id: int
    name: str
    learners: int


@dataclass(frozen=True, slots=True)
class IdeaHeld:
    """A wrong idea, who holds it now, and how many have got over it in the period."""

    idea: Misconception
    topic_title: str
    holders: tuple[Holder, ...]
    cleared: int
    share: float  # of the learners of the class
    has_lesson: bool


@dataclass(frozen=True, slots=True)
class ClassTopic:
    """A topic of the class: the picture of its mean, and words."""

    topic: Topic
    standing: TopicStanding
    group: GroupStanding | None


@dataclass(frozen=True, slots=True)
class OddItem:
    """An item that misbehaves."""

    item_ref: str
    title: str
    topic_title: str
    flags: tuple[str, ...]
    answers: int


@dataclass(frozen=True, slots=True)
class ClassReport:
    class_id: int
    name: str
    learners: int
    days: int
    since: datetime
    ideas: tuple[IdeaHeld, ...]
    ideas_more: int  # left out of the list
    topics: tuple[ClassTopic, ...]
    items: tuple[OddItem, ...]
    definition: str


def classes_to_see(house: House, actor: Actor) -> tuple[ClassChoice, ...]:
    """Return the classes whose record the actor may see."""
    require(actor, May.SEE_CLASS_RECORDS)
    with house.read() as connection:
        led = classes.led_by(connection, actor.person_id)
        found = classes.classes_of_shop(connection, actor.shop_id)
    return tuple(
        ClassChoice(one.id, one.name, one.learners)
        for one in found
        if one.archived_at is None and may_see_class(actor, actor.shop_id, leads=one.id in led)
    )


def report(house: House, actor: Actor, class_id: int, *, days: int, now: datetime) -> ClassReport:
    """Return what to teach a class again, from the last ``days``.

    Raises:
        NotFoundError: there is no such class of which the actor may see the record.
        InputError: that is no period to choose.
    """
    _check_period(days)
    since = now - timedelta(days=days)
    with house.read_for_report() as connection:
        held = class_seen(connection, actor, class_id)
        counts = held_ideas.counts_in_class(connection, class_id, since=since)
        holders = held_ideas.holders_in_class(connection, class_id, since=since)
        topics = _topics(connection, class_id, now)
        odd = studies.flagged_of(connection, actor.shop_id, most=200)
    ideas = _ideas(counts, holders, held.learners)
    return ClassReport(
        class_id,
        held.name,
        held.learners,
        days,
        since,
        ideas[:MOST_IDEAS],
        max(0, len(ideas) - MOST_IDEAS),
        topics,
        odd_items(odd)[:MOST_ITEMS],
        DEFINITION,
    )


def class_seen(connection: Connection, actor: Actor, class_id: int) -> StoredClass:
    """Return a class whose record the actor may see; any other looks like none at all."""
    require(actor, May.SEE_CLASS_RECORDS)
    found = classes.find_class(connection, actor.shop_id, class_id)
    leads = actor.is_a(Role.MANAGER) or class_id in classes.led_by(connection, actor.person_id)
    if found is None or not may_see_class(actor, actor.shop_id, leads=leads):
        raise NotFoundError(
            "there is no such class for you.",
            field="class",
            value=class_id,
            remedy="Choose one of those on the page.",
        )
    return found


def odd_items(rows: Iterable[StudyRow]) -> tuple[OddItem, ...]:
    """Return studied items that stand out, the gravest flag first."""
    order = {flag.value: place for place, flag in enumerate(_GRAVITY)}
    ranked = sorted(
        rows, key=lambda row: (min((order.get(f, 9) for f in row.flags), default=9), -row.answers)
    )
    return tuple(
        OddItem(
            row.item_ref,
            item_title(row.item_ref),
            find_topic(row.topic).title,
            row.flags,
            row.answers,
        )
        for row in ranked
    )


_GRAVITY = (
    Flag.KEY_MAY_BE_WRONG,
    Flag.UNFAIR,
    Flag.TOO_HARD,
    Flag.TELLS_LITTLE,
    Flag.TOO_EASY,
    Flag.NOBODY_TAKES_OPTION,
)


def _check_period(days: int) -> None:
    if days not in PERIODS:
        raise InputError(
            "that is no period to choose.",
            field="days",
            value=days,
            remedy=f"Choose {', '.join(map(str, PERIODS[:-1]))} or {PERIODS[-1]} days.",
        )


def _ideas(
    counts: tuple[IdeaCount, ...], holders: tuple[Holder, ...], learners: int
) -> tuple[IdeaHeld, ...]:
    by_idea: dict[str, list[Holder]] = defaultdict(list)
    for one in holders:
        by_idea[one.idea].append(one)
    known = all_misconceptions()
    return tuple(
        IdeaHeld(
            known[one.idea],
            find_topic(known[one.idea].topic).title,
            tuple(by_idea[one.idea]),
            one.cleared,
            one.holders / max(learners, 1),
            one.idea in _ideas_of_families(),
        )
        for one in counts
        if one.idea in known and one.holders
    )


def _ideas_of_families() -> frozenset[str]:
    return frozenset(idea for family in all_families().values() for idea in family.misconceptions)


def _topics(connection: Connection, class_id: int, now: datetime) -> tuple[ClassTopic, ...]:
    settings = settings_in(connection)
    levels = class_levels.levels_of_class(connection, class_id)
    found = []
    for topic in TOPICS:
        standings = tuple(
            standing_now(one.general, one.topic, now=now, settings=settings)
            for one in levels
            if one.topic.topic == topic.id
        )
        last = max(
            (one.topic.last_at for one in levels if one.topic.topic == topic.id), default=None
        )
        found.append(_class_topic(topic, group_standing(standings), last))
    return tuple(sorted(found, key=lambda one: one.group.chance if one.group is not None else 2.0))


def _class_topic(topic: Topic, group: GroupStanding | None, last: datetime | None) -> ClassTopic:
    standing = TopicStanding(
        topic.id,
        topic.title,
        topic.about,
        group.people if group else 0,
        group.chance if group else None,
        group.low if group else None,
        group.high if group else None,
        last,
        _words(group),
    )
    return ClassTopic(topic, standing, group)


def _words(group: GroupStanding | None) -> str:
    if group is None:
        return "Nobody has answered here yet."
    return (
        f"{group.people} answered; on average {group.chance:.0%} of typical questions come right, "
        f"likely {group.low:.0%} to {group.high:.0%} (approximate). "
        f"{group.below} below the cut of {CUT:.0%}, {group.sure_below} of them surely."
    )
