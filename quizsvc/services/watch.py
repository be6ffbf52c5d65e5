"""Run a test and watch it: who is where, pause, more time, void a question, release, results."""

from __future__ import annotations

import json
import secrets
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import Connection

from quizsvc.errors import ConflictError, InputError, NotFoundError
from quizsvc.items.family import all_families
from quizsvc.items.misconception import all_misconceptions
from quizsvc.items.model import Item, Step
from quizsvc.rules.actors import Actor
from quizsvc.rules.assignments import Form, Issue
from quizsvc.rules.audit import Action
from quizsvc.rules.sittings import FINISHED, RUNNING, Deed, State, after, may
from quizsvc.scoring.marking import mark, right_words
from quizsvc.services import finishing, sit
from quizsvc.services.assigning.access import runs, watches
from quizsvc.services.auditing import note
from quizsvc.services.frozen_items import thaw
from quizsvc.services.house import House
from quizsvc.store import assignments, sittings
from quizsvc.store.assignments import StoredAssignment, StoredQuestion, Taker
from quizsvc.store.sittings import Progress, StoredSitting, StoredSittingItem

# Neither 0 and O nor 1, I and L; nothing that reads as a word.
CODE_SIGNS = "BCDFGHJKMNPQRSTVWXZ23456789"
CODE_LENGTH = 6


@dataclass(frozen=True, slots=True)
class Row:
    """One person in the live view; ``left`` and ``ends_at`` only while their clock runs."""

    person_id: int
    name: str
    token: str  # of the latest try, or empty before the first
    nth: int
    state: str
    answered: int
    questions: int
    look_again: int
    ends_at: datetime | None
    left: timedelta | None
    last_at: datetime | None
    points: int | None
    out_of: int | None
    extra_minutes: int


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


@dataclass(frozen=True, slots=True)
class Live:
    """An assignment as it goes at a moment."""

    assignment_id: int
    title: str
    form: Form
    issue: Issue
    at: datetime
    due_at: datetime | None
    invigilated: bool
    code: str  # empty while the room is not open
    rows: tuple[Row, ...]
    running: int
    paused: int
    finished: int
    not_begun: int
    may_run: bool
    waits_for_release: bool
    released_at: datetime | None
    version: str  # changes whenever something to be seen does


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


def live(house: House, actor: Actor, assignment_id: int, *, now: datetime) -> Live:
    """Return who is where. Sittings whose time is over are closed first."""
    _settle_all(house, actor, assignment_id, now=now)
    with house.read() as connection:
        held = watches(connection, actor, assignment_id)
        takers = assignments.takers_of(connection, held)
        progress = sittings.progress_of(connection, assignment_id)
        runs_it = _runs_it(connection, actor, assignment_id)
    rows = _rows(held, takers, progress, now)
    states = [row.state for row in rows]
    done = {state.value for state in FINISHED}
    told = all(one.sitting.counted_at for one in progress if one.sitting.state in FINISHED)
    return Live(
        held.id,
        held.title,
        held.form,
        held.issue,
        now,
        held.due_at,
        held.invigilated,
        held.start_code or "",
        rows,
        running=states.count(State.OPEN.value),
        paused=states.count(State.PAUSED.value),
        finished=sum(state in done for state in states),
        not_begun=states.count("not begun"),
        may_run=runs_it,
        waits_for_release=bool(progress) and not told and held.released_at is None,
        released_at=held.released_at,
        version=_version(held, progress, len(takers)),
    )


def open_room(house: House, actor: Actor, assignment_id: int, *, now: datetime) -> str:  # noqa: ARG001
    """Let people begin with a new code; return it."""
    code = "".join(secrets.choice(CODE_SIGNS) for _ in range(CODE_LENGTH))
    with house.write() as connection:
        held = runs(connection, actor, assignment_id, lock=True)
        if held.issue is not Issue.ISSUED or not held.invigilated:
            raise ConflictError(
                "this is not started by a code." if not held.invigilated else "it is not out.",
                field="assignment",
                value=held.title,
                remedy="Give out a timed test that is started by a code.",
            )
        assignments.change_assignment(connection, assignment_id, start_code=code)
    return code


def close_room(house: House, actor: Actor, assignment_id: int) -> None:
    """Let nobody begin any more; who has begun goes on."""
    with house.write() as connection:
        runs(connection, actor, assignment_id, lock=True)
        assignments.change_assignment(connection, assignment_id, start_code=None)


def pause_all(house: House, actor: Actor, assignment_id: int, *, now: datetime) -> int:
    """Stop the clock of everybody who sits it; return of how many."""
    return _for_all(house, actor, assignment_id, Deed.PAUSE, Action.TEST_PAUSED, now=now)


def go_on_all(house: House, actor: Actor, assignment_id: int, *, now: datetime) -> int:
    """Let the clocks run again; return how many."""
    return _for_all(house, actor, assignment_id, Deed.GO_ON, Action.TEST_WENT_ON, now=now)


