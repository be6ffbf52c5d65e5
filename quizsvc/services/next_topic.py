"""Which topic helps somebody most to practise now, and why."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection

from quizsvc.items.family import all_families
from quizsvc.items.misconception import all_misconceptions
from quizsvc.items.topics import TOPICS, Topic
from quizsvc.scoring.standing import Need, Standing, need
from quizsvc.services.filter_constants import settings_in
from quizsvc.services.standings import standing_now
from quizsvc.store import banks, competence, held_ideas, offers
from quizsvc.store.sheets import StoredRevision

LATELY = 12  # of the person's latest offers, so that topics are spread


def practised_topics(
    connection: Connection, shop_id: int, revisions: tuple[StoredRevision, ...]
) -> tuple[Topic, ...]:
    """Return the topics that have a family (if there are sheets) or a bank item to offer."""
    offered = {family.topic for family in all_families().values()} if revisions else set()
    offered |= banks.topics_with_items(connection, shop_id).keys()
    return tuple(topic for topic in TOPICS if topic.id in offered)


@dataclass(frozen=True, slots=True)
class Person:
    """How somebody stands in each topic, and what else speaks for practising it."""

    standings: dict[str, Standing]
    lost: dict[str, float]  # of the chance, by what the memory term has taken since
    held: frozenset[str]  # wrong ideas not cleared yet
    lately: list[str]  # topics of the latest offers, newest first: what fills them rests


def person_now(
    connection: Connection, person_id: int, topics: tuple[Topic, ...], *, now: datetime
) -> Person:
    """Return what is known today of somebody for choosing what to practise."""
    settings = settings_in(connection)
    general = competence.general_of(connection, person_id)
    rows = competence.topics_of(connection, person_id)
    standings, lost = {}, {}
    for topic in topics:
        row = rows.get(topic.id)
        today = standing_now(general, row, now=now, settings=settings)
        standings[topic.id] = today
        if row is not None:
            then = standing_now(general, row, now=row.last_at, settings=settings)
            lost[topic.id] = then.chance - today.chance
    held = held_ideas.held_by(connection, person_id)
    return Person(standings, lost, held, topics_lately(connection, person_id))


def most_useful(topics: tuple[Topic, ...], person: Person) -> tuple[Topic, Need] | None:
    """Return the topic in which practice helps most now, and why; the first of equals."""
    known = all_misconceptions()
    ideas = Counter(known[idea].topic for idea in person.held if idea in known)
    needs = [
        (
            topic,
            need(
                person.standings[topic.id],
                topic.title,
                lately=_share(topic.id, person.lately),
                lost=person.lost.get(topic.id, 0.0),
                ideas=ideas[topic.id],
            ),
        )
        for topic in topics
    ]
    return max(needs, key=lambda pair: pair[1].size, default=None)


def topics_lately(connection: Connection, person_id: int) -> list[str]:
    return [topic for _, topic in offers.latest_put(connection, person_id, count=LATELY)]


def _share(topic_id: str, lately: list[str]) -> float:
    return lately[:LATELY].count(topic_id) / LATELY
