"""Build a candidate's form from the blueprint, and admit the candidate to it.

The form is sat as an assignment for that one person, so that clock, room, saving and keeping are
those of every other test here.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from datetime import datetime, timedelta

from sqlalchemy import Connection

from quizsvc.errors import ConflictError, InputError, NotFoundError
from quizsvc.items.choosing import Draw
from quizsvc.rules.actors import Actor
from quizsvc.rules.assignments import Feedback, Issue, Terms
from quizsvc.rules.assignments import Form as AssignmentForm
from quizsvc.rules.audit import Action
from quizsvc.rules.certificate_life import may_renew_from
from quizsvc.rules.certifying import require_may_try, require_not_candidate
from quizsvc.rules.permissions import May, require
from quizsvc.rules.schemes import SchemeTerms
from quizsvc.rules.sittings import FINISHED
from quizsvc.scoring.form_assembly import (
    Cell,
    Form,
    PoolItem,
    Targets,
    assemble_form,
    missing_from_pool,
    typical_targets,
)
from quizsvc.services import schemes as scheme_service
from quizsvc.services.auditing import note
from quizsvc.services.certifying.holders import holds_valid
from quizsvc.services.form_pool import Entry, can_be_drawn, cut_ability, pool_entries, trial_picks
from quizsvc.services.house import House
from quizsvc.services.proposing import Pick
from quizsvc.services.schemes import Held
from quizsvc.store import assignments, candidate_forms, certificates, people_pages
from quizsvc.store.candidate_forms import FormItem, SatForm, StoredForm

OPEN_DAYS = 90  # for which an admitted candidate may begin
ASSEMBLIES = 12  # tried, each without what turned out not to be drawable


@dataclass(frozen=True, slots=True)
class Built:
    """A form before anybody sits it, with all that its assembly went by."""

    entries: tuple[Entry, ...]
    form: Form
    targets: Targets
    pool: tuple[PoolItem, ...]
    barred: frozenset[str]
    seed: int


@dataclass(frozen=True, slots=True)
class CellSupply:
    """A row of the blueprint beside what there is for it."""

    topic: str
    level: str
    wanted: int
    there: int


@dataclass(frozen=True, slots=True)
class Supply:
    """Whether forms can be built, how alike they are, and what is missing."""

    cells: tuple[CellSupply, ...]
    problem: str
    forms: tuple[Form, ...]  # examples
    targets: Targets | None
    ability: float

    @property
    def missing(self) -> tuple[CellSupply, ...]:
        return tuple(cell for cell in self.cells if cell.there < cell.wanted)


def supply(house: House, actor: Actor, version_id: int, *, now: datetime) -> Supply:
    """Try the blueprint against what is approved now: three example forms, or what is missing."""
    require(actor, May.SEE_CERTIFICATION)
    with house.read() as connection:
        held = scheme_service.find(connection, actor, version_id)
        entries = pool_entries(connection, house.shelf, held, now=now)
        pool = tuple(entry.item for entry in entries)
        cells = tuple(_supplied(pool, cell) for cell in _cells(held.terms))
        ability = cut_ability(held)
        try:
            built = [
                build(connection, house, held, entries, seed=seed, barred=frozenset())
                for seed in (1, 2, 3)
            ]
        except InputError as refused:
            problem = f"{refused.problem} {refused.remedy or ''}".strip()
            return Supply(cells, problem[:1].upper() + problem[1:], (), None, ability)
    return Supply(cells, "", tuple(one.form for one in built), built[0].targets, ability)


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
    _check_extra(extra_minutes)
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
        assignment_id = _give_out(connection, house, actor, held, person_id, now)
        picks = [entry.pick for entry in built.entries] + list(trial)
        rows = [pick.columns(place) for place, pick in enumerate(picks, 1)]
        assignments.replace_questions(connection, assignment_id, rows)
        if extra_minutes:
            assignments.allow_extra(connection, assignment_id, person_id, minutes=extra_minutes)
        form_id = _keep(connection, actor, held, person_id, assignment_id, tries, built, trial, now)
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


def build(
    connection: Connection,
    house: House,
    held: Held,
    entries: tuple[Entry, ...],
    *,
    seed: int,
    barred: frozenset[str],
) -> Built:
    """Assemble a form of questions that can all be drawn.

    Raises:
        InputError: the blueprint cannot be met; says what is missing.
    """
    usable = entries
    for _ in range(ASSEMBLIES):
        pool = tuple(entry.item for entry in usable)
        targets = targets_for(held.terms, pool)
        form = assemble_form(pool, _cells(held.terms), targets, seed=seed, barred=barred)
        chosen = tuple(entry for entry in usable if entry.item.id in set(form.items))
        unfit = {
            entry.item.id
            for entry in chosen
            if not can_be_drawn(connection, house.shelf, entry.pick, seed)
        }
        if not unfit:
            ordered = Draw("order of a form", seed).shuffled(list(chosen))
            return Built(tuple(ordered), form, targets, pool, barred, seed)
        usable = tuple(entry for entry in usable if entry.item.id not in unfit)
    raise InputError(
        "too many of the questions cannot be drawn from these engine sheets.",
        field="blueprint",
        value=held.terms.title,
        remedy="Choose other engines, or approve more hand-written questions.",
    )


def rebuilt(house: House, actor: Actor, form_id: int) -> tuple[Form, bool]:
    """Assemble a kept form again from what was kept of it; return it and whether it is the same.

    For a dispute: the pool, the targets and the seed of that day, not those of today.
    """
    require(actor, May.SEE_CERTIFICATION)
    with house.read() as connection:
        stored = find_form(connection, actor, form_id)
        kept = {
            one.item_ref for one in candidate_forms.items_of(connection, form_id) if not one.pilot
        }
    data = json.loads(stored.built)
    pool = tuple(PoolItem(**(one | {"answers": frozenset(one["answers"])})) for one in data["pool"])
    cells = tuple(Cell(**cell) for cell in data["cells"])
    form = assemble_form(
        pool,
        cells,
        Targets(**data["targets"]),
        seed=stored.seed,
        barred=frozenset(data["barred"]),
    )
    refs = {item_id.partition("@")[0] for item_id in form.items}
    same = refs == kept and abs(form.expected - stored.expected) < 1e-9
    return form, same


def find_form(connection: Connection, actor: Actor, form_id: int) -> StoredForm:
    """Return a form of the actor's shop; another shop's looks like none at all."""
    stored = candidate_forms.find_form(connection, form_id)
    if stored is None or stored.shop_id != actor.shop_id:
        raise NotFoundError(
            "there is no such test form here.",
            field="form",
            value=form_id,
            remedy="Go to the list of candidates.",
        )
    return stored


def targets_for(terms: SchemeTerms, pool: tuple[PoolItem, ...]) -> Targets:
    typical = typical_targets(
        pool,
        _cells(terms),
        expected_tolerance=terms.expected_tolerance,
        information_share=terms.information_share,
    )
    return Targets(
        typical.expected,
        typical.expected_tolerance,
        typical.information,
        typical.information_tolerance,
        most_used=terms.most_exposed,
    )


def _cells(terms: SchemeTerms) -> tuple[Cell, ...]:
    return tuple(Cell(row.topic, row.level, row.count) for row in terms.blueprint)


def _supplied(pool: tuple[PoolItem, ...], cell: Cell) -> CellSupply:
    short = dict(missing_from_pool(pool, (cell,))).get(cell, 0)
    there = sum((one.topic, one.level) == (cell.topic, cell.level) for one in pool)
    return CellSupply(cell.topic, cell.level, cell.count, cell.count - short if short else there)


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


def _check_extra(minutes: int) -> None:
    if not 0 <= minutes <= 600:
        raise InputError(
            "that much more time is not possible.",
            field="extra minutes",
            value=minutes,
            remedy="Give 0 to 600.",
        )


def _give_out(
    connection: Connection,
    house: House,
    actor: Actor,
    held: Held,
    person_id: int,
    now: datetime,
) -> int:
    terms = Terms(
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
    assignment_id = assignments.add_assignment(
        connection,
        shop_id=actor.shop_id,
        maker_id=actor.person_id,
        class_id=None,
        issue=Issue.ISSUED.value,
        seed=house.seeds(),
        made_at=now,
        **asdict(terms),
    )
    assignments.set_people(connection, assignment_id, {person_id})
    return assignment_id


def _keep(
    connection: Connection,
    actor: Actor,
    held: Held,
    person_id: int,
    assignment_id: int,
    tries: int,
    built: Built,
    trial: Iterable[Pick],
    now: datetime,
) -> int:
    counted = [
        FormItem(
            place,
            entry.pick.item_ref,
            pilot=False,
            expected=entry.item.expected,
            information=entry.item.information,
        )
        for place, entry in enumerate(built.entries, 1)
    ]
    tried = [
        FormItem(place, pick.item_ref, pilot=True, expected=0.0, information=0.0)
        for place, pick in enumerate(trial, len(counted) + 1)
    ]
    return candidate_forms.add_form(
        connection,
        [*counted, *tried],
        version_id=held.id,
        person_id=person_id,
        shop_id=actor.shop_id,
        assignment_id=assignment_id,
        nth=tries + 1,
        seed=built.seed,
        expected=built.form.expected,
        information=built.form.information,
        built=_as_text(held.terms, built),
        made_by=actor.person_id,
        made_at=now,
    )


def _as_text(terms: SchemeTerms, built: Built) -> str:
    return json.dumps(
        {
            "pool": [asdict(one) | {"answers": sorted(one.answers)} for one in built.pool],
            "cells": [asdict(cell) for cell in _cells(terms)],
            "targets": asdict(built.targets),
            "barred": sorted(built.barred),
        },
        ensure_ascii=False,
    )