def add_minutes(
    house: House,
    actor: Actor,
    assignment_id: int,
    minutes: int,
    *,
    token: str = "",
    now: datetime,
) -> int:
    """Give more time to everybody who sits it, or to one sitting; return to how many.

    Raises:
        InputError: no whole number of minutes from 1 to a day.
        ConflictError: nobody sits it.
    """
    _settle_all(house, actor, assignment_id, now=now)
    span = timedelta(minutes=minutes)
    with house.write() as connection:
        runs(connection, actor, assignment_id, lock=True)
        found = [
            one
            for one in sittings.sittings_of(connection, assignment_id, lock=True)
            if one.state in RUNNING and token in ("", one.token) and one.allowed_ms is not None
        ]
        if not found:
            raise ConflictError(
                "nobody whose clock runs is meant.",
                field="minutes",
                value=minutes,
                remedy="What has ended stays ended.",
            )
        for one in found:
            state = after(one.state, Deed.ADD_TIME)
            sittings.keep_clock(connection, one.id, one.clock.add(span), state)
        note(
            connection,
            actor,
            Action.TIME_ADDED,
            f"assignment {assignment_id}",
            now=now,
            minutes=minutes,
            sittings=[one.id for one in found],
        )
    return len(found)


def allow_extra(
    house: House,
    actor: Actor,
    assignment_id: int,
    person_id: int,
    minutes: int,
    *,
    now: datetime,
) -> None:
    """Allow a person more time than the others from the start, or take that back with 0."""
    if not 0 <= minutes <= 600:
        raise InputError(
            "that much extra time is not possible.",
            field="extra minutes",
            value=minutes,
            remedy="From 0 to 600.",
        )
    with house.write() as connection:
        held = runs(connection, actor, assignment_id, lock=True)
        _taker(connection, held, person_id)
        assignments.allow_extra(connection, assignment_id, person_id, minutes=minutes)
        note(
            connection,
            actor,
            Action.TIME_ADDED,
            f"assignment {assignment_id}",
            now=now,
            person=person_id,
            extra_minutes=minutes,
        )


def close(house: House, actor: Actor, assignment_id: int, token: str, *, now: datetime) -> None:
    """End somebody's sitting; what they have saved counts."""
    with house.write() as connection:
        held = runs(connection, actor, assignment_id, lock=True)
        sitting = _sitting_in(connection, assignment_id, token)
        if sitting.state in FINISHED:
            return
        finishing.finish(connection, held, sitting, Deed.CLOSE, now=now)
        note(connection, actor, Action.SITTING_CLOSED, f"sitting {sitting.id}", now=now)
    sit.count_told(house, assignment_id, now=now)


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
        places = {one.place for one in assignments.questions_of(connection, assignment_id)}
        if place not in places:
            raise NotFoundError("there is no such question.", field="question", value=place)
        if not assignments.void_question(connection, assignment_id, place, reason=words, now=now):
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
    _settle_all(house, actor, assignment_id, now=now)
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
    sit.count_told(house, assignment_id, now=now)


def tallies(house: House, actor: Actor, assignment_id: int) -> tuple[QuestionTally, ...]:
    """Return how each question went for all who have finished."""
    with house.read() as connection:
        watches(connection, actor, assignment_id)
        counted = {row[0]: row[1:] for row in sittings.tally(connection, assignment_id)}
        questions = assignments.questions_of(connection, assignment_id)
    return tuple(
        QuestionTally(
            one.place,
            _title(one),
            one.topic,
            *counted.get(one.id, (0, 0, 0)),
            void=one.voided_at is not None,
            void_reason=one.void_reason or "",
        )
        for one in questions
    )


def kept(
    house: House, actor: Actor, assignment_id: int, token: str, *, now: datetime
) -> KeptSitting:
    """Return somebody's sitting with every item whole as it was shown, key and answer."""
    _settle_all(house, actor, assignment_id, now=now)
    with house.read() as connection:
        held = watches(connection, actor, assignment_id)
        sitting = _sitting_in(connection, assignment_id, token)
        questions = {one.id: one for one in assignments.questions_of(connection, assignment_id)}
        answers = tuple(
            _kept_answer(connection, stored, questions[stored.question_id])
            for stored in sittings.items_of(connection, sitting.id)
        )
        names = {
            one.sitting.id: one.name for one in sittings.progress_of(connection, assignment_id)
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
    )


def kept_picture(
    house: House, actor: Actor, assignment_id: int, token: str, number: int
) -> tuple[str, bytes]:
    """Return the photograph of a question of somebody's sitting as it was when shown."""
    with house.read() as connection:
        watches(connection, actor, assignment_id)
        sitting = _sitting_in(connection, assignment_id, token)
        stored = sit.item_at(connection, sitting, number)
        found = sittings.picture_of(connection, stored.shown_hash)
    if found is None:
        raise NotFoundError("this question has no picture.", field="picture", value=number)
    return found


