"""Every table in one place, for migrations and for tests that compare."""

from __future__ import annotations

from quizsvc.store import (
    assignments,
    audit,
    bank_texts,
    banks,
    cards,
    classes,
    competence,
    invitations,
    jobs,
    offers,
    people,
    pictures,
    remarks,
    reviews,
    sessions,
    sheets,
    sittings,
    steady,
)
from quizsvc.store.columns import Base

MODULES = (
    assignments,
    audit,
    bank_texts,
    banks,
    cards,
    classes,
    competence,
    invitations,
    jobs,
    offers,
    people,
    pictures,
    remarks,
    reviews,
    sessions,
    sheets,
    sittings,
    steady,
)
METADATA = Base.metadata
# Full text over items: a virtual table on SQLite, so no model states it (see store.cards).
WITHOUT_MODEL = "item_search"
