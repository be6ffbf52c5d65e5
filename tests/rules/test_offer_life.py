"""How long an offered item may be answered."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from quizsvc.rules.offers import OPEN_FOR, is_stale

NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)


def test_an_offer_is_open_for_a_week_and_a_clock_set_back_does_not_close_it():
    assert not is_stale(NOON, NOON + OPEN_FOR)
    assert is_stale(NOON, NOON + OPEN_FOR + timedelta(microseconds=1))
    assert not is_stale(NOON, NOON - timedelta(hours=1))
