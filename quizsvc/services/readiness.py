"""The readiness matrix of a shop, and why somebody is not ready for a job."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta

import numpy as np
from sqlalchemy import Connection

from quizsvc.errors import InputError, NotAllowedError, NotFoundError
from quizsvc.rules.actors import Actor
from quizsvc.rules.audit import Action
from quizsvc.rules.permissions import May, require
from quizsvc.rules.readiness import STATES, Lack, ReadyState, short_words
from quizsvc.services.auditing import note
from quizsvc.services.house import House
from quizsvc.services.team_facts import Team, TeamMember, people_seen, team_at

PAGE = 100  # people
FARTHEST_DAYS = 730
NO_SHIFT = "no shift"
_CODES_IN_A_NUMBER = 15  # of 4 bits each in 64, the sign left alone


@dataclass(frozen=True, slots=True)
class Wanted:
    """What of the matrix is asked for; empty or None: all."""

    words: str = ""  # in the name
    shift: str = ""
    job_id: int | None = None
    state: ReadyState | None = None
    on: date | None = None  # a day ahead
    page: int = 1
    whole: bool = False  # everybody on one page


@dataclass(frozen=True, slots=True)
class Cell:
    state: ReadyState
    words: str  # what is missing; empty when ready, or too much to list


@dataclass(frozen=True, slots=True)
class MatrixRow:
    member: TeamMember
    cells: tuple[int, ...]  # places in the page's cells


@dataclass(frozen=True, slots=True)
class JobColumn:
    id: int
    title: str
    counts: tuple[tuple[ReadyState, int], ...]  # over everybody who fits the filter


@dataclass(frozen=True, slots=True)
class MatrixPage:
    """The part of the matrix asked for. Cells that say the same are one."""

    on: date
    ahead: bool
    jobs: tuple[JobColumn, ...]
    all_jobs: tuple[tuple[int, str], ...]
    shifts: tuple[str, ...]
    cells: tuple[Cell, ...]
    rows: tuple[MatrixRow, ...]
    people: int  # who fits the filter
    page: int
    pages: int


def read_matrix(house: House, actor: Actor, wanted: Wanted, *, now: datetime) -> MatrixPage:
    """Return who is ready for what, computed now.

    Raises:
        InputError: a day that is past or too far ahead.
        NotAllowedError: the actor sees nobody's readiness.
    """
    require(actor, May.SEE_READINESS)
    at = moment_of(wanted.on, now)
    with house.read() as connection:
        team = team_at(connection, actor.shop_id, people_seen(connection, actor), at=at)
    return _page(team, wanted, ahead=at > now)


def moment_of(on: date | None, now: datetime) -> datetime:
    """Return the moment a day ahead is looked at: its noon; today, or without a day, now."""
    if on is None or on == now.astimezone(UTC).date():
        return now
    at = datetime.combine(on, time(12), UTC)
    if at < now:
        raise InputError(
            "that day is past; readiness is computed from what is known now.",
            field="on",
            value=on.isoformat(),
            remedy="Choose today or a day ahead.",
        )
    if at > now + timedelta(days=FARTHEST_DAYS):
        raise InputError(
            "that is too far ahead.",
            field="on",
            value=on.isoformat(),
            remedy=f"At most {FARTHEST_DAYS} days.",
        )
    return at


def day_in(text: str) -> date | None:
    """Return the day in a form's field; None where it is empty."""
    if not text.strip():
        return None
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        raise InputError(
            "that is no date.",
            field="on",
            value=text[:20],
            remedy="Write it as 2026-03-01.",
        ) from None


@contextmanager
def refusals_noted(house: House, actor: Actor, subject: str, *, now: datetime) -> Iterator[None]:
    """Let a refusal to see or change somebody's record pass, and note it in the audit log."""
    try:
        yield
    except (NotFoundError, NotAllowedError) as refusal:
        with house.write() as connection:
            note(
                connection,
                actor,
                Action.RECORD_REFUSED,
                subject,
                now=now,
                problem=refusal.problem,
            )
        raise


def member_of(connection: Connection, actor: Actor, person_id: int) -> TeamMember:
    """Return somebody whose readiness the actor sees.

    Raises:
        NotFoundError: anybody else, of another shop above all.
    """
    for member in people_seen(connection, actor):
        if member.id == person_id:
            return member
    raise NotFoundError(
        "there is no such person in your team.",
        field="person",
        value=person_id,
        remedy="Go to the overview of the team.",
    )


