"""Every table in one place, for migrations and for tests that compare."""

from __future__ import annotations

from quizsvc.store import (
    assignments,
    audit,
    bank_texts,
    banks,
    calibrations,
    cards,
    classes,
    competence,
    held_ideas,
    invitations,
    jobs,
    offers,
    people,
    pictures,
    printed_tests,
    remarks,
    reviews,
    sessions,
    sheets,
    sittings,
    steady,
    studies,
)
from quizsvc.store.columns import Base

MODULES = (
    assignments,
    audit,
    bank_texts,
    banks,
    calibrations,
    cards,
    classes,
    competence,
    held_ideas,
    invitations,
    jobs,
    offers,
    people,
    pictures,
    printed_tests,
    remarks,
    reviews,
    sessions,
    sheets,
    sittings,
    steady,
    studies,
)
METADATA = Base.metadata
# Full text over items: a virtual table on SQLite, so no model states it (see store.cards).
WITHOUT_MODEL = "item_search"
