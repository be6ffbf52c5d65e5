"""What a change of a sheet touches, and the bridging quiz made of it."""

from __future__ import annotations

import pytest
from classroom import Room, right_given, save
from shop_jobs_made import add_job, know, refusals, state_of
from sqlalchemy import insert, text
from workshop import NOON, SHEET

from quizsvc.errors import ConflictError, InputError, NotAllowedError, NotFoundError
from quizsvc.rules.job_needs import JobNeeds, TopicNeed
from quizsvc.rules.readiness import ReadyState
from quizsvc.services import bridging, changed_truth, read_sheets
from quizsvc.services.edit_sheets import Draft
from quizsvc.services.edit_sheets import save as save_sheet
from quizsvc.services.sitting import beginning, closing
from quizsvc.sheets.loading import load_sheet
from quizsvc.store.offers import Offer, Response
from quizsvc.store.sheets import find_revision

OWN = "own-engine"


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
