"""What an assignment is, when it may be taken, and who sees what of it when."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from quizsvc.errors import InputError
from quizsvc.rules.actors import Actor, Role


class Form(StrEnum):
    HOMEWORK = "homework"
    TIMED_TEST = "timed test"


class Issue(StrEnum):
    """Whether learners see it. What is issued keeps its questions."""

    DRAFT = "draft"
    ISSUED = "issued"
    WITHDRAWN = "withdrawn"


class Feedback(StrEnum):
    """When a person learns what was right."""

    EACH = "after each question"
    AT_END = "after handing in"
    ON_RELEASE = "when released"


MOST_TRIES, MOST_MINUTES, MOST_QUESTIONS = 20, 600, 120
MOST_EXTRA_MINUTES = 600


@dataclass(frozen=True, slots=True)
class Terms:
    """The terms an assignment is given on; ``minutes`` None means no time limit."""

    title: str
    form: Form
    opens_at: datetime
    due_at: datetime | None
    tries: int = 1
    minutes: int | None = None
    feedback: Feedback = Feedback.AT_END
    shuffled: bool = True
    own_numbers: bool = True
    invigilated: bool = False
    words: str = ""


def check_extra_minutes(minutes: int) -> None:
    """Refuse what no person can be allowed more than the others.

    Raises:
        InputError: less than nothing, or more than `MOST_EXTRA_MINUTES`.
    """
    if not 0 <= minutes <= MOST_EXTRA_MINUTES:
        raise InputError(
            "that much extra time is not possible.",
            field="extra minutes",
            value=minutes,
            remedy=f"From 0 to {MOST_EXTRA_MINUTES}.",
        )


def check_terms(terms: Terms) -> Terms:
    """Return the terms if they can be kept.

    Raises:
        InputError: names the field, what is wrong with it and what to do.
    """
    if not 1 <= len(terms.title.strip()) <= 120:
        raise _wrong("title", terms.title[:40], "a title has from 1 to 120 characters.", "Name it.")
    if not 1 <= terms.tries <= MOST_TRIES:
        raise _wrong(
            "tries", terms.tries, "that number of tries is not possible.", f"1 to {MOST_TRIES}."
        )
    if terms.minutes is not None and not 1 <= terms.minutes <= MOST_MINUTES:
        raise _wrong(
            "minutes", terms.minutes, "that time is not possible.", f"1 to {MOST_MINUTES} minutes."
        )
    if terms.due_at is not None and terms.due_at <= terms.opens_at:
        raise _wrong(
            "due",
            f"{terms.due_at:%Y-%m-%d %H:%M}",
            "it would be due before it opens.",
            "Give a later time.",
        )
    _check_form(terms)
    return terms


def _check_form(terms: Terms) -> None:
    if terms.form is Form.TIMED_TEST and terms.minutes is None:
        raise _wrong("minutes", "", "a timed test needs its time.", "Give the minutes.")
    if terms.form is Form.HOMEWORK and terms.invigilated:
        raise _wrong(
            "start by code",
            "yes",
            "homework is not started by a code.",
            "Make it a timed test, or leave the code out.",
        )
    if terms.form is Form.TIMED_TEST and terms.feedback is Feedback.EACH:
        raise _wrong(
            "feedback",
            terms.feedback.value,
            "a timed test tells nothing before it is handed in.",
            "Choose feedback after handing in, or when released.",
        )


def _wrong(field: str, value: object, problem: str, remedy: str) -> InputError:
    return InputError(problem, field=field, value=value, remedy=remedy)


@dataclass(frozen=True, slots=True)
class Standing:
    """Where an assignment stands for somebody who might take it."""

    issue: Issue
    opens_at: datetime
    due_at: datetime | None
    tries_left: int
    running: bool  # a sitting of theirs is running


def why_not_begin(standing: Standing, now: datetime) -> str:
    """Return why it cannot be begun now, in words; empty if it can."""
    if standing.issue is not Issue.ISSUED:
        return "It is not given out."
    if standing.running:
        return ""
    if now < standing.opens_at:
        return "It is not open yet."
    if standing.due_at is not None and now >= standing.due_at:
        return "It was due before now."
    if standing.tries_left <= 0:
        return "There is no try left."
    return ""


def in_progress(
    form: Form,
    *,
    due_at: datetime | None,
    released_at: datetime | None,
    anybody_sits: bool,
    now: datetime,
) -> bool:
    """Return whether a timed test is still going on, so that its items must not be shown.

    It is until nobody sits it and it was due. Releasing its answers ends that, since whoever
    releases them decides so.
    """
    if form is not Form.TIMED_TEST or released_at is not None:
        return False
    return anybody_sits or (due_at is not None and now < due_at)


def tells_the_key(
    feedback: Feedback, *, finished: bool, released_at: datetime | None, goes_on: bool
) -> bool:
    """Return whether the person of a sitting may see what was right in it.

    ``finished`` speaks of their sitting, ``goes_on`` of the test as a whole (`in_progress`).
    """
    if feedback is Feedback.ON_RELEASE:
        return finished and released_at is not None
    return finished and not goes_on


@dataclass(frozen=True, slots=True)
class Run:
    """Whose an assignment is: what the right to run it depends on."""

    shop_id: int
    maker_id: int
    class_id: int | None


def may_run(actor: Actor, run: Run, *, leads: frozenset[int]) -> bool:
    """Return whether the actor may edit, open, pause and mark it; ``leads`` are class keys."""
    if actor.shop_id != run.shop_id or not actor.is_a(Role.INSTRUCTOR):
        return False
    return run.maker_id == actor.person_id or run.class_id in leads


def may_watch(actor: Actor, run: Run, *, leads: frozenset[int]) -> bool:
    """Return whether the actor may see how it goes; managers of the shop may as well."""
    return may_run(actor, run, leads=leads) or (
        actor.shop_id == run.shop_id and actor.is_a(Role.MANAGER)
    )
