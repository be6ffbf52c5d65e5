"""Competence and held ideas computed anew from all of a person's answers, as they count now.

Each answer goes through the same filter as when it was given, at the time it was given. Slopes
and difficulties are those fitted up to today; they are not kept with each answer.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import datetime

from sqlalchemy import Connection

from quizsvc.errors import QuizsvcError
from quizsvc.items.model import Kind, Level
from quizsvc.scoring.competence import DEFAULTS, FilterSettings, ItemParameters, after_answer
from quizsvc.scoring.luck import guessing_chance
from quizsvc.scoring.marking import ideas_of
from quizsvc.scoring.standing import item_parameters
from quizsvc.services.filter_constants import settings_in
from quizsvc.services.house import House
from quizsvc.services.recipes import draw, recipe_of
from quizsvc.services.standings import belief_now
from quizsvc.store import competence, held_ideas, remarks
from quizsvc.store.competence import GeneralRow, TopicRow
from quizsvc.store.remarks import Affected, NewMark

GUESSED = {Kind.ONE_CHOICE: 0.25, Kind.POINT: 0.25}  # where an item can no longer be drawn


@dataclass(frozen=True, slots=True)
class Counted:
    """An answer that counts: when, in which topic, on what item, right or not.

    ``shown`` is the wrong idea it showed, ``ideas`` those the item could have shown.
    """

    topic: str
    item: ItemParameters
    correct: bool
    at: datetime
    shown: str = ""
    ideas: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Asked:
    """What has to be known of an item to count an answer to it."""

    parameters: ItemParameters
    ideas: tuple[str, ...]


@dataclass(slots=True)
class Replayed:
    general: GeneralRow | None = None
    topics: dict[str, TopicRow] = field(default_factory=dict)


def replay(answers: Iterable[Counted], settings: FilterSettings = DEFAULTS) -> Replayed:
    """Return what is believed of a person after these answers, oldest first."""
    now = Replayed()
    for one in answers:
        _take(now, one, settings)
    return now


def recompute(house: House, person_id: int) -> None:
    """Bring a person's competence and held ideas to what their answers say as they count now.

    Items are drawn before the writing transaction; in it only answers that came meanwhile are.
    """
    known: dict[int, _Asked] = {}
    with house.read() as connection:
        for one in remarks.answers_of(connection, person_id):
            known[one.response_id] = _asked(house, connection, one)
    with house.write() as connection:
        competence.lock_general(connection, person_id)
        marks = remarks.marks_of(connection, person_id)
        answers = list(_counted(house, connection, person_id, marks, known))
        replayed = replay(answers, settings_in(connection))
        competence.replace_all(
            connection, person_id, replayed.general, tuple(replayed.topics.values())
        )
        _hold_anew(connection, person_id, answers)


def _hold_anew(connection: Connection, person_id: int, answers: Iterable[Counted]) -> None:
    held_ideas.forget(connection, person_id)
    for one in answers:
        if one.correct:
            held_ideas.clear(connection, person_id, one.ideas, now=one.at)
        elif one.shown:
            held_ideas.show(connection, person_id, one.shown, now=one.at)


def _counted(
    house: House,
    connection: Connection,
    person_id: int,
    marks: dict[int, NewMark],
    known: dict[int, _Asked],
) -> Iterator[Counted]:
    for one in remarks.answers_of(connection, person_id):
        mark = marks.get(one.response_id)
        if mark is not None and not mark.counted:
            continue
        item = known.get(one.response_id) or _asked(house, connection, one)
        stands = mark or one.response
        yield Counted(
            one.offer.topic,
            item.parameters,
            stands.correct,
            one.response.answered_at,
            stands.misconception or "",
            item.ideas,
        )


def _asked(house: House, connection: Connection, one: Affected) -> _Asked:
    ideas: tuple[str, ...] = ()
    try:
        item = draw(house.shelf, connection, recipe_of(one.offer))
        guessing, ideas = guessing_chance(item), ideas_of(item)
    except QuizsvcError:
        guessing = GUESSED.get(Kind(one.offer.kind), 0.0)
    fitted = competence.calibration_of(connection, one.offer.item_ref)
    return _Asked(item_parameters(fitted, Level(one.offer.level), guessing), ideas)


def _take(now: Replayed, one: Counted, settings: FilterSettings) -> None:
    topic = now.topics.get(one.topic)
    before = belief_now(now.general, topic, now=one.at, settings=settings)
    after = after_answer(before, one.item, correct=one.correct, settings=settings)
    now.general = GeneralRow(
        after.general.mean,
        after.general.variance,
        (now.general.answers if now.general else 0) + 1,
        one.at,
    )
    now.topics[one.topic] = TopicRow(
        one.topic,
        after.topic.mean,
        after.topic.variance,
        (topic.answers if topic else 0) + 1,
        (topic.right_answers if topic else 0) + int(one.correct),
        one.at,
    )
