"""A scheme in the invented workshop, and the way to a certificate under it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from classroom import Room, answer_all_right, make_room
from workshop import NOON, Workshop, hashed_password

from quizsvc.rules.actors import Actor, Role
from quizsvc.rules.schemes import BlueprintRow, SchemeTerms, Step, Task
from quizsvc.services.certifying import admitting, deciding, judging, panels, schemes, sign_off
from quizsvc.services.certifying.panels import CutChoice
from quizsvc.services.people import NewPerson, enrol
from quizsvc.services.sitting import beginning, closing
from quizsvc.store import candidate_forms

CHECKLIST = Task(
    "chain",
    "Replace a timing chain",
    (
        Step("Battery disconnected", critical=True),
        Step("Crankshaft turned by hand, two turns", critical=True),
        Step("Work place left clean"),
    ),
    needed=2,
)
TERMS = SchemeTerms(
    title="Timing chains (invented)",
    scope="Times and checks chain-driven valve trains of the invented engines.",
    blueprint=(
        BlueprintRow("safety", "recall", 1),
        BlueprintRow("cooling", "recall", 1),
        BlueprintRow("procedure", "apply", 1),
        BlueprintRow("chain", "apply", 3),
    ),
    minutes=30,
    invigilated=False,
    tries=3,
    wait_days=14,
    tasks=(CHECKLIST,),
    expected_tolerance=2.0,
    information_share=1.0,
)


@dataclass
class Crew:
    """The workshop's people: Ida teaches Ana and Ben, Ina and Max teach nobody."""

    workshop: Workshop
    ana: Actor
    ben: Actor
    ida: Actor
    ina: Actor
    max: Actor

    @property
    def house(self):
        return self.workshop.house


def make_crew(workshop: Workshop) -> Crew:
    room = make_room(workshop)
    new = NewPerson("Ina", "ina", hashed_password(), {Role.INSTRUCTOR})
    with workshop.house.write() as connection:
        ina_id = enrol(connection, None, workshop.shop_id, new, now=NOON)
    ina = Actor(ina_id, "Ina", workshop.shop_id, frozenset({Role.INSTRUCTOR}))
    return Crew(workshop, room.ana, room.ben, room.ida, ina, workshop.people["max"])


def publish_scheme(crew: Crew, terms: SchemeTerms = TERMS, *, chance: float = 0.6) -> int:
    """Make a scheme, let Ida and Ina judge, let Max approve and publish; return its version."""
    version = schemes.draft(crew.house, crew.ida, terms, now=NOON)
    publish_version(crew, version, chance=chance)
    return version


def publish_version(crew: Crew, version: int, *, chance: float = 0.6) -> None:
    judges = {crew.ida: chance + 0.1, crew.ina: chance - 0.1}
    keys = frozenset(judge.person_id for judge in judges)
    panels.open_panel(crew.house, crew.ida, version, keys, now=NOON)
    for judge, estimate in judges.items():
        _, questions = judging.sheet_for_judge(crew.house, judge, version)
        chances = {one.place: estimate for one in questions}
        judging.estimate(crew.house, judge, version, chances, finish=True, now=NOON)
    panels.approve_cut(crew.house, crew.max, version, CutChoice.MEAN, "as judged", now=NOON)
    schemes.publish(crew.house, crew.max, version, now=NOON)


def sit_written(
    crew: Crew, version: int, candidate: Actor, *, right: bool = True, now: datetime = NOON
) -> int:
    """Admit a candidate and let them sit the test, all right or all empty; return the form."""
    form_id = admitting.admit(crew.house, crew.ida, version, candidate.person_id, now=now)
    with crew.house.read() as connection:
        form = candidate_forms.find_form(connection, form_id)
    later = now + timedelta(minutes=5)
    token = beginning.begin(crew.house, candidate, form.assignment_id, place="desk", now=now)
    if right:
        room = room_of(crew)
        answer_all_right(room, candidate, token, later)
    closing.hand_in(crew.house, candidate, token, now=later)
    return form_id


def room_of(crew: Crew) -> Room:
    """Return what the classroom's helpers need: a house and whose sittings they answer."""
    return Room(crew.house, crew.ida, crew.ana, crew.ben, 0)


def sign_off_task(
    crew: Crew, version: int, candidate: Actor, *, by: Actor | None = None, now: datetime = NOON
) -> str:
    assessor = by or crew.ida
    token = sign_off.begin(crew.house, assessor, version, "chain", candidate.person_id, now=now)
    sign_off.hand_in(crew.house, assessor, token, {1, 2}, "clean work", now=now)
    return token


def certify(crew: Crew, version: int, candidate: Actor, *, now: datetime = NOON) -> int:
    """Go the whole way for a candidate; Max decides. Return the form."""
    form_id = sit_written(crew, version, candidate, now=now)
    sign_off_task(crew, version, candidate, now=now)
    deciding.decide(
        crew.house, crew.max, form_id, certify=True, reason="", now=now + timedelta(hours=1)
    )
    return form_id


def with_changes(**changes: object) -> SchemeTerms:
    return replace(TERMS, **changes)
