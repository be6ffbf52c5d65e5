"""The hash of an audit entry covers all of it, in one written form."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone

import pytest

from quizsvc.rules.audit import START, Entry, canonical, entry_hash, first_break

NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)
FIRST = Entry(1, NOON, None, 7, "shop made", "shop 7", "{}", START)


@pytest.mark.parametrize(
    "change",
    [
        {"number": 2},
        {"at": NOON + timedelta(microseconds=1)},
        {"actor_id": 1},
        {"shop_id": 8},
        {"action": "role given"},
        {"subject": "shop 8"},
        {"detail": '{"a":1}'},
        {"previous": "1" * 64},
    ],
)
def test_any_change_changes_the_hash(change):
    assert entry_hash(replace(FIRST, **change)) != entry_hash(FIRST)


def test_the_zone_a_time_is_written_in_does_not_matter():
    elsewhere = NOON.astimezone(timezone(timedelta(hours=-5)))

    assert entry_hash(replace(FIRST, at=elsewhere)) == entry_hash(FIRST)


def test_fields_cannot_be_shifted_into_each_other():
    one = replace(FIRST, action="ab", subject="c")
    other = replace(FIRST, action="a", subject="bc")

    assert entry_hash(one) != entry_hash(other)


def test_detail_is_written_in_one_form_only():
    assert canonical({"b": 1, "a": ["é"]}) == canonical({"a": ["é"], "b": 1}) == '{"a":["é"],"b":1}'


def test_an_empty_log_with_an_empty_head_holds():
    assert first_break([], (0, START)) is None


def test_a_log_that_lost_everything_is_told_by_its_head():
    assert first_break([], (3, "f" * 64)).number == 1
