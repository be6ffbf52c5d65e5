"""Gather what readiness is computed from: the people one may see, their summary rows, the jobs."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray
from sqlalchemy import Connection

from quizsvc.errors import NotFoundError
from quizsvc.items.topics import find_topic
from quizsvc.rules.actors import Actor
from quizsvc.rules.job_needs import (
    JobNeeds,
    NeedKey,
    SchemeKey,
    SheetKey,
    TaskNeed,
    TopicNeed,
    from_text,
)
from quizsvc.rules.permissions import May, allows
from quizsvc.rules.readiness import Facts, Matrix, TopicFacts, matrix
from quizsvc.rules.schemes import VersionState
from quizsvc.rules.schemes import from_text as terms_from
from quizsvc.scoring.competence import newcomer
from quizsvc.services.filter_constants import settings_in
from quizsvc.store import (
    classes,
    people_pages,
    read_revisions,
    schemes,
    sheets,
    shop_facts,
    shop_jobs,
)
from quizsvc.store.classes import Part
from quizsvc.store.read_revisions import BridgingLine
from quizsvc.store.shop_facts import Columns

BRIDGE_SHARE = 0.7  # of a bridging quiz to be right
_DAY = np.timedelta64(1, "D")
K = TypeVar("K")


@dataclass(frozen=True, slots=True)
class TeamMember:
    id: int
    name: str
    shift: str  # empty: none given


@dataclass(frozen=True, slots=True)
class Job:
    id: int
    title: str
    about: str
    needs: JobNeeds


@dataclass(frozen=True, slots=True)
class Titles:
    """What needs are called on a page."""

    schemes: Mapping[int, str]
    tasks: Mapping[tuple[int, str], str]
    sheets: Mapping[str, str]

    def of(self, need: NeedKey) -> str:
        match need:
            case TopicNeed(topic):
                return find_topic(topic).title
            case SchemeKey(scheme_id):
                return self.schemes.get(scheme_id, "A scheme that is no more")
            case TaskNeed(scheme_id, task):
                return self.tasks.get((scheme_id, task), task.replace("-", " "))
            case SheetKey(sheet_id):
                return self.sheets.get(sheet_id, sheet_id)


@dataclass(frozen=True, slots=True)
class Team:
    """People, jobs and who is ready for what at one moment."""

    at: datetime
    members: tuple[TeamMember, ...]
    jobs: tuple[Job, ...]
    titles: Titles
    facts: Facts
    matrix: Matrix
    certificate_ends: Mapping[tuple[int, int], datetime | None]  # by person and scheme

    def place_of(self, person_id: int) -> int:
        for place, member in enumerate(self.members):
            if member.id == person_id:
                return place
        raise NotFoundError(
            "there is no such person in your team.",
            field="person",
            value=person_id,
            remedy="Go to the overview of the team.",
        )

    def job_place(self, job_id: int) -> int:
        for place, job in enumerate(self.jobs):
            if job.id == job_id:
                return place
        raise NotFoundError(
            "there is no such job in this shop.",
            field="job",
            value=job_id,
            remedy="Go to the list of jobs.",
        )


def people_seen(connection: Connection, actor: Actor) -> tuple[TeamMember, ...]:
    """Return whose readiness the actor sees: all of the shop, or the classes they lead."""
    found = people_pages.active_learners(connection, actor.shop_id)
    if not allows(actor, May.SEE_SHOP_RECORDS):
        taught = {
            member.person_id
            for class_id in classes.led_by(connection, actor.person_id)
            for member in classes.members_of(connection, class_id)
            if member.part is Part.LEARNER
        }
        found = tuple(one for one in found if one[0] in taught)
    shifts = shop_jobs.shifts_of(connection, actor.shop_id)
    return tuple(TeamMember(key, name, shifts.get(key, "")) for key, name in found)


def jobs_in(connection: Connection, shop_id: int) -> tuple[Job, ...]:
    return tuple(
        Job(one.id, one.title, one.about, from_text(one.needs))
        for one in shop_jobs.jobs_of(connection, shop_id)
    )


def titles_in(connection: Connection, shop_id: int) -> Titles:
    """Return the names of the shop's published schemes, their tasks, and its sheets."""
    names: dict[int, str] = {}
    tasks: dict[tuple[int, str], str] = {}
    for version in schemes.versions_of_shop(connection, shop_id):
        if version.state is not VersionState.PUBLISHED:
            continue
        names[version.scheme_id] = version.title
        for task in terms_from(version.terms).tasks:
            tasks[version.scheme_id, task.id] = task.title
    latest = sheets.latest_published(connection, shop_id)
    return Titles(names, tasks, {one.sheet_id: one.title for one in latest})


