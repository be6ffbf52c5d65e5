"""Decide about a candidate: the score against the cut, tasks, who may decide, appeal, regrade."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import Connection

from quizsvc.errors import ConflictError, InputError, NotFoundError
from quizsvc.items.topics import find_topic
from quizsvc.rules.actors import Actor
from quizsvc.rules.audit import Action
from quizsvc.rules.certificate_life import CertificateDeed, CertificateState, state_at
from quizsvc.rules.certifying import (
    DecisionState,
    Ties,
    decision_is_final,
    require_may_answer_appeal,
    require_may_confirm,
    require_not_candidate,
)
from quizsvc.rules.permissions import May, owns, require
from quizsvc.rules.schemes import Task
from quizsvc.rules.sittings import FINISHED
from quizsvc.scoring.decision_report import (
    GroupConsistency,
    ScoreReport,
    group_consistency,
    score_report,
)
from quizsvc.services import certificates as certificate_service
from quizsvc.services import outbox
from quizsvc.services import schemes as scheme_service
from quizsvc.services.auditing import note
from quizsvc.services.forms import find_form
from quizsvc.services.house import House
from quizsvc.services.refusals import noted_refusals
from quizsvc.services.schemes import Held
from quizsvc.services.sign_off import tasks_done
from quizsvc.store import candidate_forms, certificates, decisions, signoffs
from quizsvc.store.candidate_forms import AnsweredItem, SatForm, StoredForm
from quizsvc.store.decisions import StoredAppeal, StoredDecision

APPEAL_DAYS = 30
LONGEST_WORDS = 2000


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


@dataclass(frozen=True, slots=True)
class OwnResult:
    """A candidate's own result, as told to them."""

    decision: StoredDecision
    scheme: str
    report: dict[str, Any]
    appeal: StoredAppeal | None
    may_appeal: bool


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
        return _case(connection, actor, form_id, now)


def decide(
    house: House, actor: Actor, form_id: int, *, certify: bool, reason: str, now: datetime
) -> bool:
    """Decide on a try; return whether it stands at once.

    Deciding again replaces the decision before: after a question was declared void, or an appeal
    was upheld. The certificate follows the decision that stands.

    Raises:
        NotAllowedError: it is the actor's own test.
        ConflictError: it isn't finished, something is missing, or nothing has changed.
    """
    with noted_refusals(house, actor, f"form {form_id}", now=now), house.write() as connection:
        require(actor, May.DECIDE)
        found = _case(connection, actor, form_id, now)
        require_not_candidate(actor.person_id, found.form.person_id, "decide about a test")
        report = _decidable(found, certify=certify)
        words = _reason(reason, needed=not certify and not found.missing)
        _require_ground(found)
        final = found.final
        decision_id = decisions.add_decision(
            connection,
            version_id=found.held.id,
            form_id=form_id,
            person_id=found.form.person_id,
            shop_id=found.form.shop_id,
            state=(DecisionState.DECIDED if final else DecisionState.PROPOSED).value,
            certified=certify,
            points=report.points,
            out_of=report.out_of,
            report=_report_text(found, report),
            reason=words,
            decider_id=actor.person_id,
            made_at=now,
            decided_at=now if final else None,
            replaces_id=found.decision.id if found.decision else None,
        )
        _note(
            connection,
            actor,
            Action.DECISION_MADE if final else Action.DECISION_PROPOSED,
            decision_id,
            now,
            form=form_id,
            certified=certify,
            points=report.points,
            out_of=report.out_of,
        )
        if final:
            _take_effect(connection, house, actor, found.held, decision_id, now)
    return final


def confirm(house: House, actor: Actor, decision_id: int, *, now: datetime) -> None:
    """Confirm a proposed decision as somebody who neither taught nor assessed the candidate."""
    with noted_refusals(house, actor, f"decision {decision_id}", now=now):
        require(actor, May.DECIDE)
        with house.write() as connection:
            decision = _find(connection, actor, decision_id, lock=True)
            ties = _ties(connection, decision.scheme_id, decision.person_id)
            require_may_confirm(ties, decision.decider_id, actor.person_id)
            if decision.state is not DecisionState.PROPOSED:
                raise ConflictError(
                    "there is nothing to confirm.",
                    field="decision",
                    value=decision.state.value,
                    remedy="Load the page again to see how it stands.",
                )
            found = _case(connection, actor, decision.form_id, now)
            if found.report is None or found.report.points != decision.points:
                raise ConflictError(
                    "the score has changed since this was proposed.",
                    field="score",
                    value=f"{decision.points} of {decision.out_of}",
                    remedy="Decide again on the score of now.",
                )
            _decidable(found, certify=decision.certified)
            decisions.change_decision(
                connection,
                decision_id,
                state=DecisionState.DECIDED.value,
                confirmer_id=actor.person_id,
                decided_at=now,
            )
            _note(connection, actor, Action.DECISION_MADE, decision_id, now, confirmed=True)
            _take_effect(connection, house, actor, found.held, decision_id, now)


