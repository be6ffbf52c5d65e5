"""Work that takes long: kept in the database, done by whichever worker is free, told as it goes.

A worker that is stopped leaves its job to the next; every kind of work here can be begun again
from the start without doing anything twice.
"""

from __future__ import annotations

import logging
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from quizsvc.errors import NotFoundError, QuizsvcError
from quizsvc.rules.actors import Actor
from quizsvc.rules.permissions import May, require
from quizsvc.services.house import House
from quizsvc.store import jobs
from quizsvc.store.jobs import MOST_ATTEMPTS, JobRow, JobState

__all__ = ["JobRow", "JobState"]

_log = logging.getLogger(__name__)
Clock = Callable[[], datetime]


@dataclass(frozen=True, slots=True)
class Work:
    """A claimed job as its worker sees it."""

    house: House
    job: JobRow
    payload: str
    clock: Clock

    def tell(self, done: int, total: int) -> None:
        """Say how far the work is; also keeps other workers from taking it over."""
        with self.house.write() as connection:
            jobs.beat(connection, self.job.id, done=done, total=total, now=self.clock())

    @property
    def actor(self) -> Actor:
        """Whoever asked for the work; what they may do was checked when they asked."""
        return Actor(self.job.person_id or 0, "", self.job.shop_id or 0, frozenset())


KINDS: dict[str, Callable[[Work], str]] = {}


def kind_of_work(name: str) -> Callable[[Callable[[Work], str]], Callable[[Work], str]]:
    """Register a function that does one kind of work and returns its result as text."""

    def register(function: Callable[[Work], str]) -> Callable[[Work], str]:
        KINDS[name] = function
        return function

    return register


def ask_for(
    house: House, actor: Actor, kind: str, payload: str, *, total: int = 0, now: datetime
) -> int:
    """Put a job in the queue and return its key."""
    with house.write() as connection:
        return jobs.add(
            connection,
            kind,
            payload,
            shop_id=actor.shop_id,
            person_id=actor.person_id,
            total=total,
            now=now,
        )


def job_of(house: House, actor: Actor, job_id: int) -> JobRow:
    """Return a job of the actor's shop."""
    require(actor, May.WRITE_ITEMS)
    with house.read() as connection:
        found = jobs.find(connection, job_id)
    if found is None or found.shop_id != actor.shop_id:
        raise NotFoundError("there is no such work here.", field="job", value=job_id)
    return found


def run_next(house: House, clock: Clock, *, job_id: int | None = None) -> bool:
    """Do the next job, or the one named if it is still free; return whether there was one."""
    with house.write() as connection:
        job = jobs.claim(connection, job_id=job_id, now=clock())
    if job is None:
        return False
    with house.read() as connection:
        payload = jobs.payload_of(connection, job.id)
    state, result = _do(Work(house, job, payload, clock))
    with house.write() as connection:
        jobs.end(connection, job.id, state, result, now=clock())
    return True


def _do(work: Work) -> tuple[JobState, str]:
    if work.job.attempts >= MOST_ATTEMPTS:
        return JobState.FAILED, "It was stopped several times; ask whoever runs the server."
    try:
        return JobState.DONE, KINDS[work.job.kind](work)
    except QuizsvcError as refused:
        return JobState.FAILED, str(refused)
    except Exception:  # noqa: BLE001 - a failed job is told to whoever asked for it
        _log.exception("job %s (%s) failed", work.job.id, work.job.kind)
        return JobState.FAILED, "Something went wrong in the server; it was written to the log."
