"""Who is ready for which job: computed whenever it is read, never kept.

Whoever is looked at often enough passes once (see `scoring.standing`), so no state is stored:
what somebody lacks follows from the facts of the moment that is asked about, today or later.
A whole shop is one array of small numbers, people by needs; the words come from the same
numbers, so that a page of one person and the matrix cannot disagree.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import IntEnum, StrEnum
from statistics import NormalDist
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from quizsvc.rules.job_needs import JobNeeds, NeedKey, SchemeKey, SheetKey, TaskNeed, TopicNeed
from quizsvc.scoring.competence import DEFAULTS, FilterSettings
from quizsvc.scoring.standing import READY_ANSWERS, READY_CERTAINTY, READY_DAYS, TYPICAL, level_at

NEARLY_LACKS = 2  # at most so many things missing
_DEVIATIONS = NormalDist().inv_cdf(READY_CERTAINTY)
Numbers = NDArray[np.float64]
Codes = NDArray[np.int8]
K = TypeVar("K")


class ReadyState(StrEnum):
    READY = "ready"
    NEARLY = "nearly"
    NOT = "not ready"
    OUT_OF_DATE = "out of date"  # met once; time, a change or an end undid it


class Lack(IntEnum):
    """What keeps a need from being met."""

    NOTHING = 0
    FEW_ANSWERS = 1
    TOO_LOW = 2
    FADED = 3
    OLD = 4
    NO_CERTIFICATE = 5
    ENDED = 6
    NOT_SHOWN = 7
    UNREAD = 8
    NEW_REVISION = 9
    BRIDGE = 10


DATED = (Lack.FADED, Lack.OLD, Lack.ENDED, Lack.NEW_REVISION, Lack.BRIDGE)


# How much has to be done, in about half days; for the training plan. A guess, no source.
EFFORT = {
    Lack.NOTHING: 0.0,
    Lack.FEW_ANSWERS: 2.0,
    Lack.TOO_LOW: 2.0,
    Lack.FADED: 0.5,
    Lack.OLD: 0.5,
    Lack.NO_CERTIFICATE: 4.0,
    Lack.ENDED: 2.0,
    Lack.NOT_SHOWN: 1.0,
    Lack.UNREAD: 0.25,
    Lack.NEW_REVISION: 0.25,
    Lack.BRIDGE: 0.5,
}
_SHORT = {
    Lack.FEW_ANSWERS: "more answers",
    Lack.TOO_LOW: "practice",
    Lack.FADED: "faded",
    Lack.OLD: "too long ago",
    Lack.NO_CERTIFICATE: "certificate",
    Lack.ENDED: "certificate ended",
    Lack.NOT_SHOWN: "sign-off",
    Lack.UNREAD: "sheet to read",
    Lack.NEW_REVISION: "new revision to read",
    Lack.BRIDGE: "bridging quiz",
}


@dataclass(frozen=True, slots=True)
class TopicFacts:
    """A topic's column over all people; ``answers`` 0 where nothing was answered."""

    mean: Numbers
    variance: Numbers
    answers: Numbers
    days_idle: Numbers  # from the last answer to the moment asked about


@dataclass(frozen=True, slots=True)
class Facts:
    """What is known of people at a moment; every array has one place per person."""

    people: tuple[int, ...]
    general_mean: Numbers
    general_variance: Numbers
    topics: Mapping[str, TopicFacts]
    certified: Mapping[int, NDArray[np.bool_]]  # by scheme: valid at the moment
    once_certified: Mapping[int, NDArray[np.bool_]]
    shown: Mapping[tuple[int, str], NDArray[np.bool_]]  # by scheme and task
    read: Mapping[str, Numbers]  # by sheet: newest revision read, 0 for none
    newest: Mapping[str, int]  # by sheet: newest revision in use
    sheets_to_bridge: Mapping[str, NDArray[np.bool_]]  # by sheet: a bridging quiz is to be passed
    topics_to_bridge: Mapping[str, NDArray[np.bool_]]  # the same, after an item was withdrawn


@dataclass(frozen=True, slots=True)
class Matrix:
    """States of people by jobs, and what lies behind them."""

    needs: tuple[NeedKey, ...]
    codes: Codes  # people by needs
    of_job: tuple[tuple[int, ...], ...]  # by job: places of its needs
    states: Codes  # people by jobs: places in STATES


STATES = tuple(ReadyState)


