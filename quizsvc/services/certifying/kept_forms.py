"""Test forms as they were kept, and assembling one again for a dispute."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import asdict
from datetime import datetime

from sqlalchemy import Connection

from quizsvc.errors import NotFoundError
from quizsvc.rules.actors import Actor
from quizsvc.rules.permissions import May, require
from quizsvc.rules.schemes import SchemeTerms
from quizsvc.scoring.form_assembly import Cell, Form, PoolItem, Targets, assemble_form
from quizsvc.services.assigning.question_pool import Pick
from quizsvc.services.certifying.form_building import Built, cells_of
from quizsvc.services.certifying.schemes import Held
from quizsvc.services.house import House
from quizsvc.store import candidate_forms
from quizsvc.store.candidate_forms import FormItem, StoredForm


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


def keep_form(
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
            "cells": [asdict(cell) for cell in cells_of(terms)],
            "targets": asdict(built.targets),
            "barred": sorted(built.barred),
        },
        ensure_ascii=False,
    )
