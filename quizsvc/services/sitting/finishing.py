"""The end of a sitting: mark what was saved, and put it into the person's record once."""

from __future__ import annotations

import json
import secrets
from dataclasses import asdict, dataclass
from datetime import datetime

from sqlalchemy import Connection

from quizsvc.errors import InputError
from quizsvc.items.model import Item
from quizsvc.rules.assignments import Feedback, Form, in_progress, tells_the_key
from quizsvc.rules.sittings import FINISHED, Deed, after
from quizsvc.scoring.luck import guessing_chance
from quizsvc.scoring.marking import Answer, Marked, mark, right_words
from quizsvc.scoring.standing import item_parameters
from quizsvc.scoring.whole_answer import require_whole
from quizsvc.services.putting import answer_of, answer_text
from quizsvc.services.recipes import item_hash
from quizsvc.services.recording import MarkedAnswer, record
from quizsvc.services.shown import Given
from quizsvc.services.sitting.frozen_items import thaw
from quizsvc.services.sitting.laying_out import recipe_at
from quizsvc.services.tests_again.following import follow_if_marked_again
from quizsvc.store import (
    assignment_questions,
    competence,
    offers,
    shown_items,
    sitting_items,
    sitting_progress,
    sittings,
)
from quizsvc.store.assignment_questions import StoredQuestion
from quizsvc.store.assignments import StoredAssignment
from quizsvc.store.offers import Purpose
from quizsvc.store.sitting_items import StoredSittingItem
from quizsvc.store.sittings import StoredSitting

TOKEN_BYTES = 16  # 128 bits
NO_ANSWER = "no answer"


@dataclass(frozen=True, slots=True)
class _Answered:
    """A question with the item as shown, and what was made of the answer that stood."""

    stored: StoredSittingItem
    question: StoredQuestion
    item: Item
    answer: Answer | None
    marked: Marked


def finish(
    connection: Connection,
    assignment: StoredAssignment,
    sitting: StoredSitting,
    deed: Deed,
    *,
    now: datetime,
) -> None:
    """Hand in or close a locked sitting: mark every question, and count where feedback is due.

    The end noted is that of the time, if it ended earlier than anybody looked.
    """
    state = after(sitting.state, deed)
    ended = min(now, ending(assignment, sitting, now) or now)
    for one in _answers(connection, assignment, sitting):
        _keep_mark(connection, sitting, one, now=ended)
    clock = sitting.clock.go_on(now) if sitting.paused_at else sitting.clock
    sittings.keep_clock(connection, sitting.id, clock, state)
    points, out_of = sitting_progress.score_of(connection, sitting.id)
    sittings.change_sitting(connection, sitting.id, finished_at=ended, points=points, out_of=out_of)


def told(
    connection: Connection, assignment: StoredAssignment, sitting: StoredSitting, *, now: datetime
) -> bool:
    """Return whether the person of the sitting may see what was right in it."""
    return _tells(assignment, sitting, goes_on=_goes_on(connection, assignment, now))


def count_told(connection: Connection, assignment: StoredAssignment, *, now: datetime) -> None:
    """Count every finished sitting of an assignment whose answers may be told by now.

    Not before: a person's record shows what was right.
    """
    goes_on = _goes_on(connection, assignment, now)
    for sitting in sittings.sittings_of(connection, assignment.id):
        if sitting.counted_at is None and _tells(assignment, sitting, goes_on=goes_on):
            count(connection, assignment, sitting, now=now)


def _goes_on(connection: Connection, assignment: StoredAssignment, now: datetime) -> bool:
    return in_progress(
        assignment.form,
        due_at=assignment.due_at,
        released_at=assignment.released_at,
        anybody_sits=sittings.anybody_sits(connection, assignment.id),
        now=now,
    )


def _tells(assignment: StoredAssignment, sitting: StoredSitting, *, goes_on: bool) -> bool:
    return tells_the_key(
        assignment.feedback,
        finished=sitting.state in FINISHED,
        released_at=assignment.released_at,
        goes_on=goes_on,
    )


def ending(assignment: StoredAssignment, sitting: StoredSitting, now: datetime) -> datetime | None:
    """Return when the sitting ends by itself: its own time, or when what has none is due."""
    if sitting.allowed_ms is None:
        return assignment.due_at
    return sitting.clock.deadline(now)


def is_over(assignment: StoredAssignment, sitting: StoredSitting, now: datetime) -> bool:
    """Return whether a running sitting must be closed now."""
    if sitting.state in FINISHED:
        return False
    if sitting.allowed_ms is None:
        return assignment.due_at is not None and now >= assignment.due_at
    return sitting.clock.is_past_grace(now)


def takes_answers(assignment: StoredAssignment, sitting: StoredSitting, now: datetime) -> bool:
    if sitting.allowed_ms is None:
        return assignment.due_at is None or now < assignment.due_at
    return sitting.clock.takes_answers(now)


