"""Results told to candidates, and appeals against them."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from quizsvc.errors import ConflictError, InputError
from quizsvc.rules.actors import Actor
from quizsvc.rules.audit import Action
from quizsvc.rules.certifying import DecisionState, require_may_answer_appeal
from quizsvc.rules.permissions import May, owns, require
from quizsvc.services import outbox
from quizsvc.services.certifying import schemes as scheme_service
from quizsvc.services.certifying.cases import ties_of
from quizsvc.services.certifying.changed_results import ResultSince, result_since
from quizsvc.services.certifying.decisions import (
    LONGEST_WORDS,
    find_decision,
    no_such_decision,
    note_decision,
    reason_in_words,
)
from quizsvc.services.house import House
from quizsvc.services.refusals import noted_refusals
from quizsvc.store import decisions
from quizsvc.store.decisions import StoredAppeal, StoredDecision

APPEAL_DAYS = 30


@dataclass(frozen=True, slots=True)
class OwnResult:
    """A candidate's own result, as told to them."""

    decision: StoredDecision
    scheme: str
    report: dict[str, Any]
    appeal: StoredAppeal | None
    may_appeal: bool
    since: ResultSince | None = None  # where the test was marked again


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
        since = {one.id: result_since(connection, one) for one in found}
    return tuple(
        OwnResult(
            one,
            titles[one.version_id],
            json.loads(one.report),
            appeals[one.id],
            may_appeal=appeals[one.id] is None and _in_time(one, now),
            since=since[one.id],
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
                raise no_such_decision(decision_id)
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
            note_decision(connection, actor, Action.APPEAL_FILED, decision_id, now)


def answer_appeal(
    house: House, actor: Actor, decision_id: int, *, upheld: bool, answer: str, now: datetime
) -> None:
    """Answer an appeal; upheld, the case may be decided again. Who decided does not answer."""
    with noted_refusals(house, actor, f"decision {decision_id}", now=now):
        require(actor, May.DECIDE)
        words = reason_in_words(answer, needed=True)
        with house.write() as connection:
            decision = find_decision(connection, actor, decision_id)
            ties = ties_of(connection, decision.scheme_id, decision.person_id)
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
            note_decision(
                connection, actor, Action.APPEAL_ANSWERED, decision_id, now, upheld=upheld
            )
            outbox.tell_appeal_answered(connection, decision.person_id, decision_id, now=now)


def _in_time(decision: StoredDecision, now: datetime) -> bool:
    return decision.decided_at is not None and now <= decision.decided_at + timedelta(
        days=APPEAL_DAYS
    )
