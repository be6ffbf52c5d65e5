"""Forms that meet a blueprint and equal each other; training plans that are the smallest."""

from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quizsvc.errors import InputError
from quizsvc.scoring.cover import Person, cover_gaps, smallest_training_plan
from quizsvc.scoring.form_assembly import (
    Cell,
    PoolItem,
    Targets,
    assemble_form,
    missing_from_pool,
    typical_targets,
)

BLUEPRINT = (Cell("marks", "apply", 4), Cell("marks", "diagnose", 2), Cell("cycle", "recall", 3))
LOOSE = Targets(5, 50, 2, 50)


def pool(seed=1, each=14, **changes):
    chance = np.random.default_rng(seed)
    return tuple(
        PoolItem(
            f"{topic}-{level}-{n}",
            topic,
            level,
            expected=float(chance.uniform(0.4, 0.9)),
            information=float(chance.uniform(0.1, 0.5)),
            **changes,
        )
        for topic, level in (("marks", "apply"), ("marks", "diagnose"), ("cycle", "recall"))
        for n in range(each)
    )


@given(st.integers(0, 10_000))
@settings(max_examples=25, deadline=None)
def test_every_form_meets_the_blueprint_and_the_tolerances(seed):
    items = pool()
    targets = typical_targets(items, BLUEPRINT)

    form = assemble_form(items, BLUEPRINT, targets, seed=seed)

    by_id = {one.id: one for one in items}
    for cell in BLUEPRINT:
        inside = [
            i for i in form.items if (by_id[i].topic, by_id[i].level) == (cell.topic, cell.level)
        ]
        assert len(inside) == cell.count
    assert sum(by_id[i].expected for i in form.items) == pytest.approx(form.expected)
    assert abs(form.expected - targets.expected) <= targets.expected_tolerance + 1e-6
    assert abs(form.information - targets.information) <= targets.information_tolerance + 1e-6


def test_two_candidates_get_different_forms_and_the_same_seed_the_same():
    items = pool()
    targets = typical_targets(items, BLUEPRINT)

    forms = {seed: assemble_form(items, BLUEPRINT, targets, seed=seed) for seed in range(12)}

    assert len({form.items for form in forms.values()}) == 12
    assert assemble_form(items, BLUEPRINT, targets, seed=3) == forms[3]


def test_items_that_answer_each_other_never_stand_together():
    friends = frozenset(f"marks-apply-{n}" for n in range(11))
    items = tuple(
        PoolItem(i.id, i.topic, i.level, i.expected, i.information, answers=friends - {i.id})
        if i.id in friends
        else i
        for i in pool()
    )

    form = assemble_form(items, BLUEPRINT, LOOSE, seed=1)

    assert len(friends & set(form.items)) <= 1


def test_little_used_items_come_first():
    items = tuple(
        PoolItem(i.id, i.topic, i.level, i.expected, i.information, used=int(n % 2 == 0))
        for n, i in enumerate(pool())
    )

    form = assemble_form(items, BLUEPRINT, LOOSE, seed=1)

    assert {one.used for one in items if one.id in form.items} == {0}


def test_an_item_at_its_exposure_limit_and_one_seen_before_stay_out():
    items = pool(each=5)
    worn = PoolItem("marks-apply-worn", "marks", "apply", 0.7, 0.3, used=9)
    barred = frozenset({"cycle-recall-0"})
    targets = Targets(5, 50, 2, 50, most_used=9)

    forms = [
        assemble_form((*items, worn), BLUEPRINT, targets, seed=s, barred=barred) for s in range(5)
    ]

    assert not any({worn.id, *barred} & set(form.items) for form in forms)


def test_a_pool_too_small_is_told_with_what_is_missing():
    items = tuple(one for one in pool() if one.level != "diagnose")

    assert missing_from_pool(items, BLUEPRINT) == ((Cell("marks", "diagnose", 2), 2),)
    with pytest.raises(InputError, match="2 more of marks, diagnose"):
        assemble_form(items, BLUEPRINT, LOOSE, seed=1)


def test_tolerances_nobody_can_meet_are_told():
    with pytest.raises(InputError, match="expected score"):
        assemble_form(pool(), BLUEPRINT, Targets(100, 0.1, 2, 50), seed=1)


def test_too_many_items_that_answer_each_other_are_told():
    ids = frozenset(one.id for one in pool())
    items = tuple(
        PoolItem(i.id, i.topic, i.level, i.expected, i.information, answers=ids - {i.id})
        for i in pool()
    )

    with pytest.raises(InputError, match="answer each other"):
        assemble_form(items, BLUEPRINT, LOOSE, seed=1)


PEOPLE = tuple(Person(name, shift) for name, shift in zip("abcdef", "eeelll", strict=True))


def test_a_job_that_hangs_on_one_person_is_named_with_the_shift():
    ready = frozenset({("a", "belt"), ("b", "belt"), ("d", "belt")})

    gaps = cover_gaps(PEOPLE, ("belt",), ready)

    assert [(gap.job, gap.shift, gap.ready, gap.missing) for gap in gaps] == [
        ("belt", "l", ("d",), 1)
    ]


@given(st.integers(0, 10_000))
@settings(max_examples=30, deadline=None)
def test_the_plan_is_the_smallest_by_brute_force(seed):
    chance = np.random.default_rng(seed)
    jobs = ("belt", "chain")
    ready = frozenset((p.id, j) for p in PEOPLE for j in jobs if chance.random() < 0.4)
    effort = {(p.id, j): float(chance.integers(1, 6)) for p in PEOPLE for j in jobs}

    plan = smallest_training_plan(PEOPLE, jobs, ready, effort)

    def covers(pairs):
        return not cover_gaps(PEOPLE, jobs, ready | frozenset(pairs))

    open_pairs = [pair for pair in effort if pair not in ready]
    best = min(
        sum(effort[pair] for pair in pairs)
        for size in range(len(open_pairs) + 1)
        for pairs in combinations(open_pairs, size)
        if covers(pairs)
    )
    assert covers((step.person, step.job) for step in plan)
    assert sum(step.effort for step in plan) == pytest.approx(best)


def test_nobody_is_given_more_jobs_than_allowed():
    effort = {(p.id, j): 1.0 for p in PEOPLE for j in ("belt", "chain", "cam")}

    plan = smallest_training_plan(
        PEOPLE, ("belt", "chain", "cam"), frozenset(), effort, most_jobs_each=2
    )

    assert max(sum(step.person == p.id for step in plan) for p in PEOPLE) == 2
    with pytest.raises(InputError, match="most_jobs_each"):
        smallest_training_plan(
            PEOPLE, ("belt", "chain", "cam"), frozenset(), effort, most_jobs_each=1
        )


def test_a_shift_without_enough_people_is_named():
    with pytest.raises(InputError, match=r"belt \(l\)"):
        smallest_training_plan(PEOPLE, ("belt",), frozenset(), {("a", "belt"): 1, ("b", "belt"): 1})
