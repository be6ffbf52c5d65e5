"""Where one absence stops the work, and the smallest training plan that mends it.

A job is covered on a shift when enough people there are ready for it. The plan is a
mixed-integer programme (SciPy's HiGHS), solved and not guessed.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import scipy

from quizsvc.errors import InputError

WANTED = 2  # people a job needs so that one absence does not stop it


@dataclass(frozen=True, slots=True)
class Person:
    id: str
    shift: str


@dataclass(frozen=True, slots=True)
class Gap:
    """A job on a shift with fewer ready people than wanted; ``ready`` are their ids."""

    job: str
    shift: str
    ready: tuple[str, ...]
    missing: int


@dataclass(frozen=True, slots=True)
class Training:
    person: str
    job: str
    effort: float


def cover_gaps(
    people: tuple[Person, ...],
    jobs: tuple[str, ...],
    ready: frozenset[tuple[str, str]],
    *,
    wanted: int = WANTED,
) -> tuple[Gap, ...]:
    """Return every job and shift with fewer than ``wanted`` ready people, fewest first.

    ``ready`` holds (person id, job id) pairs.
    """
    gaps = []
    for shift in sorted({person.shift for person in people}):
        for job in jobs:
            able = tuple(p.id for p in people if p.shift == shift and (p.id, job) in ready)
            if len(able) < wanted:
                gaps.append(Gap(job, shift, able, wanted - len(able)))
    return tuple(sorted(gaps, key=lambda gap: (len(gap.ready), gap.job, gap.shift)))


def smallest_training_plan(
    people: tuple[Person, ...],
    jobs: tuple[str, ...],
    ready: frozenset[tuple[str, str]],
    effort: Mapping[tuple[str, str], float],
    *,
    wanted: int = WANTED,
    most_jobs_each: int | None = None,
) -> tuple[Training, ...]:
    """Return who should be trained for what so that every job on every shift has ``wanted`` people.

    ``effort`` gives, for (person id, job id), how much is missing (topics to learn, tasks to
    show); a pair without an entry cannot be trained. The total effort is the least possible.

    Raises:
        InputError: too few people can be trained; the error names the jobs and shifts.
    """
    gaps = cover_gaps(people, jobs, ready, wanted=wanted)
    shift_of = {person.id: person.shift for person in people}
    pairs = sorted(pair for pair in effort if pair not in ready and pair[0] in shift_of)
    _refuse_hopeless(gaps, pairs, shift_of)
    if not gaps:
        return ()
    rows = np.array(
        [[job == gap.job and shift_of[who] == gap.shift for who, job in pairs] for gap in gaps],
        float,
    )
    constraints = [
        scipy.optimize.LinearConstraint(
            rows, np.array([gap.missing for gap in gaps], float), np.inf
        )
    ]
    if most_jobs_each is not None:
        mine = np.array([[who == person.id for who, _ in pairs] for person in people], float)
        constraints.append(scipy.optimize.LinearConstraint(mine, -np.inf, most_jobs_each))
    cost = np.array([effort[pair] for pair in pairs], float)
    result = scipy.optimize.milp(
        cost,
        constraints=constraints,
        integrality=np.ones(len(pairs), dtype=np.int64),
        bounds=scipy.optimize.Bounds(0, 1),
    )
    if result.x is None:
        raise InputError(
            "no plan gives every job enough people with so few jobs for each person.",
            field="most_jobs_each",
            value=most_jobs_each,
            remedy="Allow more jobs for each person.",
        )
    return tuple(
        Training(who, job, effort[who, job])
        for (who, job), taken in zip(pairs, result.x, strict=True)
        if taken > 0.5
    )


def _refuse_hopeless(
    gaps: tuple[Gap, ...], pairs: list[tuple[str, str]], shift_of: Mapping[str, str]
) -> None:
    hopeless = [
        f"{gap.job} ({gap.shift})"
        for gap in gaps
        if sum(job == gap.job and shift_of[who] == gap.shift for who, job in pairs) < gap.missing
    ]
    if hopeless:
        raise InputError(
            f"too few people can be trained for: {', '.join(hopeless)}.",
            field="people",
            remedy="Bring somebody into that shift, or let more people learn the job.",
        )
