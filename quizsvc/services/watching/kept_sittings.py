"""A sitting whole as it was shown, for settling a dispute."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import Connection

from quizsvc.errors import NotFoundError
from quizsvc.items.misconception import all_misconceptions
from quizsvc.items.model import Item, Step
from quizsvc.rules.actors import Actor
from quizsvc.rules.sittings import State
from quizsvc.scoring.marking import mark, right_words
from quizsvc.services.assigning.access import watches
from quizsvc.services.house import House
from quizsvc.services.item_titles import item_title
from quizsvc.services.sitting import finishing, own_sittings
from quizsvc.services.sitting.frozen_items import thaw
from quizsvc.services.watching.ending import settle_all, sitting_in
from quizsvc.store import (
    assignment_questions,
    shown_items,
    sitting_items,
    sitting_marks,
    sitting_progress,
)
from quizsvc.store.assignment_questions import StoredQuestion
from quizsvc.store.sitting_items import StoredSittingItem
from quizsvc.store.sitting_marks import RemarkedSitting


@dataclass(frozen=True, slots=True)
class KeptAnswer:
    """A question of somebody's sitting, whole as it was shown, for settling a dispute."""

    number: int
    place: int
    title: str
    prompt: str
    options: tuple[tuple[str, bool], ...]
    figure: str
    solution: str
    has_picture: bool
    given_words: str
    right_words: str
    correct: bool | None
    misconception_title: str
    steps: tuple[Step, ...]
    saved_at: datetime | None
    void: bool
    seed: int
    shown_hash: str
    again: tuple[RemarkedSitting, ...]  # how it was marked again since, the oldest first


@dataclass(frozen=True, slots=True)
class KeptSitting:
    """Somebody's sitting whole, for whoever ran it."""

    assignment_id: int
    title: str
    name: str
    nth: int
    state: State
    opened_at: datetime
    finished_at: datetime | None
    allowed: timedelta | None
    added: timedelta
    paused: timedelta
    points: int | None
    out_of: int | None
    answers: tuple[KeptAnswer, ...]
    again: tuple[RemarkedSitting, ...]  # every marking again, with the results before and after


def kept(
    house: House, actor: Actor, assignment_id: int, token: str, *, now: datetime
) -> KeptSitting:
    """Return somebody's sitting with every item whole as it was shown, key and answer."""
    settle_all(house, actor, assignment_id, now=now)
    with house.read() as connection:
        held = watches(connection, actor, assignment_id)
        sitting = sitting_in(connection, assignment_id, token)
        questions = {
            one.id: one for one in assignment_questions.questions_of(connection, assignment_id)
        }
        again = sitting_marks.marks_of(connection, sitting.id)
        answers = tuple(
            _kept_answer(connection, stored, questions[stored.question_id], again)
            for stored in sitting_items.items_of(connection, sitting.id)
        )
        names = {
            one.sitting.id: one.name
            for one in sitting_progress.progress_of(connection, assignment_id)
        }
    clock = sitting.clock
    return KeptSitting(
        held.id,
        held.title,
        names[sitting.id],
        sitting.nth,
        sitting.state,
        sitting.opened_at,
        sitting.finished_at,
        clock.allowed,
        clock.added,
        clock.stood_still(now),
        sitting.points,
        sitting.out_of,
        answers,
        again,
    )


def kept_picture(
    house: House, actor: Actor, assignment_id: int, token: str, number: int
) -> tuple[str, bytes]:
    """Return the photograph of a question of somebody's sitting as it was when shown."""
    with house.read() as connection:
        watches(connection, actor, assignment_id)
        sitting = sitting_in(connection, assignment_id, token)
        stored = own_sittings.item_at(connection, sitting, number)
        found = shown_items.picture_of(connection, stored.shown_hash)
    if found is None:
        raise NotFoundError("this question has no picture.", field="picture", value=number)
    return found


def _given_so_far(item: Item, stored: StoredSittingItem) -> str:
    """Return in words the answer that stands while the sitting still goes on."""
    answer, why = finishing.readable(item, stored.seed, finishing.given_from(stored.given))
    if answer is None:
        return f"saved, but {why}" if stored.saved_at else ""
    return mark(item, answer).given_words


def _kept_answer(
    connection: Connection,
    stored: StoredSittingItem,
    question: StoredQuestion,
    again: tuple[RemarkedSitting, ...],
) -> KeptAnswer:
    item = thaw(shown_items.content_of(connection, stored.shown_hash))
    idea = all_misconceptions().get(stored.misconception or "")
    return KeptAnswer(
        stored.number,
        question.place,
        item_title(question.item_ref),
        item.prompt,
        tuple((option.text, option.correct) for option in item.shown_options),
        shown_items.figure_of(connection, stored.shown_hash) or "",
        shown_items.solution_of(connection, stored.shown_hash) or "",
        bool(item.picture),
        stored.given_words or _given_so_far(item, stored),
        stored.right_words or right_words(item),
        stored.correct,
        idea.title if idea else "",
        item.steps,
        stored.saved_at,
        question.voided_at is not None,
        stored.seed,
        stored.shown_hash,
        tuple(one for one in again if one.number == stored.number),
    )
