"""All that a decision on a candidate's try rests on: score, tasks, ties, what is missing."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection

from quizsvc.items.topics import find_topic
from quizsvc.rules.actors import Actor
from quizsvc.rules.certifying import DecisionState, Ties, decision_is_final
from quizsvc.rules.permissions import May, owns, require
from quizsvc.rules.schemes import Task
from quizsvc.rules.sittings import FINISHED
from quizsvc.scoring.decision_report import (
    GroupConsistency,
    ScoreReport,
    group_consistency,
    score_report,
)
from quizsvc.services.certifying import holders
from quizsvc.services.certifying import schemes as scheme_service
from quizsvc.services.certifying.kept_forms import find_form
from quizsvc.services.certifying.schemes import Held
from quizsvc.services.certifying.sign_off import tasks_done
from quizsvc.services.house import House
from quizsvc.store import candidate_forms, decisions, signoffs
from quizsvc.store.candidate_forms import AnsweredItem, SatForm, StoredForm
from quizsvc.store.decisions import StoredAppeal, StoredDecision


@dataclass(frozen=True, slots=True)
class Section:
    """One topic of a candidate's test."""

    topic_title: str
    right: int
    questions: int


@dataclass(frozen=True, slots=True)
class TaskStanding:
    task: Task
    done: bool


@dataclass(frozen=True, slots=True)
class CaseLine:
    """A candidate's try in the list."""

    form_id: int
    candidate: str
    person_id: int
    scheme: str
    version: int
    nth: int
    assignment_id: int
    state: str
    made_at: datetime
    decision: StoredDecision | None


@dataclass(frozen=True, slots=True)
class Case:
    """All that a decision rests on."""

    held: Held
    form: StoredForm
    candidate: str
    state: str | None
    finished_at: datetime | None
    token: str | None
    report: ScoreReport | None
    sections: tuple[Section, ...]
    void: int
    pilots: int
    tasks: tuple[TaskStanding, ...]
    missing: tuple[str, ...]  # why nobody can be certified on this yet, in words
    decision: StoredDecision | None
    earlier: tuple[StoredDecision, ...]
    appeal: StoredAppeal | None
    consistency: GroupConsistency | None
    final: bool  # whether the reader's decision would stand at once
    own: bool
    changed: bool  # the score is another than the one decided on


def listed(house: House, actor: Actor) -> tuple[CaseLine, ...]:
    """Return the tries of the shop's candidates, the newest first."""
    require(actor, May.SEE_CERTIFICATION)
    with house.read() as connection:
        names = scheme_service.names_in(connection, actor.shop_id)
        versions = {one.id: one for one in scheme_service.versions(connection, actor.shop_id)}
        lines = []
        for scheme_id in sorted({one.stored.scheme_id for one in versions.values()}):
            standing = _standing_decisions(connection, scheme_id)
            for sat in candidate_forms.forms_of(connection, scheme_id=scheme_id):
                held = versions[sat.form.version_id]
                lines.append(_case_line(sat, held, names, standing.get(sat.form.id)))
    return tuple(sorted(lines, key=lambda line: -line.form_id))


def case(house: House, actor: Actor, form_id: int, *, now: datetime) -> Case:
    """Return what a decision on a try rests on. Nobody sees their own before it is decided."""
    require(actor, May.SEE_CERTIFICATION)
    with house.read() as connection:
        return case_of(connection, actor, form_id, now)


def case_of(connection: Connection, actor: Actor, form_id: int, now: datetime) -> Case:
    form = find_form(connection, actor, form_id)
    held = scheme_service.find(connection, actor, form.version_id)
    sat = candidate_forms.forms_of(connection, form_id=form_id)[0]
    finished = sat.state in FINISHED
    answers = candidate_forms.answered(connection, form) if finished else ()
    counting = [one for one in answers if not one.pilot and not one.void]
    report = _report(held, counting) if finished and counting else None
    tasks = _tasks(connection, held, form.person_id)
    every = decisions.decisions_of(connection, form_id=form_id)
    standing = next((one for one in every if one.state is not DecisionState.REPLACED), None)
    ties = ties_of(connection, held.stored.scheme_id, form.person_id)
    changed = (
        standing is not None
        and report is not None
        and ((report.points, report.out_of) != (standing.points, standing.out_of))
    )
    return Case(
        held,
        form,
        scheme_service.names_in(connection, actor.shop_id).get(form.person_id, "gone"),
        sat.state,
        sat.finished_at,
        sat.token,
        report,
        _sections(counting),
        sum(one.void for one in answers),
        sum(one.pilot for one in answers),
        tasks,
        _missing(connection, held, form.person_id, report, tasks, now),
        standing,
        tuple(one for one in every if one is not standing),
        decisions.appeal_of(connection, standing.id) if standing else None,
        _consistency(connection, held, report) if report else None,
        decision_is_final(held.terms, ties, actor.person_id),
        owns(actor, form.person_id),
        changed,
    )


