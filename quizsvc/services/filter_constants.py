"""The constants the competence filter runs with: those fitted on the log, else the defaults."""

from __future__ import annotations

import json
from dataclasses import asdict
from functools import lru_cache

from sqlalchemy import Connection

from quizsvc.scoring.competence import DEFAULTS, FilterSettings
from quizsvc.store import calibrations


def settings_in(connection: Connection) -> FilterSettings:
    """Return the constants adopted last."""
    return settings_from(calibrations.settings_of(connection))


def settings_from(stored: str | None) -> FilterSettings:
    """Return the constants stored as JSON; the defaults where none are."""
    return DEFAULTS if stored is None else _read(stored)


def settings_text(settings: FilterSettings) -> str:
    """Return constants as the JSON that is stored."""
    return json.dumps(asdict(settings), sort_keys=True)


@lru_cache(maxsize=16)
def _read(text: str) -> FilterSettings:
    return FilterSettings(**json.loads(text))
