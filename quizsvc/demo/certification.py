"""The invented shop's scheme: judged, published, and people on every step of the way."""

from __future__ import annotations

import secrets
from datetime import datetime, timedelta

from quizsvc.demo.classroom import PLACE, given_for, typed_fields
from quizsvc.demo.learner import right_answer
from quizsvc.items.choosing import Draw
from quizsvc.rules.actors import Actor, Role
from quizsvc.rules.schemes import BlueprintRow, SchemeTerms, Step, Task
from quizsvc.services.certifying import (
    admitting,
    cases,
    deciding,
    judging,
    panels,
    schemes,
    sign_off,
)
from quizsvc.services.certifying.panels import CutChoice
from quizsvc.services.house import House
from quizsvc.services.sitting import beginning, closing, saving_answers
from quizsvc.services.sitting.frozen_items import thaw
from quizsvc.services.sitting.words import Saving
from quizsvc.store import candidate_forms, shown_items, sitting_items, sittings

BLUEPRINT = (
    ("cycle", "recall", 2),
    ("piston", "apply", 2),
    ("marks", "apply", 4),
    ("valves", "apply", 2),
    ("chain", "apply", 2),
    ("wear", "apply", 3),
    ("procedure", "apply", 3),
    ("safety", "apply", 2),
)
CHAIN = Task(
    "replace-a-timing-chain",
    "Replace a timing chain",
    (
        Step("Battery disconnected before anything is opened", critical=True),
        Step("Engine at its safe position before the chain is slack", critical=True),
        Step("Tensioner locked before it is unscrewed", critical=True),
        Step("Pins between marks counted aloud"),
        Step("Engine turned two turns by hand, marks looked at again", critical=True),
        Step("Bolts tightened in the sheet's order, with a checked wrench"),
        Step("Work place left clean, old parts shown"),
    ),
    needed=6,
    two_persons=True,
    caution="Tensioners hold springs under load and coolant may be hot. The maker's service "
    "information and local rules come first.",
)
TERMS = SchemeTerms(
    title="Timing chain work (invented)",
    scope="Times, strips, assembles and checks chain-driven valve trains of the invented engines.",
    job_analysis="Invented: 120 work orders of the invented shop, sorted by two instructors; the "
    "numbers of questions follow how often, and how dearly, a job goes wrong.",
    prerequisites="Two years in the trade.",
    blueprint=tuple(BlueprintRow(*row) for row in BLUEPRINT),
    minutes=60,
    invigilated=False,
    tasks=(CHAIN,),
)
SHARES = (1.0, 0.9, 0.55, 0.8)  # of right answers, candidate by candidate


def certify_people(house: House, actors: list[Actor], *, now: datetime) -> None:
    """Make the scheme and bring a few learners along: certified, refused, and under way."""
    judges = [one for one in actors if one.is_a(Role.INSTRUCTOR)]
    managers = [one for one in actors if one.is_a(Role.MANAGER)]
    learners = [one for one in actors if one.is_a(Role.LEARNER)]
    version = _published(house, [*judges, *managers[1:]], managers[0], now - timedelta(days=40))
    for number, (learner, share) in enumerate(zip(learners, SHARES, strict=False)):
        at = now - timedelta(days=30 - 5 * number)
        form_id = _sat(house, judges[0], version, learner, share, at)
        if number < len(SHARES) - 1:  # the last waits for sign-off and decision
            _sign_off(house, judges, version, learner, at)
            _decide(house, managers[0], form_id, at + timedelta(days=1))
    if len(learners) > len(SHARES):
        waiting = learners[len(SHARES)].person_id
        admitting.admit(house, judges[0], version, waiting, now=now - timedelta(days=1))


def _published(house: House, judges: list[Actor], manager: Actor, now: datetime) -> int:
    version = schemes.draft(house, judges[0], TERMS, now=now)
    keys = frozenset(judge.person_id for judge in judges)
    panels.open_panel(house, judges[0], version, keys, now=now)
    for judge in judges:
        _, questions = judging.sheet_for_judge(house, judge, version)
        lean = Draw("judge", judge.person_id)
        harsh = lean.integer(-5, 5)
        chances = {
            one.place: (65 + harsh + _ease(one.place) + lean.integer(-5, 5)) / 100
            for one in questions
        }
        judging.estimate(house, judge, version, chances, finish=True, now=now + timedelta(days=2))
    done = now + timedelta(days=3)
    reason = "Invented: the judges are of one mind, and nobody is to be let through on luck."
    panels.approve_cut(house, manager, version, CutChoice.MEAN, reason, now=done)
    schemes.publish(house, manager, version, now=done)
    return version


def _ease(place: int) -> int:
    """Return how much easier all judges find a question: some agreement has to show."""
    return Draw("ease", place).integer(-15, 15)


def _sat(
    house: House, assessor: Actor, version: int, learner: Actor, share: float, now: datetime
) -> int:
    """Admit a learner and let them answer this share of the questions right."""
    form_id = admitting.admit(house, assessor, version, learner.person_id, now=now)
    with house.read() as connection:
        form = candidate_forms.find_form(connection, form_id)
    if form is None:
        raise LookupError(form_id)
    token = beginning.begin(house, learner, form.assignment_id, place=PLACE, now=now)
    with house.read() as connection:
        sitting = sittings.find_sitting(connection, token)
        items = [
            (one.number, one.seed, thaw(shown_items.content_of(connection, one.shown_hash)))
            for one in (sitting_items.items_of(connection, sitting.id) if sitting else ())
        ]
    for number, seed, item in items[: round(share * len(items))]:
        given = given_for(right_answer(item), item, seed)
        saving = Saving(typed_fields(given), given, 1, secrets.token_hex(16))
        at = now + timedelta(minutes=number)
        saving_answers.save(house, learner, token, number, saving, place=PLACE, now=at)
    closing.hand_in(house, learner, token, now=now + timedelta(minutes=len(items) + 1))
    return form_id


def _sign_off(
    house: House, judges: list[Actor], version: int, learner: Actor, now: datetime
) -> None:
    token = sign_off.begin(house, judges[0], version, CHAIN.id, learner.person_id, now=now)
    sign_off.hand_in(house, judges[0], token, range(1, 8), "Invented: calm, clean work.", now=now)
    sign_off.confirm(house, judges[1], token, now=now)


def _decide(house: House, manager: Actor, form_id: int, now: datetime) -> None:
    missing = cases.case(house, manager, form_id, now=now).missing
    deciding.decide(house, manager, form_id, certify=not missing, reason="", now=now)
