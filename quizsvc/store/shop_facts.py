"""What readiness is computed from, for a whole shop at once: summary rows only, no answers.

Times come as the driver gives them: turning some ten thousand into Python's own would take
longer than the query.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

import numpy as np
from numpy.typing import NDArray
from sqlalchemy import Connection, func, select, type_coerce
from sqlalchemy.types import NullType

from quizsvc.rules.actors import Role
from quizsvc.rules.certificate_life import CertificateState, Life, state_at
from quizsvc.rules.certifying import SignOffState
from quizsvc.store.certificates import Certificate
from quizsvc.store.competence import GeneralCompetence, TopicCompetence
from quizsvc.store.people import Membership
from quizsvc.store.schemes import SchemeVersion
from quizsvc.store.signoffs import TaskSignOff


@dataclass(frozen=True, slots=True)
class Columns:
    """Rows as columns: of whom, of which topic, and what is believed."""

    people: NDArray[np.int64]
    topics: NDArray[np.object_]
    mean: NDArray[np.float64]
    variance: NDArray[np.float64]
    answers: NDArray[np.float64]
    last_at: NDArray[np.datetime64]


def general_columns(connection: Connection, shop_id: int) -> Columns:
    """Return the general levels of a shop's learners."""
    rows = connection.execute(
        select(
            GeneralCompetence.person_id,
            GeneralCompetence.mean,
            GeneralCompetence.variance,
            GeneralCompetence.answers,
            type_coerce(GeneralCompetence.last_at, NullType()),
        ).where(GeneralCompetence.person_id.in_(_learners(shop_id)))
    )
    people, mean, variance, answers, last = _turned(rows, 5)
    return _columns(people, np.array([], object), mean, variance, answers, last)


def topic_columns(connection: Connection, shop_id: int) -> Columns:
    """Return the topics of a shop's learners, one row per person and topic."""
    rows = connection.execute(
        select(
            TopicCompetence.person_id,
            TopicCompetence.topic,
            TopicCompetence.mean,
            TopicCompetence.variance,
            TopicCompetence.answers,
            type_coerce(TopicCompetence.last_at, NullType()),
        ).where(TopicCompetence.person_id.in_(_learners(shop_id)))
    )
    people, topics, mean, variance, answers, last = _turned(rows, 6)
    return _columns(people, topics, mean, variance, answers, last)


def certificates_at(
    connection: Connection, shop_id: int, *, at: datetime
) -> list[tuple[int, int, bool, datetime | None]]:
    """Return (person, scheme, valid at the moment, until when) of a shop's certificates."""
    rows = connection.execute(
        select(
            Certificate.person_id,
            SchemeVersion.scheme_id,
            Certificate.issued_at,
            Certificate.valid_until,
            Certificate.suspended_at,
            Certificate.revoked_at,
        )
        .join(SchemeVersion, SchemeVersion.id == Certificate.version_id)
        .where(Certificate.shop_id == shop_id)
    )
    return [
        (row[0], row[1], state_at(Life(*row[2:]), at) is CertificateState.VALID, row[3])
        for row in rows
        if row[2] <= at
    ]


def tasks_shown(connection: Connection, shop_id: int) -> list[tuple[int, int, str]]:
    """Return (person, scheme, task) where the latest sign-off that was finished was passed."""
    latest = (
        select(func.max(TaskSignOff.id))
        .join(SchemeVersion, SchemeVersion.id == TaskSignOff.version_id)
        .where(TaskSignOff.shop_id == shop_id, TaskSignOff.state == SignOffState.DONE.value)
        .group_by(TaskSignOff.person_id, SchemeVersion.scheme_id, TaskSignOff.task)
    )
    rows = connection.execute(
        select(TaskSignOff.person_id, SchemeVersion.scheme_id, TaskSignOff.task)
        .join(SchemeVersion, SchemeVersion.id == TaskSignOff.version_id)
        .where(TaskSignOff.id.in_(latest), TaskSignOff.passed.is_(True))
    )
    return [(row[0], row[1], row[2]) for row in rows]


def _learners(shop_id: int) -> Any:
    return select(Membership.person_id).where(
        Membership.shop_id == shop_id, Membership.role == Role.LEARNER.value
    )


def _turned(result: Any, width: int) -> tuple[Any, ...]:
    """Return columns of a result, its rows as the driver gives them.

    A row object for each of 26,000 takes twice as long as the query.
    """
    rows = result.cursor.fetchall() if result.cursor else []
    result.close()
    table = np.array(rows, object).reshape(len(rows), width)
    return tuple(table[:, column] for column in range(width))


def _columns(
    people: Any, topics: Any, mean: Any, variance: Any, answers: Any, last: Any
) -> Columns:
    return Columns(
        np.array(people, np.int64),
        topics,
        np.array(mean, np.float64),
        np.array(variance, np.float64),
        np.array(answers, np.float64),
        _times(last),
    )


def _times(values: Sequence[Any]) -> NDArray[np.datetime64]:
    """Return times in UTC: SQLite's driver gives text, PostgreSQL's aware times."""
    if len(values) and not isinstance(values[0], str):
        values = [one.astimezone(UTC).replace(tzinfo=None) for one in values]
    return np.array(list(values), "datetime64[us]")