def _page(team: Team, wanted: Wanted, *, ahead: bool) -> MatrixPage:
    columns = _columns_wanted(team, wanted)
    states = team.matrix.states[:, columns]
    people = _people_wanted(team, wanted, states)
    pages = max(1, -(-len(people) // PAGE))
    page = min(max(1, wanted.page), pages)
    shown = people if wanted.whole else people[(page - 1) * PAGE : page * PAGE]
    cells, places = _cells(team, columns, shown)
    return MatrixPage(
        on=team.at.astimezone(UTC).date(),
        ahead=ahead,
        jobs=tuple(
            JobColumn(team.jobs[job].id, team.jobs[job].title, _counts(states[people, n]))
            for n, job in enumerate(columns)
        ),
        all_jobs=tuple((job.id, job.title) for job in team.jobs),
        shifts=tuple(sorted({member.shift for member in team.members if member.shift})),
        cells=cells,
        rows=tuple(
            MatrixRow(team.members[person], row) for person, row in zip(shown, places, strict=True)
        ),
        people=len(people),
        page=1 if wanted.whole else page,
        pages=1 if wanted.whole else pages,
    )


def _columns_wanted(team: Team, wanted: Wanted) -> list[int]:
    if wanted.job_id is None:
        return list(range(len(team.jobs)))
    return [team.job_place(wanted.job_id)]


def _people_wanted(team: Team, wanted: Wanted, states: np.ndarray) -> list[int]:
    words = wanted.words.casefold().strip()
    fits = np.ones(len(team.members), np.bool_)
    if wanted.state is not None:
        fits = (states == STATES.index(wanted.state)).any(axis=1)
    return [
        place
        for place, member in enumerate(team.members)
        if fits[place]
        and words in member.name.casefold()
        and wanted.shift in ("", member.shift or NO_SHIFT)
    ]


def _counts(states: np.ndarray) -> tuple[tuple[ReadyState, int], ...]:
    found = np.bincount(states, minlength=len(STATES))
    return tuple((state, int(count)) for state, count in zip(STATES, found, strict=True))


def _cells(
    team: Team, columns: list[int], people: list[int]
) -> tuple[tuple[Cell, ...], list[tuple[int, ...]]]:
    """Return the different cells, and for each person the places of theirs.

    Thousands of cells say a few hundred different things; each is put into words once.
    """
    cells: dict[Cell, int] = {}
    by_job = []
    for job in columns:
        codes = team.matrix.codes[np.ix_(people, team.matrix.of_job[job])]
        _, firsts, which = np.unique(_as_numbers(codes), return_index=True, return_inverse=True)
        places = []
        for first in firsts.tolist():
            state = STATES[team.matrix.states[people[first], job]]
            cell = Cell(state, _cell_words(team, job, codes[first], state))
            places.append(cells.setdefault(cell, len(cells)))
        by_job.append(np.array(places, np.int64)[which].tolist())
    rows: list[tuple[int, ...]] = list(zip(*by_job, strict=True)) or [()] * len(people)
    return tuple(cells), rows


def _as_numbers(codes: np.ndarray) -> np.ndarray:
    """Return one whole number per row, alike only where the rows are: base 16, 15 to a number."""
    numbers = np.zeros(len(codes), np.int64)
    for start in range(0, codes.shape[1], _CODES_IN_A_NUMBER):
        part = codes[:, start : start + _CODES_IN_A_NUMBER].astype(np.int64)
        _, ranks = np.unique(numbers, return_inverse=True)
        _, packed = np.unique(part @ 16 ** np.arange(part.shape[1]), return_inverse=True)
        numbers = ranks * len(codes) + packed
    return numbers


def _cell_words(team: Team, job: int, codes: np.ndarray, state: ReadyState) -> str:
    lacking = codes.nonzero()[0].tolist()
    if state is ReadyState.NOT:
        return f"{len(lacking)} things missing"
    needs = team.matrix.of_job[job]
    return "; ".join(_lack_words(team, needs[at], int(codes[at])) for at in lacking)


def _lack_words(team: Team, need: int, code: int) -> str:
    return short_words(team.titles.of(team.matrix.needs[need]), Lack(code))
