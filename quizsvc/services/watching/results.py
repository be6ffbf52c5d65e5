"""How questions went; void one, and release what was right."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection

from quizsvc.errors import ConflictError, InputError, NotFoundError
from quizsvc.rules.actors import Actor
from quizsvc.rules.audit import Action
from quizsvc.rules.sittings import FINISHED
from quizsvc.services.assigning.access import runs, watches
from quizsvc.services.auditing import note
from quizsvc.services.house import House
from quizsvc.services.item_titles import item_title
from quizsvc.services.sitting import closing, finishing
from quizsvc.services.watching.ending import settle_all
from quizsvc.store import assignment_questions, assignments, sitting_progress, sittings
from quizsvc.store.assignments import StoredAssignment


@dataclass(frozen=True, slots=True)
class QuestionTally:
    """How a question went for all who have finished."""

    place: int
    title: str
    topic: str
    finished: int
    answered: int
    right: int
    void: bool
    void_reason: str


def void(
    house: House, actor: Actor, assignment_id: int, place: int, reason: str, *, now: datetime
) -> int:
    """Let a question count for nobody, now and in what is finished; return points changed.

    Answers that are in people's records already stay there: records are never changed.
    """
    words = " ".join(reason.split())
    if not 3 <= len(words) <= 300:
        raise InputError(
            "a void question needs its reason.",
            field="reason",
            value=words[:40],
            remedy="Say in a few words what is wrong with it.",
        )
    with house.write() as connection:
        held = runs(connection, actor, assignment_id, lock=True)
        places = {one.place for one in assignment_questions.questions_of(connection, assignment_id)}
        if place not in places:
            raise NotFoundError("there is no such question.", field="question", value=place)
        if not assignment_questions.void_question(
            connection, assignment_id, place, reason=words, now=now
        ):
            return 0
        changed = _rescore(connection, held)
        note(
            connection,
            actor,
            Action.QUESTION_VOIDED,
            f"assignment {assignment_id}",
            now=now,
            place=place,
            reason=words,
            results_changed=changed,
        )
    return changed


def release(house: House, actor: Actor, assignment_id: int, *, now: datetime) -> None:
    """Tell everybody who has finished what was right, from now on; it cannot be untold."""
    settle_all(house, actor, assignment_id, now=now)
    with house.write() as connection:
        held = runs(connection, actor, assignment_id, lock=True)
        if held.released_at is not None:
            return
        if sittings.anybody_sits(connection, assignment_id):
            raise ConflictError(
                "somebody is still sitting it.",
                field="assignment",
                value=held.title,
                remedy="Wait until all have handed in, or close what is open.",
            )
        assignments.change_assignment(connection, assignment_id, released_at=now, start_code=None)
        note(connection, actor, Action.ANSWERS_RELEASED, f"assignment {assignment_id}", now=now)
    closing.count_told(house, assignment_id, now=now)


def tallies(house: House, actor: Actor, assignment_id: int) -> tuple[QuestionTally, ...]:
    """Return how each question went for all who have finished."""
    with house.read() as connection:
        watches(connection, actor, assignment_id)
        counted = {row[0]: row[1:] for row in sitting_progress.tally(connection, assignment_id)}
        questions = assignment_questions.questions_of(connection, assignment_id)
    return tuple(
        QuestionTally(
            one.place,
            item_title(one.item_ref),
            one.topic,
            *counted.get(one.id, (0, 0, 0)),
            void=one.voided_at is not None,
            void_reason=one.void_reason or "",
        )
        for one in questions
    )


def _rescore(connection: Connection, held: StoredAssignment) -> int:
    changed = 0
    for one in sittings.sittings_of(connection, held.id, lock=True):
        if one.state in FINISHED:
            before = (one.points, one.out_of)
            changed += finishing.rescore(connection, one) != before
    return changed