def _report(held: Held, counting: list[AnsweredItem]) -> ScoreReport:
    points = sum(one.correct for one in counting)
    return score_report(points, len(counting), held.stored.cut_share or 0.0)


def _sections(counting: list[AnsweredItem]) -> tuple[Section, ...]:
    found: dict[str, list[bool]] = {}
    for one in counting:
        found.setdefault(one.topic, []).append(one.correct)
    return tuple(
        Section(find_topic(topic).title, sum(marks), len(marks)) for topic, marks in found.items()
    )


def _tasks(connection: Connection, held: Held, person_id: int) -> tuple[TaskStanding, ...]:
    done = tasks_done(connection, held.id, person_id)
    return tuple(TaskStanding(task, task.id in done) for task in held.terms.tasks)


def _missing(
    connection: Connection,
    held: Held,
    person_id: int,
    report: ScoreReport | None,
    tasks: tuple[TaskStanding, ...],
    now: datetime,
) -> tuple[str, ...]:
    words = []
    if report is None:
        words.append("the written test is not finished")
    elif not report.passed:
        words.append(f"{report.points} points are fewer than the {report.needed} needed")
    words += [f"“{one.task.title}” is not signed off" for one in tasks if not one.done]
    return (*words, *_prerequisites(connection, held, person_id, now))


def _prerequisites(
    connection: Connection, held: Held, person_id: int, now: datetime
) -> tuple[str, ...]:
    titles = {
        one.stored.scheme_id: one.terms.title
        for one in scheme_service.versions(connection, held.stored.shop_id)
    }
    return tuple(
        f"no valid certificate of “{titles.get(scheme_id, scheme_id)}”"
        for scheme_id in held.terms.needs_schemes
        if not holders.holds_valid(connection, scheme_id, person_id, now=now)
    )


def _consistency(
    connection: Connection, held: Held, report: ScoreReport
) -> GroupConsistency | None:
    """Return how consistently the version's cut decides, by the latest decision on each form."""
    latest = _standing_decisions(connection, held.stored.scheme_id).values()
    totals = [
        one.points for one in latest if one.version_id == held.id and one.out_of == report.out_of
    ]
    return group_consistency(totals, report.out_of, held.stored.cut_share or 0.0)


def _standing_decisions(connection: Connection, scheme_id: int) -> dict[int, StoredDecision]:
    """Return the decision that stands for each form."""
    found: dict[int, StoredDecision] = {}
    for one in decisions.decisions_of(connection, scheme_id=scheme_id):
        if one.state is not DecisionState.REPLACED:
            found.setdefault(one.form_id, one)
    return found


def ties_of(connection: Connection, scheme_id: int, person_id: int) -> Ties:
    rows = signoffs.sign_offs_of(connection, person_id=person_id, scheme_id=scheme_id)
    assessed = {row.assessor_id for row in rows} | {row.second_id for row in rows if row.second_id}
    return Ties(person_id, decisions.taught_by(connection, person_id), frozenset(assessed))


def _case_line(
    sat: SatForm, held: Held, names: dict[int, str], decision: StoredDecision | None
) -> CaseLine:
    return CaseLine(
        sat.form.id,
        names.get(sat.form.person_id, "gone"),
        sat.form.person_id,
        held.terms.title,
        held.stored.version,
        sat.form.nth,
        sat.form.assignment_id,
        sat.state or "not begun",
        sat.form.made_at,
        decision,
    )
