"""Who may sign off, judge and decide: never on oneself, never alone on one's own trainees."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

from quizsvc.errors import ConflictError, NotAllowedError
from quizsvc.rules.schemes import SchemeTerms, Task


class SignOffState(StrEnum):
    OPEN = "open"  # the assessor has the checklist before them
    TO_CONFIRM = "to confirm"  # a second person has to say that they saw it too
    DONE = "done"


class DecisionState(StrEnum):
    PROPOSED = "proposed"  # by whoever taught or assessed; waits for somebody who did not
    DECIDED = "decided"
    REPLACED = "replaced"


@dataclass(frozen=True, slots=True)
class Ties:
    """Who a candidate is to those around them."""

    candidate_id: int
    taught_by: frozenset[int]  # leaders of classes the candidate learns in
    assessed_by: frozenset[int]  # whoever signed off a task, first or second

    def is_close(self, person_id: int) -> bool:
        return person_id in self.taught_by | self.assessed_by


def require_not_candidate(person_id: int, candidate_id: int, what: str) -> None:
    """Refuse what somebody would do on their own test or task."""
    if person_id == candidate_id:
        raise NotAllowedError(
            f"nobody can {what} on their own.",
            field="person",
            value="yourself",
            remedy="Somebody else has to do it.",
        )


def decision_is_final(terms: SchemeTerms, ties: Ties, decider_id: int) -> bool:
    """Return whether a decision stands at once, or waits for a second, independent person."""
    return not (terms.independent_decision and ties.is_close(decider_id))


def require_may_confirm(ties: Ties, decider_id: int, confirmer_id: int) -> None:
    """Refuse a confirmation by the first decider, the candidate, or anybody else too close."""
    require_not_candidate(confirmer_id, ties.candidate_id, "confirm a decision")
    if confirmer_id == decider_id:
        raise NotAllowedError(
            "whoever proposed a decision doesn't confirm it.",
            field="confirmed by",
            value="the same person",
            remedy="Another person has to.",
        )
    if ties.is_close(confirmer_id):
        raise NotAllowedError(
            "whoever taught or assessed a candidate doesn't certify them alone.",
            field="confirmed by",
            value="their instructor or assessor",
            remedy="Somebody who neither taught nor assessed them has to confirm it.",
        )


def require_may_answer_appeal(ties: Ties, deciders: Collection[int | None], person_id: int) -> None:
    """Refuse an answer to an appeal by anybody who took part in the decision."""
    require_not_candidate(person_id, ties.candidate_id, "answer an appeal")
    if person_id in deciders:
        raise NotAllowedError(
            "whoever decided doesn't answer the appeal.",
            field="answered by",
            value="the decider",
            remedy="Another person has to look at it.",
        )


def task_passed(task: Task, done: Collection[int]) -> bool:
    """Return whether a checklist is passed: every critical step, and as many as are needed.

    Steps count from 1.
    """
    critical = all(n in done for n, step in enumerate(task.steps, 1) if step.critical)
    return critical and len(set(done) & set(range(1, len(task.steps) + 1))) >= task.needed


def missed_critical(task: Task, done: Collection[int]) -> tuple[str, ...]:
    return tuple(
        step.words for n, step in enumerate(task.steps, 1) if step.critical and n not in done
    )


def require_may_assess(assessor_id: int, candidate_id: int) -> None:
    require_not_candidate(assessor_id, candidate_id, "sign off a task")


def require_open(state: SignOffState) -> None:
    """Refuse a checklist that was handed in before: each is used once."""
    if state is not SignOffState.OPEN:
        raise ConflictError(
            "this sign-off was handed in already; sending it again changes nothing.",
            field="sign-off",
            value=state.value,
            remedy="Begin a new one if the task was done again.",
        )


def require_may_second(
    state: SignOffState, candidate_id: int, assessor_id: int, second_id: int
) -> None:
    """Refuse a second signature by the candidate or the assessor, or where none is due."""
    require_not_candidate(second_id, candidate_id, "confirm a sign-off")
    if second_id == assessor_id:
        raise NotAllowedError(
            "the second person has to be another than the assessor.",
            field="second person",
            value="the assessor",
            remedy="Ask a colleague who saw the work to confirm it.",
        )
    if state is not SignOffState.TO_CONFIRM:
        raise ConflictError(
            "there is nothing to confirm.",
            field="sign-off",
            value=state.value,
            remedy="Load the page again to see where it stands.",
        )


def next_try_from(terms: SchemeTerms, ended: Collection[datetime]) -> datetime | None:
    """Return when a candidate may try again after tries that ended then; None: at once."""
    return max(ended) + timedelta(days=terms.wait_days) if ended else None


def require_may_try(terms: SchemeTerms, ended: Collection[datetime], now: datetime) -> None:
    """Refuse a try too many or too soon."""
    if len(ended) >= terms.tries:
        raise ConflictError(
            "there is no try left under this scheme.",
            field="tries",
            value=len(ended),
            remedy=f"The scheme allows {terms.tries}; the candidate may appeal the last decision.",
        )
    earliest = next_try_from(terms, ended)
    if earliest is not None and now < earliest:
        raise ConflictError(
            "the waiting time is not over.",
            field="next try",
            value=f"{earliest:%Y-%m-%d %H:%M} UTC",
            remedy=f"The scheme asks for {terms.wait_days} days between tries.",
        )
