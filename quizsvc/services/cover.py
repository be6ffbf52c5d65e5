"""Cover: jobs that hang on one person, and the smallest training plan that gives each two."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from quizsvc.errors import InputError
from quizsvc.rules.actors import Actor
from quizsvc.rules.permissions import May, require
from quizsvc.rules.readiness import STATES, Lack, ReadyState, effort_of, short_words
from quizsvc.scoring.cover import WANTED, Gap, Person, cover_gaps, smallest_training_plan
from quizsvc.services.house import House
from quizsvc.services.readiness import NO_SHIFT, moment_of
from quizsvc.services.team_facts import Team, people_seen, team_at

MOST_WANTED = 9
MOST_PAIRS = 40_000  # people by jobs that are not ready; more would take the solver too long


@dataclass(frozen=True, slots=True)
class CoverCell:
    """A job on a shift: how many are ready, and who if it hangs on one."""

    ready: int
    only: str  # the name of the one it hangs on
    only_id: int | None


@dataclass(frozen=True, slots=True)
class CoverRow:
    job_id: int
    job: str
    cells: tuple[CoverCell, ...]  # by shift


@dataclass(frozen=True, slots=True)
class PlanLine:
    """Somebody to train for a job, and what is to be done."""

    person_id: int
    person: str
    shift: str
    job: str
    effort: float  # about half days
    steps: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CoverPage:
    on: date
    wanted: int
    shifts: tuple[str, ...]
    rows: tuple[CoverRow, ...]
    gaps: int
    plan: tuple[PlanLine, ...]
    effort: float
    no_plan: str  # why there is none


def read_cover(
    house: House,
    actor: Actor,
    *,
    wanted: int = WANTED,
    on: date | None = None,
    now: datetime,
) -> CoverPage:
    """Return who covers what on each shift, and the least training that mends every gap.

    Raises:
        InputError: an impossible number of people, or a day that is past.
    """
    require(actor, May.SEE_READINESS)
    if not 1 <= wanted <= MOST_WANTED:
        raise InputError(
            "that number of people cannot be asked for.",
            field="wanted",
            value=wanted,
            remedy=f"1 to {MOST_WANTED}.",
        )
    at = moment_of(on, now)
    with house.read() as connection:
        team = team_at(connection, actor.shop_id, people_seen(connection, actor), at=at)
    return _page(team, wanted)


def _page(team: Team, wanted: int) -> CoverPage:
    people = tuple(Person(str(one.id), one.shift or NO_SHIFT) for one in team.members)
    jobs = tuple(str(job.id) for job in team.jobs)
    ready = _ready(team)
    gaps = cover_gaps(people, jobs, ready, wanted=wanted)
    shifts = tuple(sorted({person.shift for person in people}))
    plan, why = _plan(team, people, jobs, ready, wanted) if gaps else ((), "")
    return CoverPage(
        on=team.at.date(),
        wanted=wanted,
        shifts=shifts,
        rows=_rows(team, people, shifts, gaps),
        gaps=len(gaps),
        plan=plan,
        effort=sum(line.effort for line in plan),
        no_plan=why,
    )


def _ready(team: Team) -> frozenset[tuple[str, str]]:
    is_ready = team.matrix.states == STATES.index(ReadyState.READY)
    return frozenset(
        (str(team.members[person].id), str(team.jobs[job].id))
        for person, job in zip(*is_ready.nonzero(), strict=True)
    )


def _rows(
    team: Team, people: tuple[Person, ...], shifts: tuple[str, ...], gaps: tuple[Gap, ...]
) -> tuple[CoverRow, ...]:
    names = {str(one.id): one.name for one in team.members}
    few = {(gap.job, gap.shift): gap for gap in gaps}
    counts = _counts(team, people, shifts)
    rows = []
    for number, job in enumerate(team.jobs):
        cells = []
        for shift in shifts:
            gap = few.get((str(job.id), shift))
            only = gap.ready[0] if gap and len(gap.ready) == 1 else ""
            cells.append(
                CoverCell(counts[shift][number], names.get(only, ""), int(only) if only else None)
            )
        rows.append(CoverRow(job.id, job.title, tuple(cells)))
    return tuple(rows)


def _counts(
    team: Team, people: tuple[Person, ...], shifts: tuple[str, ...]
) -> dict[str, list[int]]:
    is_ready = team.matrix.states == STATES.index(ReadyState.READY)
    return {
        shift: is_ready[[person.shift == shift for person in people]].sum(axis=0).tolist()
        for shift in shifts
    }


def _plan(
    team: Team,
    people: tuple[Person, ...],
    jobs: tuple[str, ...],
    ready: frozenset[tuple[str, str]],
    wanted: int,
) -> tuple[tuple[PlanLine, ...], str]:
    lacks = {
        (person.id, job): _lacks(team, place, number)
        for place, person in enumerate(people)
        for number, job in enumerate(jobs)
        if (person.id, job) not in ready
    }
    if len(lacks) > MOST_PAIRS:
        return (), "There are too many people and jobs for one plan; look at one shift or class."
    effort = {pair: effort_of([lack for _, lack in one]) for pair, one in lacks.items()}
    try:
        found = smallest_training_plan(people, jobs, ready, effort, wanted=wanted)
    except InputError as refused:
        return (), f"No plan can do it: {_readable(team, refused)}"
    members = {str(one.id): one for one in team.members}
    titles = {str(job.id): job.title for job in team.jobs}
    lines = tuple(
        PlanLine(
            members[one.person].id,
            members[one.person].name,
            members[one.person].shift or NO_SHIFT,
            titles[one.job],
            one.effort,
            tuple(short_words(title, lack) for title, lack in lacks[one.person, one.job]),
        )
        for one in found
    )
    return tuple(sorted(lines, key=lambda line: (line.shift, line.job, line.person))), ""


def _lacks(team: Team, person: int, job: int) -> list[tuple[str, Lack]]:
    return [
        (team.titles.of(team.matrix.needs[need]), Lack(int(team.matrix.codes[person, need])))
        for need in team.matrix.of_job[job]
        if team.matrix.codes[person, need]
    ]


def _readable(team: Team, refused: InputError) -> str:
    """Return the refusal with jobs by title; the solver knows them by key."""
    words = refused.problem
    for job in team.jobs:
        words = words.replace(f" {job.id} (", f" “{job.title}” (")
    return f"{words} {refused.remedy or ''}"
