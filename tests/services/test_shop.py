"""The shop: who is ready, why not, cover, what a change touches, and other people's shops."""

from __future__ import annotations

import io
from datetime import date, timedelta

import pytest
from openpyxl import load_workbook
from shop_jobs_made import add_job, know, refusals, state_of
from sqlalchemy import update
from workshop import NOON

from quizsvc.errors import ConflictError, InputError, NotAllowedError, NotFoundError
from quizsvc.rules.actors import Actor, Role
from quizsvc.rules.job_needs import JobNeeds, TopicNeed
from quizsvc.rules.readiness import ReadyState
from quizsvc.services import (
    auditing,
    cover,
    person_record,
    read_sheets,
    readiness,
    shop_jobs,
    shop_report,
)
from quizsvc.services.readiness import Wanted
from quizsvc.store.competence import TopicCompetence


def test_somebody_who_knows_the_topic_and_read_the_sheet_is_ready(house, max_, ana):
    add_job(house, max_)
    know(house, ana)

    before = state_of(house, max_, ana)
    read_sheets.say_read(house, ana, "demo-inline-four", 1, now=NOON)

    assert before.state is ReadyState.NEARLY
    assert before.words.endswith("sheet to read")
    assert state_of(house, max_, ana).state is ReadyState.READY


def test_a_day_ahead_what_is_not_practised_is_out_of_date(house, max_, ana):
    add_job(house, max_)
    know(house, ana, mean=1.6)
    read_sheets.say_read(house, ana, "demo-inline-four", 1, now=NOON)

    soon = state_of(house, max_, ana, on=date(2026, 3, 4))
    late = state_of(house, max_, ana, on=date(2026, 6, 20))

    assert soon.state is ReadyState.READY
    assert late.state is ReadyState.OUT_OF_DATE
    assert "Timing marks" in late.words
    assert state_of(house, max_, ana).state is ReadyState.READY  # looking ahead keeps nothing


@pytest.mark.parametrize("on", [date(2026, 3, 1), date(2029, 1, 1)])
def test_a_day_that_is_past_or_too_far_is_refused(house, max_, on):
    with pytest.raises(InputError) as refused:
        readiness.read_matrix(house, max_, Wanted(on=on), now=NOON)

    assert refused.value.field == "on"


def test_the_page_says_why_not_in_words_with_the_numbers(house, max_, ana):
    add_job(house, max_)
    know(house, ana, at=NOON - timedelta(days=95))

    page = person_record.read_person(house, ana, ana.person_id, now=NOON)

    (job,) = page.jobs
    said = " ".join(lack.words for lack in job.lacks)
    assert "95 days old; at most 90" in said
    assert "revision 1 has not been read" in said
    assert page.next_step.deed.startswith("Read the sheet")


def test_readiness_is_stored_nowhere(house, max_, ana):
    add_job(house, max_)
    know(house, ana)
    state_of(house, max_, ana)

    with house.write() as connection:
        connection.execute(update(TopicCompetence).values(mean=-2.0))

    assert state_of(house, max_, ana).state is not ReadyState.READY


def test_a_learner_sees_only_their_own_page(house, ana, ben):
    assert person_record.read_person(house, ana, ana.person_id, now=NOON).is_own

    with pytest.raises(NotAllowedError):
        readiness.read_matrix(house, ana, Wanted(), now=NOON)
    with pytest.raises(NotAllowedError):
        person_record.read_person(house, ana, ben.person_id, now=NOON)
    assert refusals(house) == 1


