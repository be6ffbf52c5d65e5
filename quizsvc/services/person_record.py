"""A person's own page: jobs and why not, certificates, topics, and what to do next."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import Connection

from quizsvc.errors import NotAllowedError
from quizsvc.items.topics import TOPICS
from quizsvc.rules.actors import Actor
from quizsvc.rules.certificate_life import CertificateState, state_at
from quizsvc.rules.job_needs import NeedKey, SheetKey, TopicNeed
from quizsvc.rules.permissions import May, allows, owns
from quizsvc.rules.readiness import EFFORT, STATES, Lack, ReadyState
from quizsvc.scoring.standing import READY_ANSWERS, READY_DAYS
from quizsvc.services.filter_constants import settings_in
from quizsvc.services.house import House
from quizsvc.services.readiness import member_of, moment_of, refusals_noted
from quizsvc.services.shown import TopicStanding
from quizsvc.services.standings import shown_standing, standing_now
from quizsvc.services.team_facts import Team, TeamMember, team_at
from quizsvc.store import certificates, competence, shop_jobs


@dataclass(frozen=True, slots=True)
class LackLine:
    """One thing that is missing for a job, in words, with what to do about it."""

    words: str
    deed: str
    topic: str  # to practise; empty: nothing to practise
    sheet: str  # to read
    effort: float


@dataclass(frozen=True, slots=True)
class JobStanding:
    job_id: int
    title: str
    state: ReadyState
    met: tuple[str, ...]
    lacks: tuple[LackLine, ...]
    until: datetime | None  # when the first certificate it hangs on ends


@dataclass(frozen=True, slots=True)
class HeldCertificate:
    token: str
    scheme: str
    state: CertificateState
    issued_at: datetime
    valid_until: datetime | None


@dataclass(frozen=True, slots=True)
class PersonPage:
    member: TeamMember
    is_own: bool
    may_keep_shift: bool
    on: date
    ahead: bool
    jobs: tuple[JobStanding, ...]
    certificates: tuple[HeldCertificate, ...]
    topics: tuple[TopicStanding, ...]
    next_step: LackLine | None
    next_for: str  # the job it brings nearer


def read_person(
    house: House, actor: Actor, person_id: int, *, on: date | None = None, now: datetime
) -> PersonPage:
    """Return how a person stands for each job, and why not.

    Everybody sees their own page; managers those of the shop, instructors those of their classes.

    Raises:
        NotFoundError: it is somebody of another shop or class; that is noted in the audit log.
    """
    with refusals_noted(house, actor, f"person {person_id}", now=now):
        at = moment_of(on, now)
        with house.read() as connection:
            member = _member(connection, actor, person_id)
            team = team_at(connection, actor.shop_id, (member,), at=at)
            held = certificates.certificates_of(
                connection, shop_id=actor.shop_id, person_id=person_id
            )
            topics = _topics(connection, person_id, at)
    jobs = tuple(_standing(team, number) for number in range(len(team.jobs)))
    step, job = _next(jobs)
    return PersonPage(
        member=member,
        is_own=owns(actor, person_id),
        may_keep_shift=allows(actor, May.KEEP_JOBS),
        on=at.date(),
        ahead=at > now,
        jobs=jobs,
        certificates=tuple(
            HeldCertificate(
                one.token, one.scheme_title, state_at(one.life, at), one.issued_at, one.valid_until
            )
            for one in held
        ),
        topics=topics,
        next_step=step,
        next_for=job,
    )


def _member(connection: Connection, actor: Actor, person_id: int) -> TeamMember:
    if owns(actor, person_id):
        shift = shop_jobs.shifts_of(connection, actor.shop_id).get(person_id, "")
        return TeamMember(person_id, actor.name, shift)
    if not allows(actor, May.SEE_READINESS):
        raise NotAllowedError(
            "this is another person's record.",
            field="person",
            value=person_id,
            remedy="You see your own under “Record”.",
        )
    return member_of(connection, actor, person_id)


def _topics(connection: Connection, person_id: int, at: datetime) -> tuple[TopicStanding, ...]:
    general = competence.general_of(connection, person_id)
    rows = competence.topics_of(connection, person_id)
    settings = settings_in(connection)
    return tuple(
        shown_standing(
            topic,
            standing_now(general, rows[topic.id], now=at, settings=settings),
            rows[topic.id].last_at,
        )
        for topic in TOPICS
        if topic.id in rows
    )


def _standing(team: Team, number: int) -> JobStanding:
    job, needs = team.jobs[number], team.matrix.of_job[number]
    found = [(team.matrix.needs[n], Lack(int(team.matrix.codes[0, n]))) for n in needs]
    met = tuple(_met_words(team, need) for need, lack in found if not lack)
    lacks = tuple(_lack_line(team, need, lack) for need, lack in found if lack)
    state = STATES[team.matrix.states[0, number]]
    return JobStanding(job.id, job.title, state, met, lacks, min(_ends(team, number), default=None))


def _ends(team: Team, number: int) -> Iterator[datetime]:
    for scheme_id in team.jobs[number].needs.schemes:
        end = team.certificate_ends.get((team.members[0].id, scheme_id))
        if end is not None:
            yield end


def _met_words(team: Team, need: NeedKey) -> str:
    title = team.titles.of(need)
    match need:
        case TopicNeed(topic):
            days = round(float(team.facts.topics[topic].days_idle[0]))
            ago = f"{days} days ago" if days != 1 else "a day ago"
            return f"{title}: clear enough; last answer {ago if days else 'within a day'}"
        case SheetKey(sheet_id):
            return f"{title}: revision {team.facts.newest.get(sheet_id, 0)} read"
        case _:
            return title


def _lack_line(team: Team, need: NeedKey, lack: Lack) -> LackLine:
    title = team.titles.of(need)
    topic = need.topic if isinstance(need, TopicNeed) and lack is not Lack.BRIDGE else ""
    sheet = need.sheet_id if isinstance(need, SheetKey) and lack is not Lack.BRIDGE else ""
    return LackLine(
        f"{title}: {_why(team, need, lack)}", _DEEDS[lack].format(title), topic, sheet, EFFORT[lack]
    )


def _why(team: Team, need: NeedKey, lack: Lack) -> str:
    """Say why a need is not met, with the numbers that decide."""
    if isinstance(need, TopicNeed):
        facts = team.facts.topics.get(need.topic)
        answers = int(facts.answers[0]) if facts else 0
        days = round(float(facts.days_idle[0])) if facts else 0
        words = {
            Lack.FEW_ANSWERS: f"{answers} answers so far, {READY_ANSWERS} are needed",
            Lack.TOO_LOW: f"it is not clear enough yet that {need.cut:.0%} would be right",
            Lack.FADED: f"it was clear {days} days ago, but knowledge fades without practice",
            Lack.OLD: f"the last answer is {days} days old; at most {READY_DAYS:.0f} are allowed",
            Lack.BRIDGE: "an item you were asked was withdrawn; a bridging quiz is to be passed",
        }
        return words[lack]
    if isinstance(need, SheetKey):
        newest = team.facts.newest.get(need.sheet_id, 0)
        words = {
            Lack.UNREAD: f"revision {newest} has not been read",
            Lack.NEW_REVISION: f"revision {newest} came after the one that was read",
            Lack.BRIDGE: f"revision {newest} changed answers; a bridging quiz is to be passed",
        }
        return words[lack]
    return {
        Lack.NO_CERTIFICATE: "no certificate yet",
        Lack.ENDED: "the certificate has ended, or is suspended or revoked",
        Lack.NOT_SHOWN: "not signed off yet",
    }[lack]


_DEEDS = {
    Lack.FEW_ANSWERS: "Practise “{}”",
    Lack.TOO_LOW: "Practise “{}”",
    Lack.FADED: "Practise “{}” again",
    Lack.OLD: "Practise “{}” again",
    Lack.NO_CERTIFICATE: "Ask your instructor to admit you to “{}”",
    Lack.ENDED: "Ask your instructor about renewing “{}”",
    Lack.NOT_SHOWN: "Show “{}” to an assessor at the vehicle",
    Lack.UNREAD: "Read the sheet “{}”",
    Lack.NEW_REVISION: "Read what changed in “{}”",
    Lack.BRIDGE: "Do the bridging quiz on “{}”, under “Due”",
}


def _next(jobs: tuple[JobStanding, ...]) -> tuple[LackLine | None, str]:
    """Return the smallest step for the job that is least far away."""
    open_jobs = [job for job in jobs if job.lacks]
    if not open_jobs:
        return None, ""
    nearest = min(open_jobs, key=lambda job: (sum(one.effort for one in job.lacks), job.title))
    return min(nearest.lacks, key=lambda one: one.effort), nearest.title
