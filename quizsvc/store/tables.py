"""Every table in one place, for migrations and for tests that compare."""

from __future__ import annotations

from quizsvc.store import (
    assignments,
    audit,
    banks,
    classes,
    competence,
    invitations,
    offers,
    people,
    sessions,
    sheets,
    sittings,
    steady,
)
from quizsvc.store.columns import Base

MODULES = (
    assignments,
    audit,
    banks,
    classes,
    competence,
    invitations,
    offers,
    people,
    sessions,
    sheets,
    sittings,
    steady,
)
METADATA = Base.metadata