def test_a_manager_of_another_shop_is_refused_and_that_is_noted(house, workshop, max_, ana):
    job_id = add_job(house, max_)
    oda = workshop.people["oda"]
    stranger = Actor(oda.person_id, "Oda", oda.shop_id, frozenset({Role.MANAGER}))

    with pytest.raises(NotFoundError):
        person_record.read_person(house, stranger, ana.person_id, now=NOON)
    with pytest.raises(NotFoundError):
        shop_jobs.set_shift(house, stranger, ana.person_id, "early", now=NOON)
    with pytest.raises(NotFoundError):
        shop_jobs.keep(
            house, stranger, job_id, "Mine", "", JobNeeds((TopicNeed("marks"),)), now=NOON
        )

    assert refusals(house) == 3
    assert auditing.broken_at(house) is None
    assert readiness.read_matrix(house, stranger, Wanted(), now=NOON).rows == () or all(
        row.member.id != ana.person_id
        for row in readiness.read_matrix(house, stranger, Wanted(), now=NOON).rows
    )


def test_an_instructor_sees_the_classes_they_lead(house, workshop, max_):
    from classroom import make_room  # noqa: PLC0415 - beside its use

    add_job(house, max_)
    room = make_room(workshop)

    led = readiness.read_matrix(house, room.ida, Wanted(), now=NOON)
    other = readiness.read_matrix(house, workshop.people["iris"], Wanted(), now=NOON)

    assert {row.member.name for row in led.rows} == {"Ana", "Ben"}
    assert other.rows == ()


def test_filters_narrow_people_and_jobs(house, max_, ana):
    job = add_job(house, max_)
    add_job(house, max_, "Belt work", JobNeeds((TopicNeed("accessory"),)))
    shop_jobs.set_shift(house, max_, ana.person_id, "early", now=NOON)

    def names(**wanted):
        page = readiness.read_matrix(house, max_, Wanted(**wanted), now=NOON)
        return [row.member.name for row in page.rows], [one.title for one in page.jobs]

    assert names(shift="early")[0] == ["Ana"]
    assert names(shift=readiness.NO_SHIFT)[0] == ["Ben"]
    assert names(words="be")[0] == ["Ben"]
    assert names(job_id=job)[1] == ["Replace a primary chain"]
    assert names(state=ReadyState.READY)[0] == []
    with pytest.raises(NotFoundError):
        names(job_id=999)


def test_the_tables_hold_the_words_and_no_formula(house, max_):
    add_job(house, max_, "=HYPERLINK(1)")

    page = load_workbook(io.BytesIO(shop_report.matrix_xlsx(house, max_, Wanted(), now=NOON)))
    written = shop_report.matrix_csv(house, max_, Wanted(), now=NOON)

    cells = [cell.value for row in page["Readiness"].iter_rows() for cell in row]
    assert "'=HYPERLINK(1)" in cells
    assert "Ana" in cells
    assert any(str(cell).startswith("nearly: Timing marks") for cell in cells)
    assert "'=HYPERLINK(1)" in written


def test_a_job_is_checked_and_its_title_is_its_own(house, max_):
    add_job(house, max_)

    with pytest.raises(ConflictError):
        add_job(house, max_)
    with pytest.raises(InputError, match="no such thing"):
        add_job(house, max_, "Other", JobNeeds(sheets=("not-here",)))
    with pytest.raises(NotAllowedError):
        add_job(house, Actor(1, "x", max_.shop_id, frozenset({Role.INSTRUCTOR})), "Third")


def test_a_job_that_hangs_on_one_person_is_named_and_the_plan_mends_it(house, max_, ana, ben):
    add_job(house, max_)
    know(house, ana)
    for one in (ana, ben):
        shop_jobs.set_shift(house, max_, one.person_id, "early", now=NOON)
        read_sheets.say_read(house, one, "demo-inline-four", 1, now=NOON)

    page = cover.read_cover(house, max_, now=NOON)

    assert page.rows[0].cells[0].only == "Ana"
    (line,) = page.plan
    assert (line.person, line.steps) == ("Ben", ("Timing marks: more answers",))
    assert page.proven


def test_cover_that_nobody_can_give_is_said_with_the_title(house, max_):
    add_job(house, max_)

    page = cover.read_cover(house, max_, wanted=3, now=NOON)

    assert page.plan == ()
    assert "“Replace a primary chain” (no shift)" in page.no_plan
    with pytest.raises(InputError):
        cover.read_cover(house, max_, wanted=0, now=NOON)
