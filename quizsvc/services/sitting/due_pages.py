"""What learners see before they begin: the list of what is due, and the page before."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import Connection

from quizsvc.rules.actors import Actor
from quizsvc.rules.assignments import why_not_begin
from quizsvc.rules.permissions import May, require
from quizsvc.rules.sittings import RUNNING
from quizsvc.services.house import House
from quizsvc.services.sitting import closing, finishing, own_sittings
from quizsvc.services.sitting.words import Before, Due, Try
from quizsvc.store import assignment_people, assignment_questions, sittings
from quizsvc.store.assignments import StoredAssignment
from quizsvc.store.sittings import StoredSitting


def due_for(house: House, actor: Actor, *, now: datetime) -> tuple[Due, ...]:
    """Return what is given to the actor: what is running first, then by due date."""
    require(actor, May.PRACTISE)
    with house.read() as connection:
        given = assignment_people.assignments_for(connection, actor.person_id, actor.shop_id)
        counts = assignment_questions.question_counts(connection, [one.id for one in given])
        lines = [
            _due(
                connection,
                one,
                sittings.sittings_of(connection, one.id, actor.person_id),
                counts.get(one.id, 0),
                now,
            )
            for one in given
        ]
    order = {"running": 0, "to do": 1, "not open yet": 2, "done": 3, "missed": 4}
    return tuple(sorted(lines, key=lambda line: (order[line.state], line.due_at or line.opens_at)))


def before(house: House, actor: Actor, assignment_id: int, *, now: datetime) -> Before:
    """Return what somebody sees before they begin."""
    require(actor, May.PRACTISE)
    closing.settle_all(house, actor, assignment_id, now=now)
    with house.read() as connection:
        one = own_sittings.given_to(connection, actor, assignment_id)
        tries = sittings.sittings_of(connection, one.id, actor.person_id)
        extra = assignment_people.extra_minutes_of(connection, one.id, actor.person_id)
        questions = assignment_questions.questions_of(connection, one.id)
        lines = tuple(_try(connection, one, sitting, now) for sitting in tries)
    standing = own_sittings.standing_of(one, tries)
    return Before(
        one.id,
        one.title,
        one.words,
        one.form,
        one.feedback,
        one.opens_at,
        one.due_at,
        sum(question.voided_at is None for question in questions),
        None if one.minutes is None else one.minutes + extra,
        extra,
        max(0, standing.tries_left),
        one.invigilated,
        why_not_begin(standing, now),
        lines,
    )


def _due(
    connection: Connection,
    one: StoredAssignment,
    tries: tuple[StoredSitting, ...],
    questions: int,
    now: datetime,
) -> Due:
    running = next((sitting for sitting in tries if sitting.state in RUNNING), None)
    told = [
        sitting
        for sitting in tries
        if sitting.out_of and finishing.told(connection, one, sitting, now=now)
    ]
    best = max(told, key=lambda sitting: sitting.points or 0, default=None)
    return Due(
        one.id,
        one.title,
        one.form,
        one.opens_at,
        one.due_at,
        questions,
        one.minutes,
        "running" if running else _state(one, tries, now),
        running.token if running else "",
        best.points if best else None,
        best.out_of if best else None,
    )


def _state(one: StoredAssignment, tries: tuple[StoredSitting, ...], now: datetime) -> str:
    if tries:
        return "done"
    if now < one.opens_at:
        return "not open yet"
    return "missed" if one.due_at is not None and now >= one.due_at else "to do"


def _try(
    connection: Connection, one: StoredAssignment, sitting: StoredSitting, now: datetime
) -> Try:
    told = finishing.told(connection, one, sitting, now=now)
    return Try(
        sitting.token,
        sitting.nth,
        sitting.state,
        sitting.finished_at,
        sitting.points if told else None,
        sitting.out_of if told else None,
        told,
    )
