"""Admit a candidate to a try: who may try now, and giving the form out.

The form is sat as an assignment for that one person, so that clock, room, saving and keeping are
those of every other test here.
"""

from __future__ import annotations

from datetime import datetime, timedelta

from sqlalchemy import Connection

from quizsvc.errors import ConflictError, NotFoundError
from quizsvc.rules.actors import Actor
from quizsvc.rules.assignments import Feedback, Issue, Terms, check_extra_minutes
from quizsvc.rules.assignments import Form as AssignmentForm
from quizsvc.rules.audit import Action
from quizsvc.rules.certificate_life import may_renew_from
from quizsvc.rules.certifying import require_may_try, require_not_candidate
from quizsvc.rules.permissions import May, require
from quizsvc.rules.sittings import FINISHED
from quizsvc.services.assigning.giving_out import put_out
from quizsvc.services.auditing import note
from quizsvc.services.certifying import schemes as scheme_service
from quizsvc.services.certifying.form_building import build
from quizsvc.services.certifying.form_pool import pool_entries, trial_picks
from quizsvc.services.certifying.holders import holds_valid
from quizsvc.services.certifying.kept_forms import keep_form
from quizsvc.services.certifying.schemes import Held
from quizsvc.services.house import House
from quizsvc.store import (
    assignment_people,
    assignments,
    candidate_forms,
    certificates,
    people_pages,
)
from quizsvc.store.candidate_forms import SatForm

OPEN_DAYS = 90  # for which an admitted candidate may begin


def admit(
    house: House,
    actor: Actor,
    version_id: int,
    person_id: int,
    *,
    extra_minutes: int = 0,
    now: datetime,
) -> int:
    """Build a candidate's form, give it out to them alone, and return its key.

    Raises:
        ConflictError: too soon, no try left, a prerequisite is missing, or one is under way.
        InputError: the blueprint cannot be met; says what is missing.
    """
    require(actor, May.ADMIT)
    require_not_candidate(actor.person_id, person_id, "build the test for it")
    check_extra_minutes(extra_minutes)
    with house.read() as connection:
        held = scheme_service.published(connection, actor, version_id)
        _require_admissible(connection, actor, held, person_id, now)
        entries = pool_entries(connection, house.shelf, held, now=now)
        seen = candidate_forms.seen_by(connection, held.stored.scheme_id, person_id)
        # Families bring new numbers; a hand-written question would be the same again.
        barred = frozenset(e.item.id for e in entries if e.is_written and e.pick.item_ref in seen)
        built = build(connection, house, held, entries, seed=house.seeds(), barred=barred)
        trial = trial_picks(connection, actor.shop_id, held.terms, seed=built.seed, seen=seen)
    with house.write() as connection:
        tries = _require_admissible(connection, actor, held, person_id, now)
        picks = (*(entry.pick for entry in built.entries), *trial)
        terms = _terms_of_try(held, now)
        assignment_id = put_out(connection, house, actor, terms, {person_id}, picks, now=now)
        if extra_minutes:
            assignment_people.allow_extra(
                connection, assignment_id, person_id, minutes=extra_minutes
            )
        form_id = keep_form(
            connection, actor, held, person_id, assignment_id, tries, built, trial, now
        )
        note(
            connection,
            actor,
            Action.CANDIDATE_ADMITTED,
            f"person {person_id}",
            now=now,
            scheme=held.stored.scheme_id,
            version=held.stored.version,
            form=form_id,
            assignment=assignment_id,
            extra_minutes=extra_minutes,
        )
    return form_id


def _require_admissible(
    connection: Connection, actor: Actor, held: Held, person_id: int, now: datetime
) -> int:
    """Return how many tries there were; refuse who may not try now."""
    if not people_pages.roles_in(connection, person_id, actor.shop_id):
        raise NotFoundError(
            "there is no such person in this shop.",
            field="candidate",
            value=person_id,
            remedy="Choose one of those on the page.",
        )
    every = candidate_forms.forms_of(
        connection, scheme_id=held.stored.scheme_id, person_id=person_id
    )
    since = _certified_since(connection, held, person_id, now)
    # Tries before the last certificate led to it; renewal begins to count anew.
    tries = [
        one
        for one in every
        if (since is None or one.form.made_at > since) and not _lapsed(connection, one, now)
    ]
    ended = [one.finished_at for one in tries if one.state in FINISHED and one.finished_at]
    if len(ended) < len(tries):
        raise ConflictError(
            "a test of theirs under this scheme is under way.",
            field="candidate",
            value=person_id,
            remedy="Let them sit that one, or withdraw it on the page of assignments.",
        )
    require_may_try(held.terms, ended, now)
    for scheme_id in held.terms.needs_schemes:
        _require_certificate(connection, scheme_id, person_id, now)
    return len(every)


def _lapsed(connection: Connection, sat: SatForm, now: datetime) -> bool:
    """Return whether a form was never begun and can't be any more: no try was used."""
    if sat.state is not None:
        return False
    given = assignments.find_assignment(connection, sat.form.assignment_id)
    if given is None or given.issue is not Issue.ISSUED:
        return True
    return given.due_at is not None and now >= given.due_at


def _certified_since(
    connection: Connection, held: Held, person_id: int, now: datetime
) -> datetime | None:
    """Return when they got the certificate they hold; refuse while it needs no renewal yet."""
    found = certificates.certificates_of(
        connection, scheme_id=held.stored.scheme_id, person_id=person_id
    )
    latest = next((one for one in found if one.revoked_at is None), None)
    if latest is None:
        return None
    opens = may_renew_from(latest.life, held.terms.renew_from_days)
    if opens is not None and now < opens:
        raise ConflictError(
            "they hold a certificate of this scheme that needs no renewal yet.",
            field="candidate",
            value=latest.holder_name,
            remedy=f"Renewal opens on {opens:%d %B %Y}.",
        )
    return latest.issued_at


def _require_certificate(
    connection: Connection, scheme_id: int, person_id: int, now: datetime
) -> None:
    if not holds_valid(connection, scheme_id, person_id, now=now):
        raise ConflictError(
            "the candidate holds no valid certificate that this scheme asks for.",
            field="prerequisite",
            value=f"scheme {scheme_id}",
            remedy="They get that one first.",
        )


def _terms_of_try(held: Held, now: datetime) -> Terms:
    return Terms(
        title=f"{held.terms.title}, written test",
        form=AssignmentForm.TIMED_TEST,
        opens_at=now,
        due_at=now + timedelta(days=OPEN_DAYS),
        tries=1,
        minutes=held.terms.minutes,
        feedback=Feedback.ON_RELEASE,
        invigilated=held.terms.invigilated,
        words=f"Version {held.stored.version} of the scheme. {held.terms.scope}"[:2000],
    )
