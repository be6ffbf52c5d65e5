"""Every table in one place, for migrations and for tests that compare."""

from __future__ import annotations

from quizsvc.store import audit, banks, classes, competence, offers, people, sessions, sheets
from quizsvc.store.columns import Base

MODULES = (audit, banks, classes, competence, offers, people, sessions, sheets)
METADATA = Base.metadata