def matrix(facts: Facts, jobs: Sequence[JobNeeds], settings: FilterSettings = DEFAULTS) -> Matrix:
    """Return who is ready for what at the moment the facts are of."""
    needs = tuple(dict.fromkeys(need for job in jobs for need in job.keys))
    codes = np.zeros((len(facts.people), len(needs)), np.int8)
    for place, need in enumerate(needs):
        codes[:, place] = _codes(facts, need, settings)
    at = {need: place for place, need in enumerate(needs)}
    of_job = tuple(tuple(at[need] for need in job.keys) for job in jobs)
    states = np.zeros((len(facts.people), len(jobs)), np.int8)
    for number, places in enumerate(of_job):
        states[:, number] = _states(codes[:, list(places)])
    return Matrix(needs, codes, of_job, states)


def _states(codes: Codes) -> Codes:
    lacking = codes != Lack.NOTHING
    count = lacking.sum(axis=1)
    dated = np.isin(codes, DATED) | ~lacking
    state = np.full(len(codes), STATES.index(ReadyState.NOT), np.int8)
    state[count <= NEARLY_LACKS] = STATES.index(ReadyState.NEARLY)
    state[dated.all(axis=1)] = STATES.index(ReadyState.OUT_OF_DATE)
    state[count == 0] = STATES.index(ReadyState.READY)
    return state


def _codes(facts: Facts, need: NeedKey, settings: FilterSettings) -> Codes:
    match need:
        case TopicNeed():
            return _topic_codes(facts, need, settings)
        case SchemeKey(scheme_id):
            lack = np.where(
                _held(facts.once_certified, scheme_id, facts), Lack.ENDED, Lack.NO_CERTIFICATE
            )
            return np.where(_held(facts.certified, scheme_id, facts), 0, lack).astype(np.int8)
        case TaskNeed(scheme_id, task):
            shown = _held(facts.shown, (scheme_id, task), facts)
            return np.where(shown, 0, Lack.NOT_SHOWN).astype(np.int8)
        case SheetKey(sheet_id):
            return _sheet_codes(facts, sheet_id)


def _held(column: Mapping[K, NDArray[np.bool_]], key: K, facts: Facts) -> NDArray[np.bool_]:
    found = column.get(key)
    return np.zeros(len(facts.people), np.bool_) if found is None else found


def _topic_codes(facts: Facts, need: TopicNeed, settings: FilterSettings) -> Codes:
    topic = facts.topics.get(need.topic)
    if topic is None:
        return np.full(len(facts.people), Lack.FEW_ANSWERS, np.int8)
    cut = level_at(need.cut, TYPICAL)
    now = _clears(facts, topic, topic.days_idle, cut, settings)
    then = _clears(facts, topic, np.zeros_like(topic.days_idle), cut, settings)
    code = np.where(now, Lack.NOTHING, np.where(then, Lack.FADED, Lack.TOO_LOW))
    code = np.where((topic.days_idle > READY_DAYS) & then, Lack.OLD, code)
    bridge = _held(facts.topics_to_bridge, need.topic, facts) & (code == Lack.NOTHING)
    code = np.where(bridge, Lack.BRIDGE, code)
    return np.where(topic.answers < READY_ANSWERS, Lack.FEW_ANSWERS, code).astype(np.int8)


def _clears(
    facts: Facts, topic: TopicFacts, days: Numbers, cut: float, settings: FilterSettings
) -> NDArray[np.bool_]:
    """Return whose level clears the cut surely enough; `scoring.competence.after_idle` for many."""
    kept = np.exp(-days / settings.fade_days)
    spread = (1 - kept * kept) + settings.idle_variance_per_day * days
    variance = np.minimum(settings.topic_variance, topic.variance * kept * kept + spread)
    mean = facts.general_mean + topic.mean * kept
    cleared: NDArray[np.bool_] = mean - cut >= _DEVIATIONS * np.sqrt(
        facts.general_variance + variance
    )
    return cleared


def _sheet_codes(facts: Facts, sheet_id: str) -> Codes:
    nobody = np.zeros(len(facts.people))
    read = facts.read.get(sheet_id, nobody)
    behind = read < facts.newest.get(sheet_id, 0)
    unread = np.where(read > 0, Lack.NEW_REVISION, Lack.UNREAD)
    bridge = np.where(_held(facts.sheets_to_bridge, sheet_id, facts), Lack.BRIDGE, Lack.NOTHING)
    return np.where(behind, unread, bridge).astype(np.int8)


def short_words(title: str, lack: Lack) -> str:
    """Say in a few words what is missing, for a cell of the matrix.

    >>> short_words("Timing marks", Lack.FADED)
    'Timing marks: faded'
    """
    return f"{title}: {_SHORT[lack]}"


def effort_of(lacks: Sequence[Lack]) -> float:
    """Return how much has to be done, in about half days."""
    return sum(EFFORT[lack] for lack in lacks)
