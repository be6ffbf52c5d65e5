"""Readiness: what opens and shuts the gate, the same for one person as for thousands."""

from __future__ import annotations

import numpy as np
import pytest

from quizsvc.errors import InputError
from quizsvc.items.topics import TOPICS
from quizsvc.rules.job_needs import (
    JobNeeds,
    TaskNeed,
    TopicNeed,
    check_needs,
    check_words,
    from_text,
    plain_shift,
    to_text,
)
from quizsvc.rules.readiness import STATES, Facts, Lack, ReadyState, TopicFacts, matrix
from quizsvc.scoring.competence import Belief
from quizsvc.scoring.standing import stands

MARKS = JobNeeds((TopicNeed("marks", 0.7),))


def facts(mean=2.5, variance=0.1, answers=20, days=1.0, general=(0.5, 0.05), **more):
    column = TopicFacts(*(np.array([float(one)]) for one in (mean, variance, answers, days)))
    stated = {
        "people": (1,),
        "general_mean": np.array([general[0]]),
        "general_variance": np.array([general[1]]),
        "topics": {"marks": column},
        "certified": {},
        "once_certified": {},
        "shown": {},
        "read": {},
        "newest": {},
        "sheets_to_bridge": {},
        "topics_to_bridge": {},
    }
    return Facts(**(stated | more))


YES = np.array([True])


def state_of(job, **known):
    return STATES[matrix(facts(**known), [job]).states[0, 0]]


def lacks_of(job, **known):
    return [Lack(code) for code in matrix(facts(**known), [job]).codes[0]]


def test_somebody_who_clears_the_cut_surely_with_fresh_evidence_is_ready():
    assert state_of(MARKS) is ReadyState.READY


@pytest.mark.parametrize(
    ("known", "lack", "state"),
    [
        ({"answers": 9}, Lack.FEW_ANSWERS, ReadyState.NEARLY),
        ({"mean": 0.3}, Lack.TOO_LOW, ReadyState.NEARLY),
        ({"mean": 1.5, "variance": 1.0}, Lack.TOO_LOW, ReadyState.NEARLY),
        ({"days": 60.0, "mean": 1.5}, Lack.FADED, ReadyState.OUT_OF_DATE),
        ({"days": 91.0}, Lack.OLD, ReadyState.OUT_OF_DATE),
        ({"topics_to_bridge": {"marks": YES}}, Lack.BRIDGE, ReadyState.OUT_OF_DATE),
        ({"topics": {}}, Lack.FEW_ANSWERS, ReadyState.NEARLY),
    ],
)
def test_each_thing_that_shuts_a_topic_is_told_apart(known, lack, state):
    assert lacks_of(MARKS, **known) == [lack]
    assert state_of(MARKS, **known) is state


@pytest.mark.parametrize(
    ("job", "known", "lack"),
    [
        (JobNeeds(schemes=(3,)), {}, Lack.NO_CERTIFICATE),
        (JobNeeds(schemes=(3,)), {"once_certified": {3: YES}}, Lack.ENDED),
        (JobNeeds(schemes=(3,)), {"certified": {3: YES}, "once_certified": {3: YES}}, 0),
        (JobNeeds(tasks=(TaskNeed(3, "strip"),)), {}, Lack.NOT_SHOWN),
        (JobNeeds(tasks=(TaskNeed(3, "strip"),)), {"shown": {(3, "strip"): YES}}, 0),
        (JobNeeds(tasks=(TaskNeed(4, "strip"),)), {"shown": {(3, "strip"): YES}}, Lack.NOT_SHOWN),
        (JobNeeds(sheets=("e",)), {"newest": {"e": 1}}, Lack.UNREAD),
        (
            JobNeeds(sheets=("e",)),
            {"newest": {"e": 2}, "read": {"e": np.array([1.0])}},
            Lack.NEW_REVISION,
        ),
        (JobNeeds(sheets=("e",)), {"newest": {"e": 2}, "read": {"e": np.array([2.0])}}, 0),
        (
            JobNeeds(sheets=("e",)),
            {
                "newest": {"e": 2},
                "read": {"e": np.array([2.0])},
                "sheets_to_bridge": {"e": YES},
            },
            Lack.BRIDGE,
        ),
    ],
)
def test_certificates_signoffs_and_sheets_are_asked_for(job, known, lack):
    assert lacks_of(job, **known) == [lack]


def test_two_things_missing_is_nearly_and_three_is_not():
    two = JobNeeds(schemes=(1, 2))
    three = JobNeeds(schemes=(1, 2, 3))

    assert state_of(two) is ReadyState.NEARLY
    assert state_of(three) is ReadyState.NOT


def test_one_thing_never_met_among_things_out_of_date_is_not_called_out_of_date():
    job = JobNeeds((TopicNeed("marks"),), schemes=(1,))

    assert state_of(job, days=91.0) is ReadyState.NEARLY
    assert state_of(job, days=91.0, once_certified={1: YES}) is ReadyState.OUT_OF_DATE


def test_the_array_agrees_with_the_model_of_one_person():
    rng = np.random.default_rng(7)
    for _ in range(400):
        mean, variance = rng.normal(1.2, 1.0), rng.uniform(0.02, 0.8)
        answers, days = int(rng.integers(0, 30)), float(rng.uniform(0, 120))
        standing = stands(
            Belief(0.4, 0.06), Belief(mean, variance), answers=answers, days_idle=days
        )
        here = state_of(
            MARKS,
            mean=mean,
            variance=variance,
            answers=answers,
            days=days,
            general=(0.4, 0.06),
        )

        assert (here is ReadyState.READY) == standing.ready


def test_people_and_jobs_do_not_mix():
    column = TopicFacts(
        np.array([3.0, 0.0]), np.array([0.1, 0.1]), np.array([20.0, 20.0]), np.array([1.0, 1.0])
    )
    two = facts(
        people=(1, 2),
        general_mean=np.zeros(2),
        general_variance=np.full(2, 0.05),
        topics={"marks": column},
        certified={5: np.array([False, True])},
        once_certified={5: np.array([False, True])},
    )

    found = matrix(two, [MARKS, JobNeeds(schemes=(5,))])

    ready = found.states == STATES.index(ReadyState.READY)
    assert ready.tolist() == [[True, False], [False, True]]


def test_needs_are_written_and_read_alike():
    needs = JobNeeds(
        tuple(TopicNeed(topic.id, 0.6) for topic in TOPICS), (1, 2), (TaskNeed(1, "a"),), ("e",)
    )

    assert from_text(to_text(needs)) == needs


@pytest.mark.parametrize(
    ("needs", "field"),
    [
        (JobNeeds(), "needs"),
        (JobNeeds((TopicNeed("nothing", 0.7),)), "topic"),
        (JobNeeds((TopicNeed("marks", 0.4),)), "cut marks"),
        (JobNeeds((TopicNeed("marks", float("nan")),)), "cut marks"),
    ],
)
def test_impossible_needs_are_refused_by_name(needs, field):
    with pytest.raises(InputError) as refused:
        check_needs(needs)

    assert refused.value.field == field
    assert refused.value.remedy


def test_titles_and_shifts_have_a_plain_form():
    assert check_words("  Replace \n a chain ", " x ") == ("Replace a chain", "x")
    assert plain_shift("  early  turn ") == "early turn"
    for bad in ("", " ", "x" * 121):
        with pytest.raises(InputError):
            check_words(bad, "")
    with pytest.raises(InputError):
        plain_shift("x" * 41)
