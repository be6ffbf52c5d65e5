"""Results that crossed their cut after they were decided on: put before those who decide.

Nothing follows by itself. Whoever decides takes the decision anew (`deciding.decide`), or lets
it stand with a reason; only then is it off the list, until the result changes again.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection

from quizsvc.errors import ConflictError, NotAllowedError
from quizsvc.rules.actors import Actor
from quizsvc.rules.audit import Action
from quizsvc.rules.certifying import DecisionState, require_not_candidate
from quizsvc.rules.permissions import May, require
from quizsvc.rules.tests_again import Shift, shift
from quizsvc.scoring.decision_report import score_report
from quizsvc.services import outbox
from quizsvc.services.certifying import schemes as scheme_service
from quizsvc.services.certifying.cases import case_of
from quizsvc.services.certifying.decisions import note_decision, reason_in_words
from quizsvc.services.house import House
from quizsvc.services.refusals import noted_refusals
from quizsvc.store import candidate_forms, changed_forms, decisions, upheld
from quizsvc.store.candidate_forms import StoredForm
from quizsvc.store.decisions import StoredDecision
from quizsvc.store.sitting_marks import RemarkedSitting
from quizsvc.store.upheld import Upheld


@dataclass(frozen=True, slots=True)
class ChangedResult:
    """A decided result that lies on the other side of its cut now."""

    form_id: int
    candidate: str
    scheme: str
    turned: Shift
    decided_points: int
    decided_out_of: int
    points: int
    out_of: int
    decided_by: str
    own: bool  # the reader's own: somebody else decides


@dataclass(frozen=True, slots=True)
class Since:
    """What happened to a decided result since: by whom and why, and what was left standing."""

    remarks: tuple[RemarkedSitting, ...]
    turned: Shift | None
    upheld: Upheld | None  # for the result as it is now


@dataclass(frozen=True, slots=True)
class ResultSince:
    """A candidate's own result as first decided on and as it counts now, and why it changed."""

    remarks: tuple[RemarkedSitting, ...]
    first_points: int
    first_out_of: int
    points: int
    out_of: int
    upheld: Upheld | None


def to_decide(house: House, actor: Actor) -> tuple[ChangedResult, ...]:
    """Return the results of the actor's shop that wait for a decision anew."""
    require(actor, May.SEE_CERTIFICATION)
    with house.read() as connection:
        names = scheme_service.names_in(connection, actor.shop_id)
        versions = {one.id: one for one in scheme_service.versions(connection, actor.shop_id)}
        found = []
        for form in changed_forms.touched(connection, actor.shop_id):
            held = versions[form.version_id]
            decision = standing_decision(connection, form.id)
            points, out_of = _score(connection, form)
            turned = _turned(decision, points, out_of, held.stored.cut_share or 0.0)
            if decision is None or turned is None or _stands(connection, decision, points, out_of):
                continue
            found.append(
                ChangedResult(
                    form.id,
                    names.get(form.person_id, "gone"),
                    held.terms.title,
                    turned,
                    decision.points,
                    decision.out_of,
                    points,
                    out_of,
                    decision.decider,
                    form.person_id == actor.person_id,
                )
            )
    return tuple(found)


def since_decided(house: House, actor: Actor, form_id: int, *, now: datetime) -> Since:
    """Return what happened to a try's result since it was decided on."""
    require(actor, May.SEE_CERTIFICATION)
    with house.read() as connection:
        found = case_of(connection, actor, form_id, now)
        marks = changed_forms.marks_on(connection, form_id)
        decision, report = found.decision, found.report
        if decision is None or report is None:
            return Since(marks, None, None)
        turned = _turned(decision, report.points, report.out_of, found.held.stored.cut_share or 0.0)
        return Since(marks, turned, _stands(connection, decision, report.points, report.out_of))


def result_since(connection: Connection, decision: StoredDecision) -> ResultSince | None:
    """Return what became of a decided result by marking its test again; None if that never was."""
    marks = changed_forms.marks_on(connection, decision.form_id)
    form = candidate_forms.find_form(connection, decision.form_id)
    if not marks or form is None:
        return None
    first = decisions.decisions_of(connection, form_id=decision.form_id)[-1]
    points, out_of = _score(connection, form)
    stands = _stands(connection, decision, points, out_of)
    return ResultSince(marks, first.points, first.out_of, points, out_of, stands)


def uphold(house: House, actor: Actor, form_id: int, why: str, *, now: datetime) -> None:
    """Let a decision stand although its result has crossed the cut since, and say why.

    Raises:
        NotAllowedError: it is the actor's own test, or the actor taught or assessed the
            candidate where the scheme asks for an independent decision.
        ConflictError: the result did not cross the cut.
    """
    with noted_refusals(house, actor, f"form {form_id}", now=now), house.write() as connection:
        require(actor, May.DECIDE)
        found = case_of(connection, actor, form_id, now)
        require_not_candidate(actor.person_id, found.form.person_id, "uphold a decision")
        words = reason_in_words(why, needed=True)
        decision, report = found.decision, found.report
        cut = found.held.stored.cut_share or 0.0
        if (
            decision is None
            or report is None
            or _turned(decision, report.points, report.out_of, cut) is None
        ):
            raise ConflictError(
                "this result did not cross the cut since it was decided on.",
                field="decision",
                value="none" if decision is None else "unchanged",
                remedy="Load the page again to see how it stands.",
            )
        if not found.final:
            raise NotAllowedError(
                "whoever taught or assessed a candidate doesn't uphold a decision alone.",
                field="upheld by",
                value="their instructor or assessor",
                remedy="Somebody who neither taught nor assessed them has to.",
            )
        upheld.add(
            connection,
            decision_id=decision.id,
            person_id=decision.person_id,
            points=report.points,
            out_of=report.out_of,
            upheld_by=actor.person_id,
            why=words,
            at=now,
        )
        note_decision(
            connection,
            actor,
            Action.DECISION_UPHELD,
            decision.id,
            now,
            points=report.points,
            out_of=report.out_of,
        )
        outbox.tell_upheld(connection, decision.person_id, decision.id, report.points, now=now)


def _score(connection: Connection, form: StoredForm) -> tuple[int, int]:
    """Return right answers and questions of a try that count, as they count now."""
    every = candidate_forms.answered(connection, form)
    counting = [one for one in every if not one.pilot and not one.void]
    return sum(one.correct for one in counting), len(counting)


def standing_decision(connection: Connection, form_id: int) -> StoredDecision | None:
    """Return the final decision that stands for a try, if there is one."""
    every = decisions.decisions_of(connection, form_id=form_id)
    return next((one for one in every if one.state is DecisionState.DECIDED), None)


def _turned(
    decision: StoredDecision | None, points: int, out_of: int, cut_share: float
) -> Shift | None:
    """Return how the result crossed the cut, where that speaks against the decision."""
    if decision is None or decision.state is not DecisionState.DECIDED or not out_of:
        return None
    before = score_report(decision.points, decision.out_of, cut_share).passed
    turned = shift(before, score_report(points, out_of, cut_share).passed)
    against = Shift.FALLS if decision.certified else Shift.RISES
    return turned if turned is against else None


def _stands(
    connection: Connection, decision: StoredDecision, points: int, out_of: int
) -> Upheld | None:
    """Return that the decision was let stand on just this result, if it was."""
    every = upheld.upheld_of(connection, [decision.id])
    return next((o for o in reversed(every) if (o.points, o.out_of) == (points, out_of)), None)
