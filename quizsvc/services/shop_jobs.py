"""Keep a shop's jobs and shifts: what each job asks of people, and who works when."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection

from quizsvc.errors import ConflictError, InputError, NotFoundError
from quizsvc.items.topics import TOPICS
from quizsvc.rules.actors import Actor
from quizsvc.rules.audit import Action
from quizsvc.rules.job_needs import (
    JobNeeds,
    SheetKey,
    check_needs,
    check_words,
    plain_shift,
    to_text,
)
from quizsvc.rules.permissions import May, require
from quizsvc.services.auditing import note
from quizsvc.services.house import House
from quizsvc.services.readiness import member_of, refusals_noted
from quizsvc.services.team_facts import Job, Titles, jobs_in, titles_in
from quizsvc.store import shop_jobs


@dataclass(frozen=True, slots=True)
class JobLine:
    """A job with what it asks, each in words."""

    job: Job
    needs: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class NeedChoices:
    """What a job may ask: (value, words) pairs."""

    topics: tuple[tuple[str, str], ...]
    schemes: tuple[tuple[int, str], ...]
    tasks: tuple[tuple[str, str], ...]  # value "scheme/task"
    sheets: tuple[tuple[str, str], ...]


def listed(house: House, actor: Actor) -> tuple[JobLine, ...]:
    """Return the jobs of the shop; everybody who works there may know what they ask."""
    with house.read() as connection:
        titles = titles_in(connection, actor.shop_id)
        jobs = jobs_in(connection, actor.shop_id)
    return tuple(JobLine(job, tuple(need_words(titles, job))) for job in jobs)


def need_words(titles: Titles, job: Job) -> list[str]:
    """Say in words what a job asks."""
    needs = job.needs
    words = [
        f"{titles.of(one)}: at least {one.cut:.0%} of typical questions" for one in needs.topics
    ]
    words += [
        f"Certificate: {titles.schemes.get(one, 'a scheme no more')}" for one in needs.schemes
    ]
    words += [f"Hands-on sign-off: {titles.of(one)}" for one in needs.tasks]
    words += [f"Newest revision read: {titles.of(SheetKey(one))}" for one in needs.sheets]
    return words


def choices(house: House, actor: Actor) -> NeedChoices:
    require(actor, May.KEEP_JOBS)
    with house.read() as connection:
        titles = titles_in(connection, actor.shop_id)
    return NeedChoices(
        tuple((topic.id, topic.title) for topic in TOPICS),
        tuple(sorted(titles.schemes.items(), key=lambda one: one[1])),
        tuple(
            (f"{scheme_id}/{task}", f"{title} ({titles.schemes[scheme_id]})")
            for (scheme_id, task), title in titles.tasks.items()
        ),
        tuple(sorted(titles.sheets.items(), key=lambda one: one[1])),
    )


def find(house: House, actor: Actor, job_id: int) -> Job:
    with house.read() as connection:
        return _find(connection, actor, job_id)


def keep(
    house: House,
    actor: Actor,
    job_id: int | None,
    title: str,
    about: str,
    needs: JobNeeds,
    *,
    now: datetime,
) -> int:
    """Make a job, or change the one named; return its key.

    Raises:
        ConflictError: another job has that title.
        InputError: it asks nothing, or something that is not there.
    """
    with refusals_noted(house, actor, f"job {job_id or 'new'}", now=now):
        require(actor, May.KEEP_JOBS)
        plain, words = check_words(title, about)
        check_needs(needs)
        with house.write() as connection:
            _check_known(titles_in(connection, actor.shop_id), needs)
            if shop_jobs.title_taken(connection, actor.shop_id, plain, by_other_than=job_id or 0):
                raise ConflictError(
                    "there is a job of this title, or was one.",
                    field="title",
                    value=plain,
                    remedy="Choose another.",
                )
            columns = {"title": plain, "about": words, "needs": to_text(needs)}
            if job_id is None:
                job_id = shop_jobs.add_job(
                    connection,
                    shop_id=actor.shop_id,
                    made_by=actor.person_id,
                    made_at=now,
                    **columns,
                )
            else:
                _find(connection, actor, job_id)
                shop_jobs.change_job(connection, job_id, **columns)
            note(connection, actor, Action.JOB_CHANGED, f"job {job_id}", now=now)
        return job_id


def end(house: House, actor: Actor, job_id: int, *, now: datetime) -> None:
    """Take a job off the list."""
    with refusals_noted(house, actor, f"job {job_id}", now=now):
        require(actor, May.KEEP_JOBS)
        with house.write() as connection:
            _find(connection, actor, job_id)
            shop_jobs.change_job(connection, job_id, ended_at=now)
            note(connection, actor, Action.JOB_CHANGED, f"job {job_id}", now=now, ended=True)


def set_shift(house: House, actor: Actor, person_id: int, shift: str, *, now: datetime) -> None:
    """Say on which shift somebody works; an empty name takes them off."""
    with refusals_noted(house, actor, f"person {person_id}", now=now):
        require(actor, May.KEEP_JOBS)
        plain = plain_shift(shift)
        with house.write() as connection:
            member_of(connection, actor, person_id)
            shop_jobs.set_shift(connection, actor.shop_id, person_id, plain)
            note(connection, actor, Action.SHIFT_CHANGED, f"person {person_id}", now=now)


def _find(connection: Connection, actor: Actor, job_id: int) -> Job:
    for job in jobs_in(connection, actor.shop_id):
        if job.id == job_id:
            return job
    raise NotFoundError(
        "there is no such job in this shop.",
        field="job",
        value=job_id,
        remedy="Go to the list of jobs.",
    )


def _check_known(titles: Titles, needs: JobNeeds) -> None:
    unknown = [
        *(("certificate", str(one)) for one in needs.schemes if one not in titles.schemes),
        *(
            ("sign-off", one.task)
            for one in needs.tasks
            if (one.scheme_id, one.task) not in titles.tasks
        ),
        *(("engine sheet", one) for one in needs.sheets if one not in titles.sheets),
    ]
    for field, value in unknown:
        raise InputError(
            "there is no such thing in this shop.",
            field=field,
            value=value[:40],
            remedy="Choose one of those on the page.",
        )
