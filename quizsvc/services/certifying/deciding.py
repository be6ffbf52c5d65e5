"""Decide on a candidate's try and confirm; the certificate follows the decision that stands."""

from __future__ import annotations

import json
from dataclasses import asdict
from datetime import datetime

from sqlalchemy import Connection

from quizsvc.errors import ConflictError
from quizsvc.rules.actors import Actor
from quizsvc.rules.audit import Action
from quizsvc.rules.certificate_life import CertificateDeed, CertificateState, state_at
from quizsvc.rules.certifying import DecisionState, require_may_confirm, require_not_candidate
from quizsvc.rules.permissions import May, require
from quizsvc.scoring.decision_report import ScoreReport
from quizsvc.services import outbox
from quizsvc.services.certifying import issuing, revoking
from quizsvc.services.certifying import schemes as scheme_service
from quizsvc.services.certifying.cases import Case, case_of, ties_of
from quizsvc.services.certifying.decisions import find_decision, note_decision, reason_in_words
from quizsvc.services.certifying.schemes import Held
from quizsvc.services.house import House
from quizsvc.services.refusals import noted_refusals
from quizsvc.store import certificates, decisions
from quizsvc.store.decisions import StoredDecision


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
        found = case_of(connection, actor, form_id, now)
        require_not_candidate(actor.person_id, found.form.person_id, "decide about a test")
        report = _decidable(found, certify=certify)
        words = reason_in_words(reason, needed=not certify and not found.missing)
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
        note_decision(
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
            decision = find_decision(connection, actor, decision_id, lock=True)
            ties = ties_of(connection, decision.scheme_id, decision.person_id)
            require_may_confirm(ties, decision.decider_id, actor.person_id)
            if decision.state is not DecisionState.PROPOSED:
                raise ConflictError(
                    "there is nothing to confirm.",
                    field="decision",
                    value=decision.state.value,
                    remedy="Load the page again to see how it stands.",
                )
            found = case_of(connection, actor, decision.form_id, now)
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
            note_decision(connection, actor, Action.DECISION_MADE, decision_id, now, confirmed=True)
            _take_effect(connection, house, actor, found.held, decision_id, now)


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
            note_decision(
                connection, actor, Action.DECISION_REPLACED, former.id, now, by=decision_id
            )
    standing = _certificate_of_form(connection, decision, now)
    if decision.certified and standing is None:
        issuing.issue(
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
        revoking.carry_out(
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
