"""The house everything lives in: settings, the database to read from and the one to write to."""

from __future__ import annotations

from quizsvc.config import Settings


class House:
    """Opened once per process with `House.open(settings)`; passed to every service."""

    def __init__(self, settings: Settings) -> None:
        self.settings = settings