def team_at(
    connection: Connection,
    shop_id: int,
    members: tuple[TeamMember, ...],
    *,
    at: datetime,
) -> Team:
    """Return who of these people is ready for what at a moment, today or later."""
    jobs = jobs_in(connection, shop_id)
    titles = titles_in(connection, shop_id)
    people = tuple(member.id for member in members)
    held = shop_facts.certificates_at(connection, shop_id, at=at)
    facts = _facts(connection, shop_id, people, held, at)
    computed = matrix(facts, [job.needs for job in jobs], settings_in(connection))
    ends = {(one[0], one[1]): one[3] for one in held if one[2]}
    return Team(at, members, jobs, titles, facts, computed, ends)


def _facts(
    connection: Connection,
    shop_id: int,
    people: tuple[int, ...],
    held: list[tuple[int, int, bool, datetime | None]],
    at: datetime,
) -> Facts:
    order = np.argsort(np.array(people, np.int64))
    ranked = np.array(people, np.int64)[order]
    start = newcomer(settings_in(connection))
    general = shop_facts.general_columns(connection, shop_id)
    rows, places = _placed(general, ranked, order)
    mean = np.full(len(people), start.general.mean)
    variance = np.full(len(people), start.general.variance)
    mean[places], variance[places] = general.mean[rows], general.variance[rows]
    latest = sheets.latest_published(connection, shop_id)
    at_place = {person: place for place, person in enumerate(people)}
    due = read_revisions.bridging_of(connection, shop_id, passing=BRIDGE_SHARE)
    return Facts(
        people=people,
        general_mean=mean,
        general_variance=variance,
        topics=_topics(shop_facts.topic_columns(connection, shop_id), ranked, order, at),
        certified=_flags(((one[1], one[0]) for one in held if one[2]), at_place),
        once_certified=_flags(((one[1], one[0]) for one in held), at_place),
        shown=_flags(
            (((one[1], one[2]), one[0]) for one in shop_facts.tasks_shown(connection, shop_id)),
            at_place,
        ),
        read=_read(read_revisions.newest_read(connection, shop_id), at_place),
        newest={one.sheet_id: one.revision for one in latest},
        sheets_to_bridge=_flags(
            ((one.sheet_id, person) for one in due if one.sheet_id for person in one.due), at_place
        ),
        topics_to_bridge=_flags(_bridged_topics(connection, due), at_place),
    )


def _placed(
    columns: Columns, ranked: NDArray[np.int64], order: NDArray[np.intp]
) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Return which rows are of people asked about, and where these people stand."""
    if not len(ranked) or not len(columns.people):
        return np.array([], np.intp), np.array([], np.intp)
    found = np.minimum(np.searchsorted(ranked, columns.people), len(ranked) - 1)
    rows = np.flatnonzero(ranked[found] == columns.people)
    return rows, order[found[rows]]


def _topics(
    columns: Columns, ranked: NDArray[np.int64], order: NDArray[np.intp], at: datetime
) -> dict[str, TopicFacts]:
    rows, places = _placed(columns, ranked, order)
    names = columns.topics[rows]
    moment = np.datetime64(at.astimezone(UTC).replace(tzinfo=None), "us")
    idle = np.maximum(0.0, (moment - columns.last_at[rows]) / _DAY)
    found = {}
    for topic in dict.fromkeys(names.tolist()):
        mine = names == topic
        where, row = places[mine], rows[mine]
        column = TopicFacts(*(np.zeros(len(ranked)) for _ in range(4)))
        column.mean[where] = columns.mean[row]
        column.variance[where] = columns.variance[row]
        column.answers[where] = columns.answers[row]
        column.days_idle[where] = idle[mine]
        found[topic] = column
    return found


def _flags(
    pairs: Iterable[tuple[K, int]], at_place: Mapping[int, int]
) -> dict[K, NDArray[np.bool_]]:
    """Return for each key who of the people has it."""
    found: dict[K, NDArray[np.bool_]] = {}
    for key, person in pairs:
        column = found.setdefault(key, np.zeros(len(at_place), np.bool_))
        if person in at_place:
            column[at_place[person]] = True
    return found


def _read(
    newest: Mapping[tuple[int, str], int], at_place: Mapping[int, int]
) -> dict[str, NDArray[np.float64]]:
    found: dict[str, NDArray[np.float64]] = {}
    for (person, sheet_id), revision in newest.items():
        column = found.setdefault(sheet_id, np.zeros(len(at_place)))
        if person in at_place:
            column[at_place[person]] = revision
    return found


def _bridged_topics(
    connection: Connection, due: tuple[BridgingLine, ...]
) -> Iterable[tuple[str, int]]:
    by_item = [one for one in due if one.item_ref and one.due]
    topics = read_revisions.topics_asked(connection, [one.assignment_id for one in by_item])
    for one in by_item:
        for topic in topics.get(one.assignment_id, ()):
            for person in one.due:
                yield topic, person
