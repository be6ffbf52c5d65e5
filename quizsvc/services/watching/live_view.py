"""Who is where in a test that goes on."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import Connection

from quizsvc.errors import NotFoundError
from quizsvc.rules.actors import Actor
from quizsvc.rules.assignments import Form, Issue
from quizsvc.rules.sittings import FINISHED, RUNNING, State
from quizsvc.services.assigning.access import runs, watches
from quizsvc.services.house import House
from quizsvc.services.sitting import finishing, one_place
from quizsvc.services.watching.ending import settle_all
from quizsvc.store import assignment_people, sitting_progress
from quizsvc.store.assignment_people import Taker
from quizsvc.store.assignments import StoredAssignment
from quizsvc.store.sitting_progress import Progress


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


def live(house: House, actor: Actor, assignment_id: int, *, now: datetime) -> Live:
    """Return who is where. Sittings whose time is over are closed first."""
    settle_all(house, actor, assignment_id, now=now)
    with house.read() as connection:
        held = watches(connection, actor, assignment_id)
        takers = assignment_people.takers_of(connection, held)
        progress = sitting_progress.progress_of(connection, assignment_id)
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
    return one_place.hashed(json.dumps(content))[:16]


def _runs_it(connection: Connection, actor: Actor, assignment_id: int) -> bool:
    try:
        runs(connection, actor, assignment_id)
    except (NotFoundError, PermissionError):
        return False
    return True
