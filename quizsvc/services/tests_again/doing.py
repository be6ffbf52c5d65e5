"""Mark finished tests again, or declare their question void: for all alike, as was looked at."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection

from quizsvc.errors import ConflictError
from quizsvc.rules.actors import Actor
from quizsvc.rules.audit import Action
from quizsvc.rules.permissions import May, require
from quizsvc.rules.tests_again import (
    Remedy,
    reason,
    require_not_concerned,
    require_possible,
)
from quizsvc.services.auditing import note
from quizsvc.services.background import run_next
from quizsvc.services.house import House
from quizsvc.services.refusals import noted_refusals
from quizsvc.services.tests_again import telling
from quizsvc.services.tests_again.following import ask_to_follow
from quizsvc.services.tests_again.planning import Line, Plan, asked_otherwise, plan_of, seen_of
from quizsvc.store import (
    assignment_questions,
    assignments,
    sitting_marks,
    sitting_progress,
    sittings,
)
from quizsvc.store.sitting_marks import NewSittingMark

AT_ONCE = 100  # sittings whose records are brought after them while the page waits


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is to be done, why, and the plan it was chosen from (`Plan.seen`)."""

    remedy: Remedy
    why: str
    seen: str


@dataclass(frozen=True, slots=True)
class Done:
    """``sittings`` were looked at anew; of them ``changed`` have another result."""

    remark_id: int
    sittings: int
    changed: int


def mark_again(house: House, actor: Actor, item_id: int, wanted: Wanted, *, now: datetime) -> Done:
    """Do what was chosen with every finished test of the shop that asked the item otherwise.

    The first results stay; people are told, and whoever decided on a result that crosses its cut.

    Raises:
        NotAllowedError: the actor sat one of the tests.
        ConflictError: something has changed since the plan was looked at, or nothing is to be done.
        InputError: there is no reason.
    """
    why = reason(wanted.why)
    with noted_refusals(house, actor, f"tests with item {item_id}", now=now):
        require(actor, May.MARK_TESTS_AGAIN)
        plan = plan_of(house, actor, item_id)
        lines = _lines(actor, plan, wanted)
        with house.write() as connection:
            remark_id, changed = _write(connection, actor, plan, lines, wanted.remedy, why, now)
            sitting_ids = sorted({line.asked.sitting_id for line in lines})
            job_id = ask_to_follow(
                connection,
                sitting_ids,
                shop_id=actor.shop_id,
                person_id=actor.person_id,
                now=now,
            )
    if len(sitting_ids) <= AT_ONCE:
        run_next(house, lambda: now, job_id=job_id)
    return Done(remark_id, len(sitting_ids), changed)


def _lines(actor: Actor, plan: Plan, wanted: Wanted) -> tuple[Line, ...]:
    """Return the lines that what is wanted is about, or refuse it."""
    if wanted.seen != plan.seen:
        raise _has_changed()
    require_possible(wanted.remedy, has_key=plan.has_key)
    lines = plan.to_mark if wanted.remedy is Remedy.MARKED_AGAIN else plan.lines
    if not lines:
        raise ConflictError(
            "no finished test is left to mark again.",
            field="item",
            value=plan.entry,
            remedy="Load the page again to see how the results stand.",
        )
    require_not_concerned(actor.person_id, {line.asked.person_id for line in lines})
    return lines


def _write(
    connection: Connection,
    actor: Actor,
    plan: Plan,
    lines: tuple[Line, ...],
    remedy: Remedy,
    why: str,
    now: datetime,
) -> tuple[int, int]:
    """Write it all down; return the key of the deed and how many results it changed."""
    _lock(connection, actor, plan, lines)
    remark_id = sitting_marks.add_remark(
        connection,
        shop_id=actor.shop_id,
        item_id=plan.item_id,
        version_id=plan.version_id,
        remedy=remedy,
        made_by=actor.person_id,
        why=why,
        now=now,
    )
    marks = _marks(lines, remedy)
    sitting_marks.add_marks(connection, remark_id, marks)
    places = _void(connection, lines, why, now) if remedy is Remedy.VOID else []
    _rescore(connection, lines, marks)
    changed = {
        one.sitting_id
        for one in marks
        if (one.points, one.out_of) != (one.points_before, one.out_of_before)
    }
    _note(connection, actor, plan, lines, remedy, remark_id, places, len(changed), why, now)
    telling.tell_people(connection, lines, changed, remark_id, now=now)
    telling.tell_deciders(connection, lines, remedy, remark_id, now=now)
    return remark_id, len(changed)


