"""The shop: who is ready, why not, cover, what a change touches, and other people's shops."""

from __future__ import annotations

import io
from datetime import date, timedelta

import pytest
from classroom import Room, right_given, save
from openpyxl import load_workbook
from sqlalchemy import insert, text, update
from workshop import NOON, SHEET

from quizsvc.errors import ConflictError, InputError, NotAllowedError, NotFoundError
from quizsvc.rules.actors import Actor, Role
from quizsvc.rules.job_needs import JobNeeds, TopicNeed
from quizsvc.rules.readiness import ReadyState
from quizsvc.services import (
    auditing,
    bridging,
    changed_truth,
    cover,
    person_record,
    read_sheets,
    readiness,
    shop_jobs,
    shop_report,
)
from quizsvc.services.edit_sheets import Draft
from quizsvc.services.edit_sheets import save as save_sheet
from quizsvc.services.readiness import Wanted
from quizsvc.services.sitting import beginning, closing
from quizsvc.sheets.loading import load_sheet
from quizsvc.store.competence import GeneralCompetence, TopicCompetence
from quizsvc.store.offers import Offer, Response
from quizsvc.store.sheets import find_revision

OWN = "own-engine"
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


def own_sheet(**changes):
    stated = load_sheet(SHEET).model_dump(mode="json", exclude_none=True)
    return stated | {"id": OWN, "note": ""} | changes


def answer_on(house, actor, sheet_id, revision):
    """Put one answer of an earlier day into the log: on a family, drawn from the revision."""
    with house.write() as connection:
        stored = find_revision(connection, sheet_id, revision)
        offer_id = connection.execute(
            insert(Offer)
            .values(
                token=f"{actor.person_id:032}",
                person_id=actor.person_id,
                shop_id=actor.shop_id,
                purpose="practice",
                topic="valves",
                item_ref="overlap",
                item_version=1,
                level="apply",
                kind="number",
                sheet_revision_id=stored.id,
                seed=1,
                item_hash="0" * 64,
                why="",
                made_at=NOON,
            )
            .returning(Offer.id)
        ).scalar_one()
        connection.execute(
            insert(Response).values(
                offer_id=offer_id,
                person_id=actor.person_id,
                shop_id=actor.shop_id,
                topic="valves",
                item_ref="overlap",
                correct=True,
                credit=1.0,
                given="{}",
                given_words="18",
                right_words="18",
                nth=1,
                mean_before=0.0,
                variance_before=1.0,
                mean_after=0.2,
                variance_after=0.9,
                answered_at=NOON,
            )
        )


@pytest.fixture
def changed_sheet(house, workshop, max_, ana):
    """A job that asks for a sheet, somebody ready, then a revision with other valve events."""
    ida = workshop.people["ida"]
    save_sheet(house, ida, Draft(own_sheet(), publish=True), now=NOON)
    add_job(house, max_, needs=JobNeeds((TopicNeed("marks", 0.6),), sheets=(OWN,)))
    know(house, ana)
    read_sheets.say_read(house, ana, OWN, 1, now=NOON)
    answer_on(house, ana, OWN, 1)
    assert state_of(house, max_, ana).state is ReadyState.READY
    stated = own_sheet()
    stated["valves"]["events"]["ivo_btdc"] += 4
    save_sheet(house, ida, Draft(stated, 1, "Cam card.", publish=True), sheet_id=OWN, now=NOON)
    return OWN


def test_a_new_revision_makes_readers_of_the_old_one_out_of_date(house, max_, ana, changed_sheet):
    cell = state_of(house, max_, ana)
    page = read_sheets.read_sheet(house, ana, changed_sheet)

    assert cell.state is ReadyState.OUT_OF_DATE
    assert "new revision to read" in cell.words
    assert any(
        "intake" in one.where.lower() or "ivo" in one.where.lower() for one in page.differences
    )
    with pytest.raises(ConflictError):
        read_sheets.say_read(house, ana, changed_sheet, 1, now=NOON)


def test_a_bridging_quiz_asks_only_what_changed_and_readiness_waits_for_it(
    house, workshop, max_, ana, changed_sheet
):
    found = changed_truth.sheet_change(house, max_, changed_sheet)
    assert [one.name for one in found.people] == ["Ana"]
    read_sheets.say_read(house, ana, changed_sheet, 2, now=NOON)
    assert state_of(house, max_, ana).state is ReadyState.READY

    made = bridging.order_for_sheet(house, max_, changed_sheet, [ana.person_id], now=NOON)

    with house.read() as connection:
        asked = set(
            connection.execute(
                text("SELECT item_ref FROM assignment_question WHERE assignment_id = :a"),
                {"a": made},
            ).scalars()
        )
    assert asked
    assert asked <= {one.family.id for one in found.families}
    cell = state_of(house, max_, ana)
    assert (cell.state, cell.words.rpartition(": ")[2]) == (
        ReadyState.OUT_OF_DATE,
        "bridging quiz",
    )
    pass_quiz(house, workshop, ana, made)
    assert state_of(house, max_, ana).state is ReadyState.READY
    (line,) = changed_truth.list_changes(house, max_).quizzes
    assert line.done == {ana.person_id}


def pass_quiz(house, workshop, ana, assignment_id):
    room = Room(house, workshop.people["ida"], ana, workshop.people["ben"], 0)
    token = beginning.begin(house, ana, assignment_id, place="desk", now=NOON)
    with house.read() as connection:
        count = connection.execute(
            text("SELECT count(*) FROM assignment_question WHERE assignment_id = :a"),
            {"a": assignment_id},
        ).scalar_one()
    for number in range(1, count + 1):
        save(room, ana, token, number, right_given(room, token, number), now=NOON)
    closing.hand_in(house, ana, token, now=NOON)


def test_nobody_is_given_a_quiz_by_a_stranger_or_about_nothing(
    house, workshop, max_, ana, changed_sheet
):
    oda = workshop.people["oda"]

    with pytest.raises(InputError, match="nobody was chosen"):
        bridging.order_for_sheet(house, max_, changed_sheet, [], now=NOON)
    with pytest.raises(NotFoundError):
        bridging.order_for_sheet(house, max_, changed_sheet, [oda.person_id], now=NOON)
    with pytest.raises(NotAllowedError):
        bridging.order_for_sheet(house, ana, changed_sheet, [ana.person_id], now=NOON)
    assert refusals(house) == 2
