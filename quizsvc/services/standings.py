"""From stored competence to how a person stands, as shown."""

from __future__ import annotations

from datetime import datetime

from quizsvc.items.topics import Topic
from quizsvc.scoring.competence import (
    DEFAULTS,
    Belief,
    Competence,
    FilterSettings,
    after_idle,
    newcomer,
)
from quizsvc.scoring.standing import Standing, in_words, of_level, stands
from quizsvc.services.shown import TopicStanding
from quizsvc.store.competence import GeneralRow, TopicRow
from quizsvc.store.offers import StoredResponse


def belief_now(
    general: GeneralRow | None,
    topic: TopicRow | None,
    *,
    now: datetime,
    settings: FilterSettings = DEFAULTS,
) -> Competence:
    """Return what is believed today: idle time since the topic's last answer allowed for."""
    start = newcomer(settings)
    return Competence(
        Belief(general.mean, general.variance) if general else start.general,
        after_idle(Belief(topic.mean, topic.variance), days_between(topic.last_at, now), settings)
        if topic
        else start.topic,
    )


def standing_now(
    general: GeneralRow | None,
    topic: TopicRow | None,
    *,
    now: datetime,
    settings: FilterSettings = DEFAULTS,
) -> Standing:
    start = newcomer(settings)
    return stands(
        Belief(general.mean, general.variance) if general else start.general,
        Belief(topic.mean, topic.variance) if topic else start.topic,
        answers=topic.answers if topic else 0,
        days_idle=days_between(topic.last_at, now) if topic else 0.0,
        settings=settings,
    )


def shown_standing(topic: Topic, standing: Standing, last: datetime | None) -> TopicStanding:
    known = standing.answers > 0
    return TopicStanding(
        topic_id=topic.id,
        title=topic.title,
        about=topic.about,
        answers=standing.answers,
        chance=standing.chance if known else None,
        low=standing.low if known else None,
        high=standing.high if known else None,
        last=last,
        words=in_words(standing, last),
        ready=standing.ready,
    )


def before_and_after(topic: Topic, response: StoredResponse) -> tuple[TopicStanding, TopicStanding]:
    """Return how the person stood just before and just after an answer."""
    last = response.last_before
    before = of_level(
        Belief(response.mean_before, response.variance_before),
        answers=response.nth - 1,
        days_idle=days_between(last, response.answered_at) if last else 0.0,
    )
    after = of_level(
        Belief(response.mean_after, response.variance_after),
        answers=response.nth,
        days_idle=0.0,
    )
    return (
        shown_standing(topic, before, last),
        shown_standing(topic, after, response.answered_at),
    )


def days_between(earlier: datetime, later: datetime) -> float:
    """Return the days from one time to another; 0 when the clock was set back between them."""
    return max(0.0, (later - earlier).total_seconds() / 86_400)
