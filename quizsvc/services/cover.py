"""Cover: jobs that hang on one person, and the smallest training plan that gives each two."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from quizsvc.errors import InputError
from quizsvc.rules.actors import Actor
from quizsvc.rules.permissions import May, require
from quizsvc.rules.readiness import EFFORT, STATES, Lack, ReadyState, effort_of, short_words
from quizsvc.scoring.cover import WANTED, Gap, Person, cover_gaps
from quizsvc.scoring.shared_training import SharedPlan, least_shared_training
from quizsvc.services.house import House
from quizsvc.services.readiness import NO_SHIFT, moment_of
from quizsvc.services.team_facts import Team, people_seen, team_at

MOST_WANTED = 9
NEAREST = 20  # people who may be trained for a job on a shift: those who lack least


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
    """Somebody to train, for which jobs, and what is to be done."""

    person_id: int
    person: str
    shift: str
    jobs: tuple[str, ...]
    steps: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CoverPage:
    on: date
    wanted: int
    shifts: tuple[str, ...]
    rows: tuple[CoverRow, ...]
    gaps: int
    plan: tuple[PlanLine, ...]
    effort: float  # about half days, each step counted once
    proven: bool  # that no plan takes less
    no_plan: str  # why there is none
    nearest: int = NEAREST


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
    plan, why = _plan(team, people, ready, gaps)
    return CoverPage(
        on=team.at.date(),
        wanted=wanted,
        shifts=shifts,
        rows=_rows(team, people, shifts, gaps),
        gaps=len(gaps),
        plan=_lines(team, plan),
        effort=plan.effort if plan else 0.0,
        proven=plan.proven if plan else False,
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
    team: Team, people: tuple[Person, ...], ready: frozenset[tuple[str, str]], gaps: tuple[Gap, ...]
) -> tuple[SharedPlan | None, str]:
    """Return the least training that closes the gaps, or why there is none."""
    lacks, effort = _to_learn(team, people, ready, gaps)
    shift_of = {person.id: person.shift for person in people}
    try:
        return least_shared_training(gaps, shift_of, lacks, effort), ""
    except InputError as refused:
        return None, f"No plan can do it: {_readable(team, refused)}"


def _to_learn(
    team: Team, people: tuple[Person, ...], ready: frozenset[tuple[str, str]], gaps: tuple[Gap, ...]
) -> tuple[dict[tuple[str, str], frozenset[str]], dict[tuple[str, str], float]]:
    """Return what each person lacks for jobs short of people on their shift, and its effort.

    Of each gap only the nearest are candidates: a shop of thousands would keep the solver busy
    for minutes, and whoever lacks most is never chosen.
    """
    short = {(gap.job, gap.shift): gap.missing for gap in gaps}
    near: dict[tuple[str, str], list[tuple[float, str, frozenset[str]]]] = {}
    effort: dict[tuple[str, str], float] = {}
    for place, person in enumerate(people):
        for number, job in enumerate(team.jobs):
            key = (str(job.id), person.shift)
            if key not in short or (person.id, key[0]) in ready:
                continue
            found = _lacks(team, place, number)
            effort.update({(person.id, words): EFFORT[lack] for words, lack in found})
            size = effort_of([lack for _, lack in found])
            near.setdefault(key, []).append((size, person.id, frozenset(w for w, _ in found)))
    return {
        (who, job): steps
        for (job, _), ones in near.items()
        for _, who, steps in sorted(ones, key=lambda one: one[:2])[:NEAREST]
    }, effort


def _lines(team: Team, plan: SharedPlan | None) -> tuple[PlanLine, ...]:
    """Return the plan person by person."""
    titles = {str(job.id): job.title for job in team.jobs}
    lines = []
    for member in team.members:
        jobs = (
            tuple(titles[job] for who, job in plan.pairs if who == str(member.id)) if plan else ()
        )
        if jobs and plan:
            steps = tuple(words for who, words in plan.steps if who == str(member.id))
            shift = member.shift or NO_SHIFT
            lines.append(PlanLine(member.id, member.name, shift, jobs, steps))
    return tuple(sorted(lines, key=lambda line: (line.shift, line.person)))


def _lacks(team: Team, person: int, job: int) -> list[tuple[str, Lack]]:
    return [
        (short_words(team.titles.of(team.matrix.needs[need]), lack), lack)
        for need in team.matrix.of_job[job]
        if (lack := Lack(int(team.matrix.codes[person, need])))
    ]


def _readable(team: Team, refused: InputError) -> str:
    """Return the refusal with jobs by title; the solver knows them by key."""
    words = refused.problem
    for job in team.jobs:
        words = words.replace(f" {job.id} (", f" “{job.title}” (")
    return f"{words} {refused.remedy or ''}"
