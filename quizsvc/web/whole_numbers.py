"""Whole numbers in what a browser sends: few figures of the usual alphabet, nothing else."""

from __future__ import annotations

from quizsvc.errors import InputError

MOST_FIGURES = 12
MOST_KEY = 999_999_999_999  # of a row in the database


def whole_or_none(text: str, *, most: int = 999_999_999) -> int | None:
    """Return a whole number from 0 to ``most``, or None where the text is no such number."""
    plain = text.strip()
    # Figures of other alphabets are digits too; zeros in front may hide any number behind them.
    if not (plain.isascii() and plain.isdigit() and len(plain) <= MOST_FIGURES):
        return None
    found = int(plain)
    return found if found <= most else None


def whole_number(text: str, field: str, *, most: int = 1_000_000) -> int:
    """Return a whole number.

    Raises:
        InputError: it is none, or far too large.
    """
    found = whole_or_none(text, most=most)
    if found is None:
        raise InputError(
            "that is no whole number that can be used here.",
            field=field,
            value=text[:20],
            remedy="Write figures only, for example 5.",
        )
    return found


def key_number(text: str, field: str) -> int:
    """Return the key of a person, class or the like.

    Raises:
        InputError: it cannot be one.
    """
    return whole_number(text, field, most=MOST_KEY)