def _lock(connection: Connection, actor: Actor, plan: Plan, lines: tuple[Line, ...]) -> None:
    """Keep others from the tests, and refuse if somebody was quicker."""
    for assignment_id in sorted({line.asked.assignment_id for line in lines}):
        assignments.find_assignment(connection, assignment_id, lock=True)
    stands = asked_otherwise(connection, actor.shop_id, plan.item_ref, plan.item_id, plan.used)
    if seen_of(plan.version_id, stands) != plan.seen:
        raise _has_changed()


def _marks(lines: tuple[Line, ...], remedy: Remedy) -> list[NewSittingMark]:
    """Return a mark for each line; a sitting that asked the item twice goes on from its first."""
    stand: dict[int, tuple[int, int]] = {}
    found = []
    for line in lines:
        asked, made = line.asked, line.mark if remedy is Remedy.MARKED_AGAIN else None
        points, out_of = stand.get(asked.sitting_id, (asked.points, asked.out_of))
        after = (
            (points + int(made.correct) - int(asked.correct), out_of)
            if made
            else (points - int(asked.correct), out_of - 1)
        )
        stand[asked.sitting_id] = after
        found.append(
            NewSittingMark(
                asked.sitting_id,
                asked.number,
                asked.person_id,
                made.correct if made else None,
                made.credit if made else None,
                (made.misconception or None) if made else None,
                made.right_words if made else None,
                points,
                out_of,
                *after,
            )
        )
    return found


def _void(
    connection: Connection, lines: tuple[Line, ...], why: str, now: datetime
) -> list[tuple[int, int]]:
    """Declare the question void in each test; return (test, place) of where it was not."""
    places = sorted({(line.asked.assignment_id, line.asked.place) for line in lines})
    return [
        (test, place)
        for test, place in places
        if assignment_questions.void_question(connection, test, place, reason=why, now=now)
    ]


def _rescore(connection: Connection, lines: tuple[Line, ...], marks: list[NewSittingMark]) -> None:
    """Keep the new results, which are those that the marks of now add up to."""
    expected = {one.sitting_id: (one.points, one.out_of) for one in marks}
    tests = {line.asked.assignment_id for line in lines}
    scores = sitting_progress.scores_in(connection, tests)
    if any(scores.get(sitting_id) != score for sitting_id, score in expected.items()):
        raise _has_changed()
    sittings.keep_scores(connection, expected)


def _note(
    connection: Connection,
    actor: Actor,
    plan: Plan,
    lines: tuple[Line, ...],
    remedy: Remedy,
    remark_id: int,
    places: list[tuple[int, int]],
    changed: int,
    why: str,
    now: datetime,
) -> None:
    """Note the deed, and each question it declared void like any other that is."""
    note(
        connection,
        actor,
        Action.TESTS_MARKED_AGAIN,
        f"item {plan.item_id}",
        now=now,
        remark=remark_id,
        version=plan.version,
        remedy=remedy.value,
        reason=why,
        sittings=sorted({line.asked.sitting_id for line in lines}),
        results_changed=changed,
    )
    for test, place in places:
        note(
            connection,
            actor,
            Action.QUESTION_VOIDED,
            f"assignment {test}",
            now=now,
            place=place,
            reason=why,
            results_changed=len(
                {o.asked.sitting_id for o in lines if o.asked.assignment_id == test}
            ),
        )


def _has_changed() -> ConflictError:
    return ConflictError(
        "results have changed since you looked.",
        field="plan",
        value="out of date",
        remedy="Look at what would change now, then decide.",
    )