def _for_all(
    house: House,
    actor: Actor,
    assignment_id: int,
    deed: Deed,
    action: Action,
    *,
    now: datetime,
) -> int:
    _settle_all(house, actor, assignment_id, now=now)
    with house.write() as connection:
        runs(connection, actor, assignment_id, lock=True)
        found = [
            one
            for one in sittings.sittings_of(connection, assignment_id, lock=True)
            if may(one.state, deed)
        ]
        for one in found:
            clock = one.clock.pause(now) if deed is Deed.PAUSE else one.clock.go_on(now)
            sittings.keep_clock(connection, one.id, clock, after(one.state, deed))
        if found:
            note(
                connection,
                actor,
                action,
                f"assignment {assignment_id}",
                now=now,
                sittings=[one.id for one in found],
            )
    return len(found)


def _settle_all(house: House, actor: Actor, assignment_id: int, *, now: datetime) -> None:
    """Close what is over in an assignment the actor may watch."""
    with house.read() as connection:
        held = watches(connection, actor, assignment_id)
        over = [
            one.token
            for one in sittings.sittings_of(connection, assignment_id)
            if finishing.is_over(held, one, now)
        ]
    for token in over:
        sit.close_if_over(house, token, now=now)


def _rescore(connection: Connection, held: StoredAssignment) -> int:
    changed = 0
    for one in sittings.sittings_of(connection, held.id, lock=True):
        if one.state in FINISHED:
            before = (one.points, one.out_of)
            changed += finishing.rescore(connection, one) != before
    return changed


def _rows(
    held: StoredAssignment,
    takers: tuple[Taker, ...],
    progress: tuple[Progress, ...],
    now: datetime,
) -> tuple[Row, ...]:
    latest = {one.sitting.person_id: one for one in progress}
    extra = {taker.person_id: taker.extra_minutes for taker in takers}
    people = {taker.person_id: taker.name for taker in takers}
    people |= {one.sitting.person_id: one.name for one in progress}
    rows = [
        _row(held, key, name, latest.get(key), extra.get(key, 0), now)
        for key, name in people.items()
    ]
    return tuple(sorted(rows, key=lambda row: (row.name, row.person_id)))


def _row(
    held: StoredAssignment,
    person_id: int,
    name: str,
    one: Progress | None,
    extra: int,
    now: datetime,
) -> Row:
    if one is None:
        return Row(
            person_id, name, "", 0, "not begun", 0, 0, 0, None, None, None, None, None, extra
        )
    sitting = one.sitting
    running = sitting.state in RUNNING
    return Row(
        person_id,
        name,
        sitting.token,
        sitting.nth,
        sitting.state.value,
        one.answered,
        one.questions,
        one.look_again,
        finishing.ending(held, sitting, now) if running else None,
        sitting.clock.left(now) if running else None,
        sitting.last_at,
        sitting.points,
        sitting.out_of,
        extra,
    )


def _version(held: StoredAssignment, progress: tuple[Progress, ...], takers: int) -> str:
    facts = [
        (
            one.sitting.id,
            one.sitting.state.value,
            one.answered,
            one.look_again,
            one.sitting.added_ms,
            one.sitting.points,
        )
        for one in progress
    ]
    content = [facts, takers, held.start_code, held.issue.value, str(held.released_at)]
    return sit.hashed(json.dumps(content))[:16]


def _runs_it(connection: Connection, actor: Actor, assignment_id: int) -> bool:
    try:
        runs(connection, actor, assignment_id)
    except (NotFoundError, PermissionError):
        return False
    return True


def _taker(connection: Connection, held: StoredAssignment, person_id: int) -> Taker:
    for taker in assignments.takers_of(connection, held):
        if taker.person_id == person_id:
            return taker
    raise NotFoundError(
        "it is not for this person.",
        field="person",
        value=person_id,
        remedy="Choose one of those on the page.",
    )


def _sitting_in(connection: Connection, assignment_id: int, token: str) -> StoredSitting:
    sitting = sittings.find_sitting(connection, token)
    if sitting is None or sitting.assignment_id != assignment_id:
        raise NotFoundError(
            "there is no such sitting of this assignment.",
            field="sitting",
            value=token[:40],
            remedy="Choose one of those on the page.",
        )
    return sitting


def _title(question: StoredQuestion) -> str:
    family = all_families().get(question.item_ref)
    return family.title if family else question.item_ref.rpartition("/")[2].replace("-", " ")


def _given_so_far(item: Item, stored: StoredSittingItem) -> str:
    """Return in words the answer that stands while the sitting still goes on."""
    answer, why = finishing.readable(item, stored.seed, finishing.given_from(stored.given))
    if answer is None:
        return f"saved, but {why}" if stored.saved_at else ""
    return mark(item, answer).given_words


def _kept_answer(
    connection: Connection, stored: StoredSittingItem, question: StoredQuestion
) -> KeptAnswer:
    item = thaw(sittings.content_of(connection, stored.shown_hash))
    idea = all_misconceptions().get(stored.misconception or "")
    return KeptAnswer(
        stored.number,
        question.place,
        _title(question),
        item.prompt,
        tuple((option.text, option.correct) for option in item.shown_options),
        sittings.figure_of(connection, stored.shown_hash) or "",
        sittings.solution_of(connection, stored.shown_hash) or "",
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
    )
