"""Jobs of the shop, and what is believed of people, for tests of readiness."""

from __future__ import annotations

from sqlalchemy import insert, text
from workshop import NOON

from quizsvc.rules.job_needs import JobNeeds, TopicNeed
from quizsvc.services import readiness, shop_jobs
from quizsvc.services.readiness import Wanted
from quizsvc.store.competence import GeneralCompetence, TopicCompetence

MARKS = JobNeeds((TopicNeed("marks", 0.6),), sheets=("demo-inline-four",))


def know(house, actor, *, topic="marks", mean=2.5, at=NOON):
    """Put what is believed of somebody into the summary rows, as answers would have."""
    with house.write() as connection:
        connection.execute(
            insert(GeneralCompetence).values(
                person_id=actor.person_id, mean=0.5, variance=0.05, answers=20, last_at=at
            )
        )
        connection.execute(
            insert(TopicCompetence).values(
                person_id=actor.person_id,
                topic=topic,
                mean=mean,
                variance=0.1,
                answers=20,
                right_answers=18,
                last_at=at,
            )
        )


def add_job(house, manager, title="Replace a primary chain", needs=MARKS):
    return shop_jobs.keep(house, manager, None, title, "", needs, now=NOON)


def state_of(house, viewer, actor, *, on=None, now=NOON):
    page = readiness.read_matrix(house, viewer, Wanted(on=on), now=now)
    row = next(row for row in page.rows if row.member.id == actor.person_id)
    return page.cells[row.cells[0]]


def refusals(house):
    with house.read() as connection:
        wanted = "SELECT count(*) FROM audit_entry WHERE action = 'record refused'"
        return connection.execute(text(wanted)).scalar_one()