def own_results(house: House, actor: Actor, *, now: datetime) -> tuple[OwnResult, ...]:
    """Return the actor's own results that have been decided, the newest first."""
    require(actor, May.SEE_OWN_RECORD)
    with house.read() as connection:
        found = [
            one
            for one in decisions.decisions_of(connection, person_id=actor.person_id)
            if one.state is DecisionState.DECIDED
        ]
        titles = {
            one.id: one.terms.title
            for shop_id in {decision.shop_id for decision in found}
            for one in scheme_service.versions(connection, shop_id)
        }
        appeals = {one.id: decisions.appeal_of(connection, one.id) for one in found}
    return tuple(
        OwnResult(
            one,
            titles[one.version_id],
            json.loads(one.report),
            appeals[one.id],
            may_appeal=appeals[one.id] is None and _in_time(one, now),
        )
        for one in found
    )


def appeal(house: House, actor: Actor, decision_id: int, words: str, *, now: datetime) -> None:
    """Appeal against a decision about oneself, once, within the time for it."""
    with noted_refusals(house, actor, f"decision {decision_id}", now=now):
        text = " ".join(words.split())
        if not 10 <= len(text) <= LONGEST_WORDS:
            raise InputError(
                "an appeal has from 10 to 2000 characters.",
                field="appeal",
                value=text[:40],
                remedy="Say what should be looked at again, and why.",
            )
        with house.write() as connection:
            decision = decisions.find_decision(connection, decision_id, lock=True)
            if decision is None or not owns(actor, decision.person_id):
                raise _no_such(decision_id)
            if decision.state is not DecisionState.DECIDED or not _in_time(decision, now):
                raise ConflictError(
                    "this decision can't be appealed any more.",
                    field="decision",
                    value=decision.state.value,
                    remedy=f"Appeals are open for {APPEAL_DAYS} days.",
                )
            if decisions.appeal_of(connection, decision_id) is not None:
                raise ConflictError(
                    "an appeal against it is filed already.",
                    field="appeal",
                    value="filed",
                    remedy="Wait for the answer.",
                )
            decisions.add_appeal(connection, decision_id, actor.person_id, text, now=now)
            _note(connection, actor, Action.APPEAL_FILED, decision_id, now)


def answer_appeal(
    house: House, actor: Actor, decision_id: int, *, upheld: bool, answer: str, now: datetime
) -> None:
    """Answer an appeal; upheld, the case may be decided again. Who decided does not answer."""
    with noted_refusals(house, actor, f"decision {decision_id}", now=now):
        require(actor, May.DECIDE)
        words = _reason(answer, needed=True)
        with house.write() as connection:
            decision = _find(connection, actor, decision_id)
            ties = _ties(connection, decision.scheme_id, decision.person_id)
            deciders = (decision.decider_id, decision.confirmer_id)
            require_may_answer_appeal(ties, deciders, actor.person_id)
            filed = decisions.appeal_of(connection, decision_id, lock=True)
            if filed is None or filed.answered_at is not None:
                raise ConflictError(
                    "there is no appeal to answer.",
                    field="appeal",
                    value="none" if filed is None else "answered",
                    remedy="Load the page again to see how it stands.",
                )
            decisions.answer_appeal(
                connection,
                filed.id,
                answer=words,
                upheld=upheld,
                answered_by=actor.person_id,
                answered_at=now,
            )
            _note(connection, actor, Action.APPEAL_ANSWERED, decision_id, now, upheld=upheld)
            outbox.tell_appeal_answered(connection, decision.person_id, decision_id, now=now)


def _case(connection: Connection, actor: Actor, form_id: int, now: datetime) -> Case:
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
    ties = _ties(connection, held.stored.scheme_id, form.person_id)
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
        if not certificate_service.holds_valid(connection, scheme_id, person_id, now=now)
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


def _ties(connection: Connection, scheme_id: int, person_id: int) -> Ties:
    rows = signoffs.sign_offs_of(connection, person_id=person_id, scheme_id=scheme_id)
    assessed = {row.assessor_id for row in rows} | {row.second_id for row in rows if row.second_id}
    return Ties(person_id, decisions.taught_by(connection, person_id), frozenset(assessed))


