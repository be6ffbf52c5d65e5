"""Every table in one place, for migrations and for tests that compare."""

# ruff: noqa: F401 - importing a module makes its tables known; nothing else is asked of them

from __future__ import annotations

from quizsvc.store import (
    assignment_people,
    assignment_questions,
    assignments,
    audit,
    bank_texts,
    banks,
    calibrations,
    candidate_forms,
    cards,
    certificates,
    classes,
    competence,
    decisions,
    held_ideas,
    invitations,
    jobs,
    offers,
    outbox,
    panels,
    people,
    pictures,
    printed_tests,
    read_revisions,
    remarks,
    reviews,
    schemes,
    second_factors,
    sessions,
    sheets,
    shop_jobs,
    shown_items,
    signing_keys,
    signoffs,
    sitting_items,
    sitting_marks,
    sittings,
    steady,
    studies,
    team_weeks,
    upheld,
)
from quizsvc.store.columns import Base

METADATA = Base.metadata
# Full text over items: a virtual table on SQLite, so no model states it (see store.cards).
WITHOUT_MODEL = "item_search"
