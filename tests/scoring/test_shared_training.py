"""The least training where a lesson serves several jobs, against trying every choice."""

from __future__ import annotations

from itertools import combinations
from random import Random

import pytest

from quizsvc.errors import InputError
from quizsvc.scoring.cover import Person, cover_gaps
from quizsvc.scoring.shared_training import least_shared_training

PEOPLE = tuple(Person(f"p{n}", "early" if n < 3 else "late") for n in range(5))
SHIFT = {person.id: person.shift for person in PEOPLE}
JOBS = ("chain", "belt")
LESSONS = ("marks", "wear", "signals")


def effort_of(pairs, lacks, effort):
    return sum(effort[step] for step in {(who, w) for who, job in pairs for w in lacks[who, job]})


def closes(pairs, gaps):
    return all(
        sum(job == gap.job and SHIFT[who] == gap.shift for who, job in pairs) >= gap.missing
        for gap in gaps
    )


def by_trying(gaps, lacks, effort):
    return min(
        effort_of(chosen, lacks, effort)
        for size in range(len(lacks) + 1)
        for chosen in combinations(lacks, size)
        if closes(chosen, gaps)
    )


@pytest.mark.parametrize("seed", range(25))
def test_no_choice_of_people_takes_less(seed):
    draw = Random(seed)
    ready = frozenset((p.id, job) for p in PEOPLE for job in JOBS if draw.random() < 0.2)
    gaps = cover_gaps(PEOPLE, JOBS, ready)
    lacks = {
        (p.id, job): frozenset(draw.sample(LESSONS, draw.randint(1, 3)))
        for p in PEOPLE
        for job in JOBS
        if (p.id, job) not in ready
    }
    effort = {(p.id, lesson): draw.choice((0.5, 1.0, 2.0)) for p in PEOPLE for lesson in LESSONS}

    plan = least_shared_training(gaps, SHIFT, lacks, effort)

    assert plan.proven
    assert closes(plan.pairs, gaps)
    assert plan.effort == pytest.approx(effort_of(plan.pairs, lacks, effort))
    assert plan.effort == pytest.approx(by_trying(gaps, lacks, effort))


def test_a_lesson_that_serves_two_jobs_is_counted_once():
    people = (Person("a", "early"), Person("b", "early"))
    gaps = cover_gaps(people, JOBS, frozenset(), wanted=1)
    lacks = {(p.id, job): frozenset({"marks"}) for p in people for job in JOBS}
    effort = {("a", "marks"): 2.0, ("b", "marks"): 2.0}

    plan = least_shared_training(gaps, {"a": "early", "b": "early"}, lacks, effort)

    assert plan.effort == 2.0
    assert len(plan.steps) == 1


def test_nothing_to_close_takes_nothing():
    assert least_shared_training((), SHIFT, {}, {}).pairs == ()


def test_a_shift_with_too_few_people_is_named():
    people = (Person("a", "night"),)
    gaps = cover_gaps(people, ("chain",), frozenset())

    with pytest.raises(InputError, match=r"chain \(night\)"):
        least_shared_training(
            gaps, {"a": "night"}, {("a", "chain"): frozenset({"m"})}, {("a", "m"): 1.0}
        )
