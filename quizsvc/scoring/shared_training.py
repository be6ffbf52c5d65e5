"""The least training that covers every job, where one lesson may serve several jobs.

Somebody who has learnt a topic for one job needs not learn it again for another, so effort
belongs to a person's steps and not to pairs of person and job. A mixed-integer programme:
choose pairs so that every gap is closed; a pair needs all its steps; each step costs once.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import scipy

from quizsvc.errors import InputError
from quizsvc.scoring.cover import Gap

SECONDS = 5.0  # the solver may take; then the best found so far, said to be that
Pair = tuple[str, str]  # person, job
Step = tuple[str, str]  # person, what to learn or show


@dataclass(frozen=True, slots=True)
class SharedPlan:
    """Who is trained for what, the steps that takes, and whether less was proven impossible."""

    pairs: tuple[Pair, ...]
    steps: tuple[Step, ...]
    effort: float
    proven: bool


def least_shared_training(
    gaps: tuple[Gap, ...],
    shift_of: Mapping[str, str],
    lacks: Mapping[Pair, frozenset[str]],
    effort: Mapping[Step, float],
) -> SharedPlan:
    """Return the plan of least effort that closes every gap.

    ``lacks`` gives for each person and job they may be trained for what is missing; ``effort``
    what each step costs that person. Steps that several jobs need are counted once.

    Raises:
        InputError: too few people can be trained; the error names the jobs and shifts.
    """
    if not gaps:
        return SharedPlan((), (), 0.0, proven=True)
    pairs = sorted(pair for pair in lacks if pair[0] in shift_of)
    steps = sorted({(who, what) for who, job in pairs for what in lacks[who, job]})
    _refuse_hopeless(gaps, pairs, shift_of)
    cost = np.concatenate([np.full(len(pairs), 1e-6), [effort[step] for step in steps]])
    whole = np.concatenate([np.ones(len(pairs)), np.zeros(len(steps))])
    found = scipy.optimize.milp(
        cost,
        constraints=[
            _closes(gaps, pairs, shift_of, len(cost)),
            _needs_steps(pairs, steps, lacks, len(cost)),
        ],
        integrality=whole.astype(np.int64),
        bounds=scipy.optimize.Bounds(0, 1),
        options={"time_limit": SECONDS},
    )
    if found.x is None:
        raise InputError(
            "no plan was found in the time there is.",
            field="people",
            value=len(pairs),
            remedy="Look at one shift or job at a time.",
        )
    chosen = tuple(pair for pair, taken in zip(pairs, found.x, strict=False) if taken > 0.5)
    needed = sorted({(who, what) for who, job in chosen for what in lacks[who, job]})
    total = sum(effort[step] for step in needed)
    return SharedPlan(chosen, tuple(needed), total, proven=found.status == 0)


def _closes(
    gaps: tuple[Gap, ...], pairs: list[Pair], shift_of: Mapping[str, str], width: int
) -> scipy.optimize.LinearConstraint:
    """Say that each gap gets as many pairs as people are missing."""
    at = {(gap.job, gap.shift): row for row, gap in enumerate(gaps)}
    entries = [
        (at[job, shift_of[who]], column)
        for column, (who, job) in enumerate(pairs)
        if (job, shift_of[who]) in at
    ]
    least = np.array([gap.missing for gap in gaps], float)
    return scipy.optimize.LinearConstraint(_ones(entries, len(gaps), width), least, np.inf)


def _needs_steps(
    pairs: list[Pair], steps: list[Step], lacks: Mapping[Pair, frozenset[str]], width: int
) -> scipy.optimize.LinearConstraint:
    """Say that whoever is trained for a job takes all its steps: step − pair ≥ 0."""
    place = {step: len(pairs) + n for n, step in enumerate(steps)}
    links = [
        (column, place[who, what])
        for column, (who, job) in enumerate(pairs)
        for what in sorted(lacks[who, job])
    ]
    rows = np.repeat(np.arange(len(links)), 2)
    columns = np.array(links, np.int64).reshape(-1)
    values = np.tile([-1.0, 1.0], len(links))
    matrix = scipy.sparse.coo_array((values, (rows, columns)), shape=(len(links), width)).tocsc()
    return scipy.optimize.LinearConstraint(matrix, 0.0, np.inf)


def _ones(entries: list[tuple[int, int]], height: int, width: int) -> Any:
    rows, columns = np.array(entries, np.int64).T
    return scipy.sparse.coo_array(
        (np.ones(len(entries)), (rows, columns)), shape=(height, width)
    ).tocsc()


def _refuse_hopeless(gaps: tuple[Gap, ...], pairs: list[Pair], shift_of: Mapping[str, str]) -> None:
    there: dict[tuple[str, str], int] = {}
    for who, job in pairs:
        key = (job, shift_of[who])
        there[key] = there.get(key, 0) + 1
    hopeless = [
        f"{gap.job} ({gap.shift})"
        for gap in gaps
        if there.get((gap.job, gap.shift), 0) < gap.missing
    ]
    if hopeless:
        raise InputError(
            f"too few people can be trained for: {', '.join(hopeless)}.",
            field="people",
            remedy="Bring somebody into that shift, or let more people learn the job.",
        )
