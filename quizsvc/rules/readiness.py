"""Who is ready for which job: computed whenever it is read, never kept.

Whoever is looked at often enough passes once (see `scoring.standing`), so no state is stored:
what somebody lacks follows from the facts of the moment that is asked about, today or later.
A whole shop is one array of small numbers, people by needs; the words come from the same
numbers, so that a page of one person and the matrix cannot disagree.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from enum import IntEnum, StrEnum
from statistics import NormalDist
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from quizsvc.errors import InputError
from quizsvc.items.topics import TOPICS
from quizsvc.scoring.competence import DEFAULTS, FilterSettings
from quizsvc.scoring.standing import (
    CUT,
    READY_ANSWERS,
    READY_CERTAINTY,
    READY_DAYS,
    TYPICAL,
    level_at,
)

NEARLY_LACKS = 2  # at most so many things missing
LOWEST_CUT, HIGHEST_CUT = 0.5, 0.95
MOST_TITLE, MOST_ABOUT, MOST_SHIFT = 120, 1000, 40
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
class TopicNeed:
    """A topic in which typical items are got right with a chance of at least ``cut``."""

    topic: str
    cut: float = CUT


@dataclass(frozen=True, slots=True)
class TaskNeed:
    """A hands-on task of a scheme, signed off."""

    scheme_id: int
    task: str


@dataclass(frozen=True, slots=True)
class JobNeeds:
    """All that a job asks of somebody who does it."""

    topics: tuple[TopicNeed, ...] = ()
    schemes: tuple[int, ...] = ()
    tasks: tuple[TaskNeed, ...] = ()
    sheets: tuple[str, ...] = ()

    @property
    def keys(self) -> tuple[NeedKey, ...]:
        """Every need in the order in which it is told."""
        return (
            *self.topics,
            *(SchemeKey(one) for one in self.schemes),
            *self.tasks,
            *(SheetKey(one) for one in self.sheets),
        )


@dataclass(frozen=True, slots=True)
class SchemeKey:
    scheme_id: int


@dataclass(frozen=True, slots=True)
class SheetKey:
    sheet_id: str


NeedKey = TopicNeed | SchemeKey | TaskNeed | SheetKey


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


def check_needs(needs: JobNeeds) -> JobNeeds:
    """Return a job's needs if somebody could meet them.

    Raises:
        InputError: it asks nothing, or something impossible.
    """
    if not needs.keys:
        raise InputError(
            "a job has to ask something of people.",
            field="needs",
            value="nothing",
            remedy="Choose at least one topic, certificate, sign-off or sheet.",
        )
    known = {topic.id for topic in TOPICS}
    for need in needs.topics:
        if need.topic not in known:
            raise InputError(
                "there is no such topic.",
                field="topic",
                value=need.topic[:40],
                remedy="Choose one of those on the page.",
            )
        if not LOWEST_CUT <= need.cut <= HIGHEST_CUT:
            raise InputError(
                "that share cannot be asked.",
                field=f"cut {need.topic}",
                value=need.cut,
                remedy=f"{LOWEST_CUT:.0%} to {HIGHEST_CUT:.0%}.",
            )
    return needs


def check_words(title: str, about: str) -> tuple[str, str]:
    """Return title and description of a job in plain form."""
    plain = " ".join(title.split())
    if not 1 <= len(plain) <= MOST_TITLE:
        raise InputError(
            f"a title has from 1 to {MOST_TITLE} characters.",
            field="title",
            value=plain[:40],
            remedy="Name the work, for example “Replace a primary chain”.",
        )
    if len(about) > MOST_ABOUT:
        raise InputError(
            "that is too long.",
            field="about",
            value="…",
            remedy=f"At most {MOST_ABOUT} characters.",
        )
    return plain, about.strip()


def plain_shift(text: str) -> str:
    """Return the name of a shift in plain form; empty for none."""
    plain = " ".join(text.split())
    if len(plain) > MOST_SHIFT:
        raise InputError(
            f"the name of a shift has at most {MOST_SHIFT} characters.",
            field="shift",
            value=plain[:MOST_SHIFT],
            remedy="Shorten it, for example “early”.",
        )
    return plain


def to_text(needs: JobNeeds) -> str:
    return json.dumps(asdict(needs), sort_keys=True)


def from_text(text: str) -> JobNeeds:
    """Return needs as `to_text` wrote them.

    >>> needs = JobNeeds((TopicNeed("marks", 0.8),), (3,), (TaskNeed(3, "strip"),), ("demo",))
    >>> from_text(to_text(needs)) == needs
    True
    """
    data = json.loads(text)
    return JobNeeds(
        tuple(TopicNeed(one["topic"], one["cut"]) for one in data["topics"]),
        tuple(data["schemes"]),
        tuple(TaskNeed(one["scheme_id"], one["task"]) for one in data["tasks"]),
        tuple(data["sheets"]),
    )


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
