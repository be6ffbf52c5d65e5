"""The clock of a sitting: deadline, pauses, added time, and machines whose clock is set."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quizsvc.errors import InputError
from quizsvc.rules.sitting_clock import GRACE, SittingClock, laid_anchor

NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)
HOUR = timedelta(hours=1)


def at(minutes: float) -> datetime:
    return NOON + timedelta(minutes=minutes)


CLOCK = SittingClock(NOON, timedelta(minutes=30))


def test_it_ends_after_the_time_allowed_and_takes_what_was_on_its_way():
    assert CLOCK.deadline(at(5)) == at(30)
    assert not CLOCK.is_over(at(29.99))
    assert CLOCK.is_over(at(30))
    assert CLOCK.takes_answers(at(30))
    assert CLOCK.takes_answers(at(30) + GRACE - timedelta(milliseconds=1))
    assert not CLOCK.takes_answers(at(30) + GRACE)


def test_without_a_limit_it_never_ends():
    free = SittingClock(NOON, None)

    assert free.deadline(at(1e6)) is None
    assert free.left(at(1e6)) is None
    assert not free.is_over(at(1e6))
    assert free.takes_answers(at(1e6))


def test_while_it_is_paused_the_time_left_stays_and_it_cannot_end():
    paused = CLOCK.pause(at(10))

    assert paused.left(at(10)) == paused.left(at(500)) == timedelta(minutes=20)
    assert not paused.is_over(at(500))
    assert paused.go_on(at(500)).deadline(at(500)) == at(520)


def test_pausing_twice_is_pausing_once():
    assert CLOCK.pause(at(10)).pause(at(15)) == CLOCK.pause(at(10))
    assert CLOCK.go_on(at(10)) == CLOCK


def test_added_time_counts_also_after_the_end():
    assert CLOCK.add(timedelta(minutes=5)).left(at(31)) == timedelta(minutes=4)


@pytest.mark.parametrize("minutes", [0, -1, 24 * 60 + 1])
def test_time_that_cannot_be_added_is_refused(minutes):
    with pytest.raises(InputError, match="more than nothing and at most a day"):
        CLOCK.add(timedelta(minutes=minutes))


@given(
    st.lists(
        st.tuples(
            st.sampled_from(["pause", "go on", "add", "nothing"]),
            st.integers(0, 600),  # seconds that pass before
        ),
        max_size=12,
    )
)
def test_used_and_left_time_always_make_up_what_is_allowed(deeds):
    """The model beside it counts seconds one interval after another."""
    clock, now, used, added = CLOCK, NOON, timedelta(0), timedelta(0)
    for deed, passed in deeds:
        if clock.paused_at is None:
            used += timedelta(seconds=passed)
        now += timedelta(seconds=passed)
        if deed == "pause":
            clock = clock.pause(now)
        elif deed == "go on":
            clock = clock.go_on(now)
        elif deed == "add":
            clock, added = clock.add(timedelta(minutes=1)), added + timedelta(minutes=1)

        left = timedelta(minutes=30) + added - used
        assert clock.left(now) == max(timedelta(0), left)
        assert clock.is_over(now) is (clock.paused_at is None and left <= timedelta(0))


@pytest.mark.parametrize("jump", [HOUR, -HOUR])
def test_setting_the_machines_clock_moves_no_steady_time(jump):
    anchor = laid_anchor("boot", NOON, HOUR, not_before=None)

    assert anchor.now(HOUR + timedelta(minutes=1)) == at(1)
    assert anchor.strays(at(1) + jump, HOUR + timedelta(minutes=1))
    assert not anchor.strays(at(1), HOUR + timedelta(minutes=1))


def test_after_a_restart_of_the_machine_time_never_runs_back():
    set_back = laid_anchor("second boot", NOON - HOUR, timedelta(0), not_before=at(20))
    went_on = laid_anchor("second boot", at(25), timedelta(0), not_before=at(20))

    assert set_back.now(timedelta(0)) == at(20)
    assert went_on.now(timedelta(minutes=1)) == at(26)
