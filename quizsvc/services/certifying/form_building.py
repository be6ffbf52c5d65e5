"""Assemble a test form of a scheme from the pool of approved questions."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import Connection

from quizsvc.errors import InputError
from quizsvc.items.choosing import Draw
from quizsvc.rules.schemes import SchemeTerms
from quizsvc.scoring.form_assembly import (
    Cell,
    Form,
    PoolItem,
    Targets,
    assemble_form,
    typical_targets,
)
from quizsvc.services.assigning.question_pool import can_be_drawn
from quizsvc.services.certifying.form_pool import Entry
from quizsvc.services.certifying.schemes import Held
from quizsvc.services.house import House

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
        form = assemble_form(pool, cells_of(held.terms), targets, seed=seed, barred=barred)
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


def targets_for(terms: SchemeTerms, pool: tuple[PoolItem, ...]) -> Targets:
    typical = typical_targets(
        pool,
        cells_of(terms),
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


def cells_of(terms: SchemeTerms) -> tuple[Cell, ...]:
    return tuple(Cell(row.topic, row.level, row.count) for row in terms.blueprint)