def _decidable(found: Case, *, certify: bool) -> ScoreReport:
    if found.report is None:
        raise ConflictError(
            "the written test is not finished.",
            field="test",
            value=found.state or "not begun",
            remedy="Wait until it is handed in or its time is over.",
        )
    if certify and found.missing:
        raise ConflictError(
            f"nobody can be certified on this: {'; '.join(found.missing)}.",
            field="decision",
            value="certify",
            remedy="Have it put right first, or decide not to certify.",
        )
    return found.report


def _require_ground(found: Case) -> None:
    """Refuse to decide again where nothing new is there to decide on."""
    standing = found.decision
    upheld = found.appeal is not None and found.appeal.upheld is True
    if standing is None or standing.state is DecisionState.PROPOSED or found.changed or upheld:
        return
    # A task signed off since, say, changes what can be decided without changing the score.
    if not standing.certified and not found.missing:
        return
    raise ConflictError(
        "this is decided, and nothing has changed since.",
        field="decision",
        value="certified" if standing.certified else "not certified",
        remedy="The candidate may appeal; a question declared void changes the score.",
    )


def _take_effect(
    connection: Connection,
    house: House,
    actor: Actor,
    held: Held,
    decision_id: int,
    now: datetime,
) -> None:
    """Let the certificate follow a decision that has become final, and tell the candidate."""
    decision = decisions.find_decision(connection, decision_id)
    if decision is None:  # pragma: no cover - stored in this very transaction
        raise LookupError(decision_id)
    for former in decisions.decisions_of(connection, form_id=decision.form_id):
        if former.id != decision_id and former.state is not DecisionState.REPLACED:
            decisions.change_decision(connection, former.id, state=DecisionState.REPLACED.value)
            _note(connection, actor, Action.DECISION_REPLACED, former.id, now, by=decision_id)
    standing = _certificate_of_form(connection, decision, now)
    if decision.certified and standing is None:
        certificate_service.issue(
            connection,
            house,
            actor,
            held,
            person_id=decision.person_id,
            holder_name=scheme_service.names_in(connection, decision.shop_id)[decision.person_id],
            decision_id=decision_id,
            now=now,
        )
    if not decision.certified and standing is not None:
        certificate_service.carry_out(
            connection,
            actor,
            standing,
            CertificateDeed.REVOKED,
            "The decision it rested on was replaced.",
            now=now,
        )
    outbox.tell_decided(connection, decision.person_id, decision_id, now=now)


def _certificate_of_form(
    connection: Connection, decision: StoredDecision, now: datetime
) -> certificates.StoredCertificate | None:
    """Return the certificate that an earlier decision on the same form led to, if it stands."""
    every = decisions.decisions_of(connection, form_id=decision.form_id)
    for one in every:
        for held in certificates.certificates_of(connection, decision_id=one.id):
            if state_at(held.life, now) is not CertificateState.REVOKED:
                return held
    return None


def _report_text(found: Case, report: ScoreReport) -> str:
    return json.dumps(
        asdict(report)
        | {
            "cut_share": found.held.stored.cut_share,
            "sections": [asdict(one) for one in found.sections],
            "void": found.void,
            "tasks": [[one.task.title, one.done] for one in found.tasks],
            "missing": found.missing,
            "consistency": asdict(found.consistency) if found.consistency else None,
        },
        ensure_ascii=False,
    )


def _reason(words: str, *, needed: bool) -> str:
    text = " ".join(words.split())
    if (needed and not text) or len(text) > LONGEST_WORDS:
        raise InputError(
            "a reason is needed here." if needed and not text else "that is too long.",
            field="reason",
            value=text[:40],
            remedy="Say why in one or two sentences.",
        )
    return text


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


def _find(
    connection: Connection, actor: Actor, decision_id: int, *, lock: bool = False
) -> StoredDecision:
    found = decisions.find_decision(connection, decision_id, lock=lock)
    if found is None or found.shop_id != actor.shop_id:
        raise _no_such(decision_id)
    return found


def _no_such(decision_id: int) -> NotFoundError:
    return NotFoundError(
        "there is no such decision for you.",
        field="decision",
        value=decision_id,
        remedy="Go to the list of candidates.",
    )


def _in_time(decision: StoredDecision, now: datetime) -> bool:
    return decision.decided_at is not None and now <= decision.decided_at + timedelta(
        days=APPEAL_DAYS
    )


def _note(
    connection: Connection,
    actor: Actor,
    action: Action,
    decision_id: int,
    now: datetime,
    **detail: int | bool,
) -> None:
    subject = f"decision {decision_id}"
    audit_detail: dict[str, object] = dict(detail)
    note(connection, actor, action, subject, now=now, shop_id=None, **audit_detail)
