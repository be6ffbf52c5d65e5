"""How long an offered item may be answered."""

from __future__ import annotations

from datetime import datetime, timedelta

OPEN_FOR = timedelta(days=7)


def is_stale(made_at: datetime, now: datetime) -> bool:
    return now - made_at > OPEN_FOR
