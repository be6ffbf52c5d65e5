"""The brake on guessing passwords, as a pure rule."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from quizsvc.rules.guessing import CODES, WINDOW, keys_of, minutes, wait

NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)
KEYS = keys_of("ana", "192.0.2.1")


def counted(both=0, account=0, source=0, *, since=NOON):
    return {KEYS.both: (both, since), KEYS.account: (account, since), KEYS.source: (source, since)}


@pytest.mark.parametrize(
    ("failures", "known_source", "stopped"),
    [
        ({"both": 7}, False, False),
        ({"both": 8}, False, True),
        ({"both": 8}, True, True),
        ({"account": 39}, False, False),
        ({"account": 40}, False, True),
        ({"account": 4000}, True, False),
        ({"source": 299}, False, False),
        ({"source": 300}, False, True),
        ({"source": 3000}, True, False),
    ],
)
def test_each_count_stops_at_its_limit_and_a_known_address_only_by_its_own(
    failures, known_source, stopped
):
    left = wait(KEYS, counted(**failures), known_source=known_source, now=NOON)

    assert (left is not None) is stopped


def test_the_wait_lasts_until_the_window_of_the_count_is_over():
    now = NOON + timedelta(minutes=6)

    assert wait(KEYS, counted(both=8), known_source=False, now=now) == timedelta(minutes=9)
    assert wait(KEYS, counted(both=8), known_source=False, now=NOON + WINDOW) is None


def test_nothing_counted_means_no_wait():
    assert wait(KEYS, {}, known_source=False, now=NOON) is None


def test_keys_of_different_people_and_places_differ():
    assert len({*keys_of("a", "b").all(), *keys_of("ab", "").all(), *KEYS.all()}) == 9


def test_minutes_are_rounded_up():
    assert [minutes(timedelta(seconds=s)) for s in (0, 1, 60, 61)] == [1, 1, 1, 2]


@pytest.mark.parametrize(
    ("failures", "known_source", "stopped"),
    [
        ({"both": 4}, False, False),
        ({"both": 5}, True, True),
        ({"account": 9}, False, False),
        ({"account": 10}, False, True),
        ({"account": 4000}, True, False),
    ],
)
def test_fewer_wrong_codes_than_wrong_passwords_are_put_up_with(failures, known_source, stopped):
    left = wait(KEYS, counted(**failures), known_source=known_source, now=NOON, limits=CODES)

    assert (left is not None) is stopped
