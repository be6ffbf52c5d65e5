"""What a new revision changes: answers of questions, and whose record rests on the old one."""

from __future__ import annotations

from dataclasses import dataclass

import pytest
from certifying import certify, make_crew, publish_scheme
from sqlalchemy import text
from workshop import NOON, SHEET

from quizsvc.errors import NotAllowedError
from quizsvc.services import practise, sheet_changes
from quizsvc.services.edit_sheets import Draft, save
from quizsvc.services.shown import Given
from quizsvc.sheets.loading import load_sheet

INLINE = load_sheet(SHEET)
OWN = "own-engine"


def own(**changes):
    stated = INLINE.model_dump(mode="json", exclude_none=True) | {"id": OWN, "note": ""}
    return stated | changes


def with_events(ivo_btdc):
    events = INLINE.valves.events.model_copy(update={"ivo_btdc": ivo_btdc})
    return INLINE.model_copy(update={"valves": INLINE.valves.model_copy(update={"events": events})})


@pytest.fixture
def two_revisions(house, workshop):
    ida = workshop.people["ida"]
    save(house, ida, Draft(own(), publish=True), now=NOON)
    return ida


def publish_second(house, ida):
    stated = own()
    stated["valves"]["events"]["ivo_btdc"] += 4
    save(house, ida, Draft(stated, 1, "Cam card.", publish=True), sheet_id=OWN, now=NOON)


def test_another_title_changes_no_question():
    other = INLINE.model_copy(update={"title": "Renamed (invented)", "revision": 2})

    assert sheet_changes.families_changed(INLINE, other) == ()


def test_other_events_change_questions_about_events_and_leave_belts_alone():
    changed = sheet_changes.families_changed(INLINE, with_events(INLINE.valves.events.ivo_btdc + 4))

    by_id = {one.family.id: one for one in changed}
    assert by_id["overlap"].answers > 0
    assert by_id["overlap"].old_answer != by_id["overlap"].new_answer
    assert not by_id.keys() & {"belt-length", "torque-units", "firing-interval"}


def test_a_drive_that_turns_out_to_be_a_belt_leaves_no_chain_to_ask_about():
    (drive,) = INLINE.drives
    belt = drive.model_copy(update={"tensioner": None, "kind": "belt"})

    changed = sheet_changes.families_changed(INLINE, INLINE.model_copy(update={"drives": (belt,)}))

    by_id = {one.family.id: one for one in changed}
    pins = by_id["pins-apart"]
    assert pins.answers == pins.of
    assert pins.new_answer == sheet_changes.NO_QUESTION
    assert by_id["bench-refit-chain"].asked == by_id["bench-refit-chain"].of  # teeth, not pins
    assert by_id["belt-teeth-apart"].old_answer == sheet_changes.NO_QUESTION


def test_whose_answers_rest_on_the_earlier_revision(house, two_revisions, ana):
    token = practise.put_next(house, ana, topic="valves", sheet=OWN, now=NOON)
    shown = practise.open_offer(house, ana, token, now=NOON)
    given = {
        "number": Given(number="5"),
        "one choice": Given(choices=(1,)),
        "several choices": Given(choices=(1,)),
        "order": Given(order=tuple(range(1, len(shown.things) + 1))),
        "match": Given(pairs=tuple((one.number, 1) for one in shown.things)),
        "point on a figure": Given(place=1),
        "set the bench": Given(number="5"),
    }[shown.kind]
    practise.answer(house, ana, token, given, now=NOON)
    publish_second(house, two_revisions)

    between = sheet_changes.compare(house, two_revisions, OWN, 1, 2)

    assert [(one.name, one.what[:9]) for one in between.people] == [("Ana", "1 answer,")]
    assert [one.where for one in between.differences] == ["Intake opens before TDC"]
    assert between.answers_touched <= 1
    assert sheet_changes.people_resting_on(house, two_revisions, OWN, 2) == ()


def test_other_evidence_can_be_added(house, two_revisions, monkeypatch):
    @dataclass
    class Seen:
        asked: tuple[int, int] = (0, 0)

    seen = Seen()

    def certificates(_connection, revision_id, shop_id):
        seen.asked = (revision_id, shop_id)
        yield sheet_changes.Resting(1, "Ana", "certificate 7 (invented)", NOON)

    monkeypatch.setattr(sheet_changes, "EVIDENCE", [sheet_changes.answers_resting, certificates])

    (found,) = sheet_changes.people_resting_on(house, two_revisions, OWN, 1)

    assert found.what == "certificate 7 (invented)"
    assert seen.asked[1] == two_revisions.shop_id


@pytest.mark.usefixtures("two_revisions")
@pytest.mark.parametrize("name", ["ana", "max"])
def test_only_instructors_compare(house, workshop, name):
    with pytest.raises(NotAllowedError):
        sheet_changes.compare(house, workshop.people[name], OWN, 1, 1)


@pytest.fixture
def certified(workshop):
    """Certify Ana, and return her crew and the revision her test drew most questions from."""
    crew = make_crew(workshop)
    certify(crew, publish_scheme(crew), crew.ana)
    with crew.house.read() as connection:
        drawn = connection.execute(
            text(
                "SELECT sheet_revision_id, count(*) FROM assignment_question q "
                "JOIN candidate_form f ON f.assignment_id = q.assignment_id "
                "WHERE sheet_revision_id IS NOT NULL GROUP BY sheet_revision_id"
            )
        ).all()
    return crew, dict(map(tuple, drawn))


def test_a_certificate_rests_on_the_revision_its_test_drew_from(certified):
    crew, drawn = certified
    ((_, questions),) = drawn.items()  # the workshop has one sheet

    found = sheet_changes.people_resting_on(crew.house, crew.ida, "demo-inline-four", 1)

    certificates = [one for one in found if one.what.startswith("certificate")]
    assert [(one.name, str(questions) in one.what) for one in certificates] == [("Ana", True)]
