"""Moments as credentials write them: UTC, whole seconds, a Z at the end."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from quizsvc.errors import InputError


def moment_text(moment: datetime) -> str:
    return moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def read_moment(text: Any, field: str) -> datetime:
    """Read an XML Schema dateTimeStamp.

    Raises:
        InputError: no text, no date and time, or no time zone.
    """
    try:
        moment = datetime.fromisoformat(text)
        in_utc = None if moment.tzinfo is None else moment.astimezone(UTC)
    except (TypeError, ValueError, OverflowError):
        in_utc = None
    if in_utc is None:
        raise InputError(
            "this is no date and time with its zone.",
            field=field,
            value=text,
            remedy="Write it like 2026-03-01T12:00:00Z.",
        )
    return in_utc