def mark_one(
    connection: Connection,
    assignment: StoredAssignment,
    sitting: StoredSitting,
    number: int,
    *,
    now: datetime,
) -> None:
    """Mark one question before the rest, where feedback follows each; and count it."""
    for one in _answers(connection, assignment, sitting):
        if one.stored.number == number and one.stored.marked_at is None:
            _keep_mark(connection, sitting, one, now=now)
            _record(connection, assignment, sitting, one, now=now)


def count(
    connection: Connection, assignment: StoredAssignment, sitting: StoredSitting, *, now: datetime
) -> None:
    """Put the answers into the person's record, once; what was not answered says nothing.

    Void questions count for nobody. Where feedback followed each question, those checked then
    are in the record already.
    """
    if not sittings.claim_counting(connection, sitting.id, now=now):
        return
    each = assignment.feedback is Feedback.EACH
    recorded = (
        offers.put_at(connection, sitting.person_id, made_at=sitting.opened_at) if each else ()
    )
    for one in _answers(connection, assignment, sitting):
        there = (one.question.item_ref, one.stored.seed) in recorded
        if not there and one.question.voided_at is None:
            _record(connection, assignment, sitting, one, now=now)
    follow_if_marked_again(connection, sitting, now=now)


def rescore(connection: Connection, sitting: StoredSitting) -> tuple[int, int]:
    """Compute the points of a finished sitting again; return them."""
    points, out_of = sitting_progress.score_of(connection, sitting.id)
    sittings.change_sitting(connection, sitting.id, points=points, out_of=out_of)
    return points, out_of


def given_text(given: Given | None) -> str | None:
    return None if given is None else json.dumps(asdict(given))


def given_from(text: str | None) -> Given | None:
    """Return what was given, from the JSON that is stored; None if it was not whole."""
    if text is None:
        return None
    data = json.loads(text)
    return Given(
        choices=tuple(data["choices"]),
        number=data["number"],
        order=tuple(data["order"]),
        pairs=tuple((thing, partner) for thing, partner in data["pairs"]),
        place=data["place"],
        point=tuple(data["point"]) if data["point"] else None,
    )


def readable(item: Item, seed: int, given: Given | None) -> tuple[Answer | None, str]:
    """Return the answer in the item's own terms, or None and why it cannot be marked.

    It is not marked here: this is asked while the test goes on, and is the same work for right
    and wrong.
    """
    if given is None:
        return None, "it is not whole yet"
    try:
        answer = answer_of(item, seed, given)
        require_whole(item, answer)
    except InputError as unreadable:
        return None, unreadable.problem.rstrip(".")
    return answer, ""


def _answers(
    connection: Connection, assignment: StoredAssignment, sitting: StoredSitting
) -> list[_Answered]:
    questions = {
        one.id: one for one in assignment_questions.questions_of(connection, assignment.id)
    }
    found = []
    for stored in sitting_items.items_of(connection, sitting.id):
        item = thaw(shown_items.content_of(connection, stored.shown_hash))
        answer, _ = readable(item, stored.seed, given_from(stored.given))
        marked = mark(item, answer) if answer is not None else _nothing(item, stored)
        found.append(_Answered(stored, questions[stored.question_id], item, answer, marked))
    return found


def _nothing(item: Item, stored: StoredSittingItem) -> Marked:
    said = "an answer that was not whole" if stored.saved_at else NO_ANSWER
    return Marked(
        correct=False,
        credit=0.0,
        misconception="",
        rationale="",
        given_words=said,
        right_words=right_words(item),
    )


def _keep_mark(
    connection: Connection, sitting: StoredSitting, one: _Answered, *, now: datetime
) -> None:
    if one.stored.marked_at is not None:
        return
    sitting_items.change_item(
        connection,
        sitting.id,
        one.stored.number,
        marked_at=now,
        correct=one.marked.correct,
        credit=one.marked.credit,
        misconception=one.marked.misconception or None,
        given_words=one.marked.given_words,
        right_words=one.marked.right_words,
    )


def _record(
    connection: Connection,
    assignment: StoredAssignment,
    sitting: StoredSitting,
    one: _Answered,
    *,
    now: datetime,
) -> None:
    if one.answer is None:
        return
    recipe = recipe_at(one.question, one.stored.seed)
    token = secrets.token_hex(TOKEN_BYTES)
    timed = assignment.form is Form.TIMED_TEST
    offers.add_offer(
        connection,
        token=token,
        person_id=sitting.person_id,
        shop_id=sitting.shop_id,
        purpose=(Purpose.SITTING if timed else Purpose.ASSIGNMENT).value,
        topic=one.item.topic,
        **recipe.columns(),
        item_hash=item_hash(one.item),
        why=f"From “{assignment.title}”.",
        made_at=sitting.opened_at,
    )
    offer = offers.find_offer(connection, token)
    if offer is None:  # pragma: no cover - stored a moment ago in this very transaction
        raise LookupError(token)
    fitted = competence.calibration_of(connection, recipe.item_ref)
    guessing = guessing_chance(one.item)
    parameters = item_parameters(fitted, recipe.level, guessing)
    record(
        connection, offer, MarkedAnswer(one.marked, answer_text(one.answer), parameters), now=now
    )
